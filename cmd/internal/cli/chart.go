package cli

import (
	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
	"tieup/plots/table"
)

type chartOptions struct {
	train      string
	all, pairs bool
	faults     faultFlags
	format     format
}

func newChartCmd() *cobra.Command {
	opts := &chartOptions{}
	cmd := &cobra.Command{
		Use: "chart TRAIN",
		Long: `Chart all ranges of a train. Without faults this is the application chart with
what each one-way clutch does. With faults it sets every range beside itself when
healthy and says what changes, in the words of a road test. --all makes the wall
chart: a row for every single fault; --pairs a row for every two of them.`,
		Example: `  tieup chart depot-shuttle-three-speed --fault roller=reversed
  tieup chart simpson-three-speed --all --format csv > wall-chart.csv`,
		Args:              args(1, 1, "which train? See: tieup trains", ""),
		ValidArgsFunction: completeTrain,
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.train = args[0]
			return runChart(cmd, opts)
		},
	}
	opts.faults.add(cmd)
	cmd.Flags().BoolVar(&opts.all, "all", false, "a row for every single fault, a column for every range")
	cmd.Flags().BoolVar(&opts.pairs, "pairs", false, "a row for every pair of faults")
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func runChart(cmd *cobra.Command, opts *chartOptions) error {
	t, faults, err := opts.faults.openTrain(cmd, opts.train)
	if err != nil {
		return err
	}
	system := solve.Compile(t)
	reader := reading.NewReader(system)
	if opts.all || opts.pairs {
		if opts.all && opts.pairs {
			return usagef(cmd, "ask for --all or for --pairs")
		}
		return opts.format.write(cmd, wallChart(cmd, reader, t, faults, opts.pairs))
	}
	answer := table.Charted{Chart: reader.Chart(faults...)}
	var hazards []reading.Hazard
	for _, row := range answer.Chart.Rows {
		answer.Motions = append(answer.Motions, system.Motion(t.In(row.Range, faults...)))
		hazards = append(hazards, reading.Hazards(row.Healthy, row.Faulty)...)
	}
	answer.Cautions = reading.Cautions(t.Use, hazards)
	return opts.format.write(cmd, answer)
}

// wallChart charts every single fault, or every pair of faults of different
// couplings, each with the given faults added.
func wallChart(cmd *cobra.Command, reader *reading.Reader, t *kinematics.Train, given []kinematics.Fault, pairs bool) table.WallChart {
	singles := t.SingleFaults()
	var sets [][]kinematics.Fault
	for i, f := range singles {
		if t.Contradicts(given, f) != nil {
			continue
		}
		if !pairs {
			sets = append(sets, []kinematics.Fault{f})
			continue
		}
		for _, g := range singles[i+1:] {
			if g.Coupling != f.Coupling && t.Contradicts(given, g) == nil {
				sets = append(sets, []kinematics.Fault{f, g})
			}
		}
	}
	bar := newProgress(cmd, "fault sets", len(sets))
	defer bar.done()
	answer := table.WallChart{Train: t, Charts: []*reading.Chart{reader.Chart(given...)}}
	for _, set := range sets {
		answer.Charts = append(answer.Charts, reader.Chart(append(given[:len(given):len(given)], set...)...))
		bar.step()
	}
	return answer
}
