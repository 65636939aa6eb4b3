package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tieup/plots/table"
)

// A format is the value of --format.
type format struct {
	value   string
	allowed []string
}

// addFormat gives cmd the flag --format with text, json and the given others.
func addFormat(cmd *cobra.Command, f *format, others ...string) {
	f.value, f.allowed = "text", append([]string{"text", "json"}, others...)
	cmd.Flags().Var(f, "format", "form of the answer: "+strings.Join(f.allowed, ", "))
	complete(cmd, "format", oneOf(f.allowed...))
}

// String returns the chosen format.
func (f *format) String() string { return f.value }

// Type names the value in help.
func (f *format) Type() string { return "FORM" }

// Set chooses a format.
func (f *format) Set(s string) error {
	if !slices.Contains(f.allowed, s) {
		return fmt.Errorf("there is no such form%s", oneOfThese(s, f.allowed))
	}
	f.value = s
	return nil
}

// give gives an answer in the chosen format: as its own JSON, or as text or CSV by
// its writer.
func (f *format) give(cmd *cobra.Command, answer any, as table.Answer) error {
	w := cmd.OutOrStdout()
	switch f.value {
	case "json":
		var b bytes.Buffer
		if err := table.WriteJSON(&b, answer); err != nil {
			return err
		}
		// Some of it is found when it is written, and was then cut.
		if err := cmd.Context().Err(); err != nil && !watcherOf(cmd.Context()).keeps() {
			return err
		}
		_, err := w.Write(b.Bytes())
		return err
	case "csv":
		return as.(interface{ CSV(io.Writer) error }).CSV(w)
	}
	return table.Text(w, width(w), as)
}

// width returns how many columns text may take: COLUMNS where it is set, else
// those of the terminal, and 0, which is any number, for a file or a pipe.
func width(w io.Writer) int {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return n
	}
	f, ok := w.(interface{ Fd() uintptr })
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return 0
	}
	n, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		return 0
	}
	return n
}
