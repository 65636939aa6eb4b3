package cli

import (
	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type chartOptions struct {
	all, pairs bool
	faults     faultFlags
	format     format
}

func newChartCmd() *cobra.Command {
	opts := &chartOptions{}
	cmd := &cobra.Command{
		Use: "chart TRAIN",
		Long: `Chart all ranges of a train. Without faults this is the application chart with
what each one-way clutch does. With faults it sets every range beside itself
when healthy and says what changes, in the words of a road test. --all makes the
wall chart: a row for every single fault; --pairs a row for every two of them.`,
		Example: `  tieup chart depot-shuttle-three-speed --fault roller=reversed
  tieup chart simpson-three-speed --all --format csv > wall-chart.csv`,
		Args:              args(1, 1, "which train? See: tieup trains", "chart takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	cmd.Flags().BoolVar(&opts.all, "all", false, "a row for every single fault, a column for every range")
	cmd.Flags().BoolVar(&opts.pairs, "pairs", false, "a row for every pair of faults")
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *chartOptions) run(cmd *cobra.Command, args []string) error {
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	q := question{Ranges: t.Ranges, Condition: wrong}
	a := analysis.Open(t)
	switch {
	case opts.all && opts.pairs:
		return usagef(cmd, "ask for --all or for --pairs")
	case opts.all || opts.pairs:
		answer, err := a.WallChart(cmd.Context(), analysis.WallQuestion{Question: q, Pairs: opts.pairs})
		if err != nil {
			return err
		}
		return opts.format.give(cmd, answer, table.WallChart{WallChart: answer})
	}
	answer, err := a.Chart(cmd.Context(), q)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Chart{Chart: answer})
}
