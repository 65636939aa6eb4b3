package cli

import (
	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

func newShowCmd() *cobra.Command {
	var form format
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
		RunE:              func(cmd *cobra.Command, args []string) error { return runShow(cmd, &form, args[0]) },
	}
	addFormat(cmd, &form, "csv", "yaml")
	return cmd
}

func runShow(cmd *cobra.Command, form *format, name string) error {
	f, err := openFile(cmd, name)
	if err != nil {
		return err
	}
	if form.value == "yaml" {
		_, err := cmd.OutOrStdout().Write(f.Source)
		return err
	}
	answer, err := analysis.Open(f.Train).Show(cmd.Context())
	if err != nil {
		return err
	}
	return form.give(cmd, answer, table.Overview{Shown: answer})
}
