package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"tieup/kinematics/reading"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
	"tieup/plots/table"
)

// fewElements is the number of elements whose combinations are evaluated
// without being asked twice.
const fewElements = 16

type statesOptions struct {
	train  string
	all    bool
	faults faultFlags
	format format
}

func newStatesCmd() *cobra.Command {
	opts := &statesOptions{}
	cmd := &cobra.Command{
		Use: "states TRAIN",
		Long: `Group all combinations of the elements of a train by what they do: each ratio
with the combinations that give it, those that do not drive, the tie-ups, and the
ratios that the train can give and no range uses. Long lists show the smallest
combinations and count the others; csv and json have them all.

One-way clutches act in every combination, except switched ones, which are
elements like the others; the pawl is left out. An element that a fault keeps
held or released is in no combination.`,
		Example: `  tieup states simpson-three-speed
  tieup states four-carrier-eight-speed --stuck lock-clutch`,
		Args:              args(1, 1, "which train? See: tieup trains", "states takes one train"),
		ValidArgsFunction: completeTrain,
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.train = args[0]
			return runStates(cmd, opts)
		},
	}
	opts.faults.add(cmd)
	cmd.Flags().BoolVar(&opts.all, "all", false, fmt.Sprintf("evaluate more than %d combinations", 1<<fewElements))
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func runStates(cmd *cobra.Command, opts *statesOptions) error {
	t, faults, err := opts.faults.openTrain(cmd, opts.train)
	if err != nil {
		return err
	}
	if err := shift.SpeedsAlone(t, faults); err != nil {
		return err
	}
	for _, f := range faults {
		if len(f.Ranges) > 0 {
			return fmt.Errorf("%s: combinations are no ranges: leave out what follows the @", t.FaultText(f))
		}
	}
	system := solve.Compile(t)
	combinations := reading.CombinationsOf(system, faults...)
	n := len(combinations.Elements)
	switch {
	case n == 0:
		return fmt.Errorf("%s has no element that can be applied or released", t.Name)
	case n > reading.MostElements:
		return fmt.Errorf("%s has %d elements that can be applied: with more than %d there are too many combinations; hold some with --stuck or release them with --open",
			t.Name, n, reading.MostElements)
	case n > fewElements && !opts.all:
		return fmt.Errorf("%s has %d elements that can be applied, in %d combinations: ask for so many with --all, or hold some elements with --stuck or release them with --open",
			t.Name, n, 1<<n)
	}
	var done func(int)
	if n > fewElements {
		p := newProgress(cmd, "combinations", 1<<n)
		defer p.done()
		done = func(n int) { p.bar.IncrBy(n) }
	}
	answer := table.States{States: combinations.States(done)}
	reader := reading.NewReader(system)
	var hazards []reading.Hazard
	for i := range t.Ranges {
		hazards = append(hazards, reading.Hazards(reader.Healthy(i), reader.Read(&t.Ranges[i], faults...))...)
	}
	answer.Cautions = reading.Cautions(t.Use, hazards)
	return opts.format.write(cmd, answer)
}
