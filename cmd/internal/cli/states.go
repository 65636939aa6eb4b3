package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

// fewElements is the number of elements whose combinations are evaluated
// without being asked twice.
const fewElements = 16

type statesOptions struct {
	all    bool
	faults faultFlags
	format format
}

func newStatesCmd() *cobra.Command {
	opts := &statesOptions{}
	cmd := &cobra.Command{
		Use: "states TRAIN",
		Long: `Group all combinations of the elements of a train by what they do: each ratio
with the combinations that give it, those that do not drive, the tie-ups, and
the ratios that the train can give and no range uses. Long lists show the
smallest combinations and count the others; csv and json have them all.

One-way clutches act in every combination, except switched ones, which are
elements like the others; the pawl is left out. An element that a fault keeps
held or released is in no combination.`,
		Example: `  tieup states simpson-three-speed
  tieup states four-carrier-eight-speed --stuck lock-clutch`,
		Args:              args(1, 1, "which train? See: tieup trains", "states takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	cmd.Flags().BoolVar(&opts.all, "all", false, fmt.Sprintf("evaluate more than %d combinations", 1<<fewElements))
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *statesOptions) run(cmd *cobra.Command, args []string) error {
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	q := analysis.StatesQuestion{Faults: wrong.Faults, Most: fewElements}
	if opts.all {
		q.Most = 0
	}
	answer, err := analysis.Open(t).States(cmd.Context(), q)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.States{States: answer})
}
