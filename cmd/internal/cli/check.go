package cli

import (
	"github.com/spf13/cobra"

	"tieup/cmd/internal/serve"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

func newCheckCmd() *cobra.Command {
	var form format
	cmd := &cobra.Command{
		Use: "check TRAIN...",
		Long: `Compare the computed ratio of every range with the one its source prints: it may
differ by half a unit of the last printed place; where the file says that the
source cuts places off, the printed one may be smaller by less than a whole
unit. Audit the tooth counts of every gearset: coaxial, equally spaced, pinions
clear of one another.

Exit status 1 says that something does not agree.`,
		Example: `  tieup check simpson-three-speed
  tieup check mine.yaml --format json`,
		Args:              args(1, -1, "which train? See: tieup trains", ""),
		ValidArgsFunction: completeTrains,
		RunE:              func(cmd *cobra.Command, args []string) error { return runCheck(cmd, &form, args) },
	}
	addFormat(cmd, &form, "csv")
	return cmd
}

func runCheck(cmd *cobra.Command, form *format, names []string) error {
	var trains []*kinematics.Train
	for _, name := range names {
		t, err := open(cmd, name)
		if err != nil {
			return err
		}
		trains = append(trains, t)
	}
	answer := analysis.Check(trains, serve.Audit)
	if err := form.give(cmd, answer, table.Checked{Checked: answer}); err != nil {
		return err
	}
	if answer.Differs {
		return errDiffers
	}
	return nil
}
