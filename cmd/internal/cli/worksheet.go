package cli

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets/problem"
	"tieup/kinematics/analysis"
	"tieup/plots/page"
	"tieup/plots/table"
)

type worksheetOptions struct {
	seed   uint64
	count  int
	key    bool
	save   string
	force  bool
	faults faultFlags
	format format
}

func newWorksheetCmd() *cobra.Command {
	opts := &worksheetOptions{}
	cmd := &cobra.Command{
		Use: "worksheet TRAIN",
		Long: `Make a worksheet about a train: fill in the application chart; given a fault,
say what each range does; given a complaint, list the single faults that explain
it; given suspects, choose the next range to try. A sheet begins with the
gearsets, joints and elements of the train, as HTML with its half-section, too.
All answers come from the engine. The same train, faults and seed make the same
sheet.

The sheet, or with --key its answers, is written as text. With --save FILE.html
both are written to print: FILE.html and FILE-key.html. Faults that are given
are there in every exercise. Of a range that a fault of the controls can bring
to more than one thing it is asked only what it does, and the key has each.`,
		Example: `  tieup worksheet depot-shuttle-three-speed --count 10 --save monday.html
  tieup worksheet simpson-three-speed --seed 7 --key`,
		Args:              args(1, 1, "which train? See: tieup trains", "worksheet takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	flags := cmd.Flags()
	flags.Uint64Var(&opts.seed, "seed", 1, "the `NUMBER` of the sheet: another one makes other exercises")
	flags.IntVar(&opts.count, "count", 10, "how many exercises: `N`")
	flags.BoolVar(&opts.key, "key", false, "write the answers")
	flags.StringVar(&opts.save, "save", "", "write sheet and key into `FILE`.html and FILE-key.html")
	flags.BoolVar(&opts.force, "force", false, "overwrite the files if they are there already")
	freely(cmd, "seed", "count")
	addFormat(cmd, &opts.format)
	return cmd
}

func (opts *worksheetOptions) run(cmd *cobra.Command, args []string) error {
	if opts.count < 1 || opts.count > analysis.MostExercises {
		return usagef(cmd, "--count: from 1 to %d exercises", analysis.MostExercises)
	}
	switch {
	case opts.save == "":
	case filepath.Ext(opts.save) != ".html":
		return usagef(cmd, "--save %s: worksheets are written as .html", quote(opts.save))
	case opts.key:
		return usagef(cmd, "--save writes both sheet and key: leave --key out")
	case opts.format.value != "text":
		return usagef(cmd, "--save writes HTML: leave --format out")
	}
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	if len(t.Ranges) == 0 {
		return fmt.Errorf("%s has no ranges to ask about", t.Name)
	}
	answer, err := analysis.Open(t).Worksheet(cmd.Context(), wrong, opts.seed, opts.count)
	if err != nil {
		return err
	}
	if opts.save == "" {
		return opts.format.give(cmd, answer, table.Worksheet{Worksheet: answer, Key: opts.key})
	}
	return opts.writeFiles(cmd, answer)
}

// writeFiles writes sheet and key, or neither if one of them is there.
func (opts *worksheetOptions) writeFiles(cmd *cobra.Command, answer *analysis.Worksheet) error {
	names := []string{opts.save, strings.TrimSuffix(opts.save, ".html") + "-key.html"}
	for _, name := range names {
		if err := canSave(name, opts.force); err != nil {
			return err
		}
	}
	var texts [2]bytes.Buffer
	for i := range names {
		if err := page.WriteWorksheet(&texts[i], table.Worksheet{Worksheet: answer, Key: i == 1}); err != nil {
			return err
		}
	}
	for i, name := range names {
		if err := saveFile(name, texts[i].Bytes(), opts.force); err != nil {
			return err
		}
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s and %s are written\n", problem.Plain(names[0]), problem.Plain(names[1]))
	return nil
}
