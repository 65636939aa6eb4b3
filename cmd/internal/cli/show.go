package cli

import (
	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type showOptions struct {
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
		RunE:              func(cmd *cobra.Command, args []string) error { return runShow(cmd, opts, args[0]) },
	}
	addFormat(cmd, &opts.format, "csv", "yaml")
	return cmd
}

func runShow(cmd *cobra.Command, opts *showOptions, name string) error {
	f, err := openFile(cmd, name)
	if err != nil {
		return err
	}
	if opts.format.value == "yaml" {
		_, err := cmd.OutOrStdout().Write(f.Source)
		return err
	}
	answer, err := analysis.Open(f.Train).Show(cmd.Context())
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Overview{Shown: answer})
}
