package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type solveOptions struct {
	of            choice
	input, output string
	rpm           number
	faults        faultFlags
	format        format
}

func newSolveCmd() *cobra.Command {
	opts := &solveOptions{}
	cmd := &cobra.Command{
		Use: "solve TRAIN [RANGE...]",
		Long: `Say what each range of a train does: whether it drives, which way and at what
ratio, what coasting does, and what is left free. With one range, or with
--apply, give the whole motion: the speed of every member, the state and slip
of every element, and the bounds of what is free.

Speeds are turns per turn of the input; + is the way the engine turns it.`,
		Example: `  tieup solve depot-shuttle-three-speed --stuck forward
  tieup solve depot-shuttle-three-speed D2 --rpm 1800`,
		Args:              args(1, -1, "which train? See: tieup trains", ""),
		ValidArgsFunction: completeTrainRanges,
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	flags := cmd.Flags()
	opts.of.add(cmd)
	flags.StringVar(&opts.input, "input", "", "turn this `MEMBER` in place of the input")
	flags.StringVar(&opts.output, "output", "", "take this `MEMBER` as the output")
	opts.rpm.addSpeed(cmd, "rpm", "give speeds in turns per minute, for `N` of the input")
	complete(cmd, "input", ofTrain(turnable))
	complete(cmd, "output", ofTrain(turnable))
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *solveOptions) run(cmd *cobra.Command, args []string) error {
	if opts.of.read(cmd, args[1:]); opts.of.combination && len(opts.of.ranges) > 0 {
		return usagef(cmd, "name ranges, or elements with --apply, not both")
	}
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	ranges, err := opts.rangesOf(t, args[0])
	if err != nil {
		return err
	}
	answer, err := analysis.Open(t).Solve(cmd.Context(), analysis.SolveQuestion{
		Question: question{Ranges: ranges, Condition: wrong},
		InputRPM: opts.rpm.value,
	})
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Solved{
		Solved: answer, Detail: len(opts.of.ranges) == 1 || opts.of.combination,
	})
}

// rangesOf returns what is to be solved, all ranges if nothing is chosen.
func (opts *solveOptions) rangesOf(t *kinematics.Train, name string) ([]kinematics.Range, error) {
	ranges, err := opts.of.find(t)
	switch {
	case err != nil:
		return nil, err
	case ranges == nil && len(t.Ranges) == 0:
		return nil, fmt.Errorf("%s has no ranges: choose elements with --apply, or turn its members: tieup turn %s --help",
			t.Name, name)
	case ranges == nil:
		ranges = slices.Clone(t.Ranges)
	}
	input, err := port(t, "input", opts.input)
	if err != nil {
		return nil, err
	}
	output, err := port(t, "output", opts.output)
	if err != nil {
		return nil, err
	}
	for i := range ranges {
		if opts.input != "" {
			ranges[i].Input = input
		}
		if opts.output != "" {
			ranges[i].Output = output
		}
		if ranges[i].Input == ranges[i].Output {
			return nil, fmt.Errorf("input and output are both %s: name another with --input or --output",
				t.Members[ranges[i].Input].Name)
		}
	}
	return ranges, nil
}

// port looks up the member of --input or --output; the housing is none.
func port(t *kinematics.Train, flag, name string) (kinematics.MemberID, error) {
	if name == "" {
		return 0, nil
	}
	id, err := findMember(t, name)
	if err == nil && id == kinematics.Housing {
		err = errors.New("the housing never turns: name a member that does, such as " + strings.Join(turnable(t), ", "))
	}
	if err != nil {
		return 0, fmt.Errorf("--%s: %w", flag, err)
	}
	return id, nil
}
