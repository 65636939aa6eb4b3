package cli

import (
	"github.com/spf13/cobra"

	"tieup/kinematics/solve"
	"tieup/plots/table"
)

type showOptions struct {
	train  string
	format format
}

func newShowCmd() *cobra.Command {
	opts := &showOptions{}
	cmd := &cobra.Command{
		Use: "show TRAIN",
		Long: `Show a train: its gearsets with their teeth, what is joined for good, what each
element grounds or joins and which way a one-way clutch holds, the application
chart, and the ratio of every range with the steps between them.

The form yaml prints the train file itself, to start a train of your own.`,
		Example: `  tieup show depot-shuttle-three-speed
  tieup show simpson-three-speed --format yaml > mine.yaml`,
		Args:              args(1, 1, "which train? See: tieup trains", "show takes one train"),
		ValidArgsFunction: completeTrain,
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.train = args[0]
			return runShow(cmd, opts)
		},
	}
	addFormat(cmd, &opts.format, "csv", "yaml")
	return cmd
}

func runShow(cmd *cobra.Command, opts *showOptions) error {
	f, err := openFile(cmd, opts.train)
	if err != nil {
		return err
	}
	if opts.format.value == "yaml" {
		_, err := cmd.OutOrStdout().Write(f.Source)
		return err
	}
	t := f.Train
	answer := table.RoadTest{Train: t}
	system := solve.Compile(t)
	for i := range t.Ranges {
		answer.Motions = append(answer.Motions, system.Motion(t.In(&t.Ranges[i])))
	}
	return opts.format.write(cmd, answer)
}
