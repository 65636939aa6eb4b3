package gearsets

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tieup/gearsets/problem"
	"tieup/kinematics"
)

//go:embed library/*.yaml
var library embed.FS

// Names returns the names of the trains in the library, sorted.
func Names() []string {
	entries, err := library.ReadDir("library")
	if err != nil {
		panic("gearsets: " + err.Error())
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = strings.TrimSuffix(e.Name(), ".yaml")
	}
	slices.Sort(names) // ReadDir sorts with the suffix
	return names
}

// Source returns the train file of a train of the library, nil if there is none
// of that name.
func Source(name string) []byte {
	src, err := library.ReadFile("library/" + name + ".yaml")
	if err != nil {
		return nil
	}
	return src
}

// Library returns a train of the library.
func Library(name string) (*kinematics.Train, error) {
	f, err := fromLibrary(name)
	if err != nil {
		return nil, err
	}
	return f.Train, nil
}

// All returns the trains of the library, in its order.
func All() ([]*kinematics.Train, error) {
	var trains []*kinematics.Train
	for _, name := range Names() {
		t, err := Library(name)
		if err != nil {
			return nil, err
		}
		trains = append(trains, t)
	}
	return trains, nil
}

// MustLibrary is Library for a name that is written in a program: it panics where there
// is no such train.
func MustLibrary(name string) *kinematics.Train {
	t, err := Library(name)
	if err != nil {
		panic(err)
	}
	return t
}

// Stdin is how messages name a file that was read from standard input.
const Stdin = "standard input"

// A File is a train file that was read.
type File struct {
	Source []byte
	Train  *kinematics.Train // nil if the file is refused
	// Problems are what is wrong with the file: only warnings if it has a Train.
	Problems problem.List
}

// Open reads a train: from the library by its name, from the file of that path,
// or from stdin if the name is "-". A name of the library comes first; write
// ./name for a file of the same name.
//
// A file that is refused is returned together with its [problem.List] as the error.
func Open(nameOrPath string, stdin io.Reader) (*File, error) {
	if nameOrPath == "-" {
		return read("-", stdin)
	}
	if Source(nameOrPath) != nil {
		return fromLibrary(nameOrPath)
	}
	_, err := os.Stat(nameOrPath)
	if errors.Is(err, fs.ErrNotExist) && !IsPath(nameOrPath) {
		return nil, unknownTrain(nameOrPath)
	}
	return read(nameOrPath, nil)
}

func read(path string, stdin io.Reader) (*File, error) {
	src, err := ReadFile(path, stdin)
	if err != nil {
		return nil, err
	}
	return Read(named(path), src)
}

// ReadFile reads a file, or stdin if the path is "-", but no more of it than
// shows that it is too much.
func ReadFile(path string, stdin io.Reader) ([]byte, error) {
	in := stdin
	if path != "-" {
		info, err := os.Stat(path)
		if err != nil {
			return nil, fmt.Errorf("%s: %s", path, reason(err))
		}
		if info.IsDir() {
			return nil, fmt.Errorf("%s is a directory: name a file in it", path)
		}
		file, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("%s: %s", path, reason(err))
		}
		defer file.Close()
		in = file
	}
	src, err := io.ReadAll(io.LimitReader(in, MaxSize+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %s", named(path), reason(err))
	}
	return src, nil
}

func named(path string) string {
	if path == "-" {
		return Stdin
	}
	return path
}

func fromLibrary(name string) (*File, error) {
	src := Source(name)
	if src == nil {
		return nil, unknownTrain(name)
	}
	return Read(name+".yaml", src)
}

// Read reads a train file from its text. The name is used in messages only.
//
// A file that is refused is returned together with its [problem.List] as the error.
func Read(name string, src []byte) (*File, error) {
	f := &File{Source: src}
	f.Train, f.Problems = Parse(name, src)
	return f, f.Problems.Err()
}

var trainKey = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?m)^(\x{feff})?tieup[ \t]*:`) })

// IsTrain says whether a file means to be a train file.
func IsTrain(src []byte) bool { return trainKey().Match(src) }

// IsPath says whether a train is named as a file rather than by its name in the
// library.
func IsPath(s string) bool {
	return strings.ContainsAny(s, `/\`) || strings.HasSuffix(s, ".yaml") || strings.HasSuffix(s, ".yml")
}

// unknownTrain is the error for a name that the library does not have.
func unknownTrain(name string) error {
	if near := Meant(name); len(near) > 0 {
		return fmt.Errorf("there is no train %q: did you mean %s?", name, kinematics.Or(kinematics.Map(near, strconv.Quote)))
	}
	return fmt.Errorf(`there is no train %q, and no file: "tieup trains" lists the trains; a file is given by its path`,
		name)
}

// Meant returns the names of the library that a name which is none may stand for: the
// nearest, else the first that begins with it, else those that hold it as whole words.
func Meant(name string) []string {
	if near := kinematics.Nearest(name, Names()); near != "" {
		return []string{near}
	}
	if name == "" {
		return nil
	}
	if i := slices.IndexFunc(Names(), func(n string) bool { return strings.HasPrefix(n, name) }); i >= 0 {
		return Names()[i : i+1]
	}
	near := slices.DeleteFunc(Names(), func(n string) bool { return !strings.Contains("-"+n+"-", "-"+name+"-") })
	if len(near) > mostMeant {
		return nil
	}
	return near
}

// mostMeant is how many names can be meant by one word before it tells nothing.
const mostMeant = 8

// reason is the cause of a file error without the path, which stands before it.
func reason(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return err.Error()
}
