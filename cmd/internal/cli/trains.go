package cli

import (
	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type trainsOptions struct {
	format format
}

func newTrainsCmd() *cobra.Command {
	opts := &trainsOptions{}
	cmd := &cobra.Command{
		Use: "trains",
		Long: `List the trains that come with tieup, by arrangement: gearsets, how many ratios
forward and in reverse, and whether a train is published or invented.`,
		Example: `  tieup trains
  tieup trains --format csv > trains.csv`,
		Args:              args(0, 0, "", "trains takes no argument"),
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE:              func(cmd *cobra.Command, _ []string) error { return runTrains(cmd, opts) },
	}
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func runTrains(cmd *cobra.Command, opts *trainsOptions) error {
	trains, err := gearsets.All()
	if err != nil {
		return err
	}
	answer := analysis.Summarize(trains)
	return opts.format.give(cmd, answer, table.Trains{Trains: answer})
}
