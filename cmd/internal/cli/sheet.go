package cli

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tieup/cmd/internal/save"
	"tieup/gearsets"
	"tieup/gearsets/problem"
	"tieup/gearsets/roadtest"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type sheetOptions struct {
	save  string
	force bool
	paper bool
}

func newSheetCmd() *cobra.Command {
	opts := &sheetOptions{}
	cmd := &cobra.Command{
		Use: "sheet TRAIN|SHEET",
		Long: `Write a road-test sheet for a train: a file with a line for every range and
every shift, in which everything stands as not tested until it is filled in.
Diagnose reads it. --paper writes the form to print and take along instead.

What the diagnosis takes for granted stands in the sheet too, and can be changed
there: how often an observation is wrong, what weak and dragging mean, the order
of the classes of causes, and the effort of each kind of test.`,
		Example: `  tieup sheet depot-shuttle-three-speed --save bus-14.yaml
  tieup sheet simpson-three-speed --paper`,
		Args:              args(1, 1, "which train? See: tieup trains", "sheet takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	flags := cmd.Flags()
	flags.StringVar(&opts.save, "save", "", "write it into this `FILE`")
	flags.BoolVar(&opts.force, "force", false, "overwrite the file if it is there already")
	flags.BoolVar(&opts.paper, "paper", false, "write the form to print")
	return cmd
}

// paperWidth is how wide the form is that goes into a file or to a printer.
const paperWidth = 160

func (opts *sheetOptions) run(cmd *cobra.Command, args []string) error {
	name := args[0]
	c, train, err := openCase(cmd, name)
	if err != nil {
		return err
	}
	a := analysis.Open(c.Train)
	if opts.paper {
		if opts.save != "" {
			return errors.New("--paper prints the form: send it to a file or printer with your shell, or leave --save out")
		}
		w := cmd.OutOrStdout()
		form, err := a.RoadForm(c)
		if err != nil {
			return err
		}
		return table.Text(w, cmp.Or(width(w), paperWidth), table.Form{RoadForm: form})
	}
	if train, err = trainFrom(name, train, opts.save); err != nil {
		return err
	}
	old := sheetAt(opts.save, name)
	src := roadtest.Update(old, train, c, a.ShiftPairs())
	if opts.save == "" {
		_, err := cmd.OutOrStdout().Write(src)
		return err
	}
	if err := saveSheet(opts.save, old, src, opts.force); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s is written: fill it in, then: tieup diagnose %[1]s\n", problem.Plain(opts.save))
	return nil
}

// trainFrom is how a sheet that is saved under a name, or in the working
// directory, names its train. opened is what the command was given, train what that
// is called, or what the sheet that it is calls it.
func trainFrom(opened, train, save string) (string, error) {
	switch {
	case train == "-":
		return "", errors.New("a sheet names its train: give the train by its name or file")
	case gearsets.Source(train) != nil || filepath.IsAbs(train):
		return train, nil
	case opened != train && opened != "-": // a sheet: it names the train from its own folder
		train = filepath.Join(filepath.Dir(opened), train)
	}
	from, err := filepath.Abs(filepath.Dir(save))
	if err != nil {
		return "", err
	}
	path, err := filepath.Abs(train)
	if err != nil {
		return "", err
	}
	if path, err = filepath.Rel(from, path); err != nil {
		return "", err
	}
	if !strings.ContainsRune(path, filepath.Separator) {
		path = "." + string(filepath.Separator) + path
	}
	return filepath.ToSlash(path), nil
}

// saveFile writes a new file; one that is there already only with force.
func saveFile(name string, src []byte, force bool) error {
	if err := canSave(name, force); err != nil {
		return err
	}
	err := save.Write(name, src, force)
	if errors.Is(err, fs.ErrExist) {
		return isThere(name)
	}
	return err
}

// sheetAt is the text of a sheet that is saved over itself, nil where another file is
// written.
func sheetAt(save, opened string) []byte {
	if save == "" || filepath.Clean(save) != filepath.Clean(opened) {
		return nil
	}
	src, err := gearsets.ReadFile(save, nil)
	if err != nil || !roadtest.IsSheet(src) {
		return nil
	}
	return src
}

// saveSheet writes a sheet: over old, the text that it was made of, or as a new file.
func saveSheet(name string, old, src []byte, force bool) error {
	if old == nil {
		return saveFile(name, src, force)
	}
	if err := canSave(name, force); err != nil {
		return err
	}
	err := save.Replace(name, old, src)
	if errors.Is(err, save.ErrChanged) || errors.Is(err, save.ErrBusy) {
		return fmt.Errorf("%s was changed meanwhile, so nothing was written: give the command again", problem.Plain(name))
	}
	return err
}

// canSave says why a file cannot be written, before the work for it is done. A train
// file is never overwritten: nothing that is saved here could be put in its place.
func canSave(name string, force bool) error {
	dir := filepath.Dir(name)
	switch info, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no directory %s: make it first", dir)
	case err != nil:
		return fileError(dir, err)
	case !info.IsDir():
		return fmt.Errorf("%s is not a directory", dir)
	}
	info, err := os.Stat(name)
	if err != nil || !info.Mode().IsRegular() {
		return nil
	}
	if !force {
		return isThere(name)
	}
	if src, err := gearsets.ReadFile(name, nil); err == nil && gearsets.IsTrain(src) {
		return fmt.Errorf("%s is a train file: it is not overwritten, not even with --force; name another file", name)
	}
	return nil
}

func isThere(name string) error {
	return fmt.Errorf("%s is there already: write --force to overwrite it, or name another file", name)
}

// fileError is an error of a file without repeating its name.
func fileError(name string, err error) error { return fmt.Errorf("%s: %w", name, save.Reason(err)) }
