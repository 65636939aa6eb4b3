package table

import (
	"io"
	"os"
	"strings"

	"github.com/mattn/go-runewidth"
	"golang.org/x/term"
)

// The escape codes of bold type, which only terminals get.
const (
	boldOn  = "\x1b[1m"
	boldOff = "\x1b[22m"
)

func bold(text string) string {
	if text == "" {
		return ""
	}
	return boldOn + text + boldOff
}

func undecorated(text string) string { return text }

// columnsOf is how many columns of a terminal a line of text takes.
func columnsOf(text string) int { return runewidth.StringWidth(text) }

func withoutBold(text string) string {
	return strings.ReplaceAll(strings.ReplaceAll(text, boldOn, ""), boldOff, "")
}

// print writes lines without the blanks at their ends, and without bold type
// where w is no terminal that has it.
func print(w io.Writer, text string) error {
	if !decorates(w) {
		text = withoutBold(text)
	}
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	_, err := io.WriteString(w, strings.Join(lines, "\n")+"\n")
	return err
}

// decorates says whether w is a terminal that shows bold type. NO_COLOR asks for no
// colour, of which there is none; a dumb terminal has no codes.
func decorates(w io.Writer) bool {
	f, ok := w.(interface{ Fd() uintptr })
	return ok && os.Getenv("TERM") != "dumb" && term.IsTerminal(int(f.Fd())) && enableCodes(f.Fd())
}
