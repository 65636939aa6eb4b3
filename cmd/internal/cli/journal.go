package cli

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"tieup/cmd/internal/save"
	"tieup/gearsets"
)

// A journal keeps the answers of an interview as they are given, a line each, in a
// file beside the sheet that will be saved. Its first line says what was being asked
// about: the answers mean something there alone.
type journal struct {
	name    string
	head    string
	answers []string // of an interview that was cut off
	given   int      // how many of them were given again
	file    *os.File // nil until there is an answer, or after a failure
	failed  bool
}

// openJournal reads the journal of the interview that saves into a file and began
// with a sheet.
func openJournal(saveAs string, sheet []byte) (*journal, error) {
	j := &journal{name: saveAs + ".unfinished", head: fmt.Sprintf("# answers of an interview that is not saved yet: %x",
		sha256.Sum256(sheet))}
	src, err := gearsets.ReadFile(j.name, nil)
	if _, missing := os.Stat(j.name); errors.Is(missing, fs.ErrNotExist) {
		return j, nil
	} else if err != nil {
		return nil, err
	}
	// A line that has no end was being written when the interview was cut off.
	src = src[:bytes.LastIndexByte(src, '\n')+1]
	lines := strings.Split(strings.TrimSuffix(string(src), "\n"), "\n")
	switch {
	case lines[0] == j.head:
		j.answers = lines[1:]
		for i, text := range j.answers {
			j.answers[i] = clean(text)
		}
	case len(src) > 0:
		return nil, fmt.Errorf("%s holds the answers of an interview that began otherwise: "+
			"another train, sheet or version. Give its command again to save them, or delete the file", j.name)
	}
	return j, nil
}

// next returns the next answer that was given before.
func (j *journal) next() (string, bool) {
	if j.given == len(j.answers) {
		return "", false
	}
	j.given++
	return j.answers[j.given-1], true
}

// add keeps an answer. It reports the first failure only: what was answered is
// saved at the end all the same.
func (j *journal) add(text string) error {
	if j.failed {
		return nil
	}
	err := j.write(text)
	if err != nil {
		j.failed = true
		j.close()
	}
	return err
}

func (j *journal) write(text string) error {
	if j.file == nil {
		// Written anew, so that it holds no part of a line.
		all := append([]string{j.head}, j.answers...)
		if err := save.Write(j.name, []byte(strings.Join(all, "\n")+"\n"), true); err != nil {
			return err
		}
		file, err := os.OpenFile(j.name, os.O_WRONLY|os.O_APPEND, 0)
		if err != nil {
			return fileError(j.name, err)
		}
		j.file = file
	}
	if _, err := j.file.WriteString(text + "\n"); err != nil {
		return fileError(j.name, err)
	}
	if err := j.file.Sync(); err != nil {
		return fileError(j.name, err)
	}
	return nil
}

// close ends writing; the file stays.
func (j *journal) close() {
	if j.file != nil {
		_ = j.file.Close()
		j.file = nil
	}
}

// remove deletes the journal once the sheet holds what it held.
func (j *journal) remove() {
	j.close()
	_ = os.Remove(j.name)
}
