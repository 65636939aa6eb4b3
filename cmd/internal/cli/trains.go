package cli

import (
	"cmp"
	"slices"

	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
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
	var answer table.Trains
	for _, name := range gearsets.Names() {
		t, err := gearsets.Library(name)
		if err != nil {
			return err
		}
		answer = append(answer, summary(t))
	}
	answer.Sort()
	return opts.format.write(cmd, answer)
}

// summary finds the distinct ratios of the healthy ranges of t.
func summary(t *kinematics.Train) table.TrainSummary {
	s := table.TrainSummary{Train: t}
	k := solve.Compile(t).Kernel()
	for i := range t.Ranges {
		o := k.Outcome(t.In(&t.Ranges[i]))
		ratio, drives := o.Ratio()
		switch {
		case !drives:
		case o.Verdict == solve.Forward:
			s.Forward = addRatio(s.Forward, ratio)
		default:
			s.Reverse = addRatio(s.Reverse, ratio)
		}
	}
	return s
}

// addRatio adds a ratio that is not yet there, the largest in front.
func addRatio(ratios []exact.Frac, r exact.Frac) []exact.Frac {
	size := func(f exact.Frac) float64 { return max(f.Float(), -f.Float()) }
	if slices.ContainsFunc(ratios, func(o exact.Frac) bool { return o.Cmp(r) == 0 }) {
		return ratios
	}
	ratios = append(ratios, r)
	slices.SortFunc(ratios, func(a, b exact.Frac) int { return cmp.Compare(size(b), size(a)) })
	return ratios
}
