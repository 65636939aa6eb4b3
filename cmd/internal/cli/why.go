package cli

import (
	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type whyOptions struct {
	of     choice
	all    bool
	faults faultFlags
	format format
}

func newWhyCmd() *cobra.Command {
	opts := &whyOptions{}
	cmd := &cobra.Command{
		Use: "why TRAIN RANGE",
		Long: `Give the reasons for what a range does, from the mechanics alone: which elements
contradict each other and what each of them would leave if it let go; the way of
the power from input to output and what holds against it; which locks agree; and
for a range that does not drive, the fewest changes that make it drive.`,
		Example: `  tieup why simpson-three-speed R --stuck forward
  tieup why depot-shuttle-three-speed D1`,
		Args:              args(1, 2, "which train? See: tieup trains", "why takes a train and a range"),
		ValidArgsFunction: completeTrainRanges,
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	opts.of.add(cmd)
	cmd.Flags().BoolVar(&opts.all, "all", false, "give every conflict in full, not only the first")
	addFormat(cmd, &opts.format)
	return cmd
}

func (opts *whyOptions) run(cmd *cobra.Command, args []string) error {
	if opts.of.read(cmd, args[1:]); opts.of.combination == (len(opts.of.ranges) > 0) {
		return usagef(cmd, "name one range, or elements with --apply")
	}
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	ranges, err := opts.of.find(t)
	if err != nil {
		return err
	}
	answer, err := analysis.Open(t).Why(cmd.Context(), &ranges[0], wrong)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Reasons{Reasons: answer, All: opts.all})
}
