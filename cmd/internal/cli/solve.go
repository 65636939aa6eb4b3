package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type solveOptions struct {
	train         string
	ranges        []string
	apply         []string
	combination   bool // --apply was given, perhaps with nothing in it
	input, output string
	rpm           perMinute
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
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.train, opts.ranges = args[0], args[1:]
			opts.combination = cmd.Flags().Changed("apply")
			if opts.combination && len(opts.ranges) > 0 {
				return usagef(cmd, "name ranges, or elements with --apply, not both")
			}
			return runSolve(cmd, opts)
		},
	}
	opts.faults.add(cmd)
	flags := cmd.Flags()
	flags.StringSliceVar(&opts.apply, "apply", nil,
		"apply these `ELEMENTS` (with commas between them) in place of a range")
	flags.StringVar(&opts.input, "input", "", "turn this `MEMBER` in place of the input")
	flags.StringVar(&opts.output, "output", "", "take this `MEMBER` as the output")
	flags.Var(&opts.rpm, "rpm", "give speeds in turns per minute, for `N` of the input")
	complete(cmd, "apply", completeApply)
	complete(cmd, "input", completeMembers)
	complete(cmd, "output", completeMembers)
	complete(cmd, "rpm", cobra.NoFileCompletions)
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func runSolve(cmd *cobra.Command, opts *solveOptions) error {
	t, faults, err := opts.faults.openTrain(cmd, opts.train)
	if err != nil {
		return err
	}
	ranges, err := opts.rangesOf(t)
	if err != nil {
		return err
	}
	answer, err := analysis.Open(t).Solve(cmd.Context(), analysis.SolveQuestion{
		Question: analysis.Question{Ranges: ranges, Faults: faults, Brought: opts.faults.brought},
		InputRPM: float64(opts.rpm),
	})
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Solved{Solved: answer, Detail: len(opts.ranges) == 1 || opts.combination})
}

// rangesOf returns what is to be solved: named ranges, all of them, or a
// combination of elements as a range without a name.
func (opts *solveOptions) rangesOf(t *kinematics.Train) ([]kinematics.Range, error) {
	var ranges []kinematics.Range
	switch {
	case opts.combination:
		apply, err := findApply(t, opts.apply)
		if err != nil {
			return nil, err
		}
		ranges = append(ranges, kinematics.Range{Apply: apply, Input: t.Input, Output: t.Output})
	case len(opts.ranges) > 0:
		for _, name := range opts.ranges {
			r, err := findRange(t, name)
			if err != nil {
				return nil, err
			}
			ranges = append(ranges, *r)
		}
	case len(t.Ranges) == 0:
		return nil, fmt.Errorf("%s has no ranges: choose elements with --apply, or turn its members: tieup turn %s --help",
			t.Name, opts.train)
	default:
		ranges = append(ranges, t.Ranges...)
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
