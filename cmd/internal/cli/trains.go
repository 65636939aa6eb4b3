package cli

import (
	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

func newTrainsCmd() *cobra.Command {
	var form format
	cmd := &cobra.Command{
		Use: "trains",
		Long: `List the trains that come with tieup, by arrangement: gearsets, how many ratios
forward and in reverse, and whether a train is published or invented.`,
		Example: `  tieup trains
  tieup trains --format csv > trains.csv`,
		Args:              args(0, 0, "", "trains takes no argument"),
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE:              func(cmd *cobra.Command, _ []string) error { return runTrains(cmd, &form) },
	}
	addFormat(cmd, &form, "csv")
	return cmd
}

func runTrains(cmd *cobra.Command, form *format) error {
	trains, err := gearsets.All()
	if err != nil {
		return err
	}
	answer := analysis.Summarize(trains)
	return form.give(cmd, answer, table.Trains{Trains: answer})
}
