package cli

import (
	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type shiftsOptions struct {
	faults faultFlags
	format format
}

func newShiftsCmd() *cobra.Command {
	opts := &shiftsOptions{}
	cmd := &cobra.Command{
		Use: "shifts TRAIN [FROM TO]",
		Long: `Say what each shift of a train risks when its timing is off: between
neighbouring ranges of a position, up and down, and by moving the selector on.
Where the on-coming elements hold too early, both hold (overlap); where they
hold too late, neither does (underlap). What the train does then, pulling and
coasting, makes the verdict:

  timed            early and late both do harm: one must hand over to the other
  safe if early    the on-coming may hold before the off-going lets go
  safe if late     the off-going may let go before the on-coming holds
  safe either way  a one-way clutch takes over, or nothing on the way does harm

A flare is a state on the way with a numerically higher ratio than both ranges.
The output torque falls while the on-coming elements take up load and the
off-going ones still hold: its value at the handover and its least are given.
With FROM and TO, two ranges, give every state on the way from one to the other.`,
		Example: `  tieup shifts depot-shuttle-three-speed
  tieup shifts simpson-three-speed D2 D3 --stuck intermediate-roller`,
		Args:              args(1, 3, "which train? See: tieup trains", "shifts takes a train and two ranges"),
		ValidArgsFunction: completeTrainTwoRanges,
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *shiftsOptions) run(cmd *cobra.Command, args []string) error {
	if len(args) == 2 {
		return usagef(cmd, "from %s to which range? Name two ranges, or none for all shifts", quote(args[1]))
	}
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	q := analysis.ShiftsQuestion{Condition: wrong}
	if len(args) > 1 {
		ranges, err := findRanges(t, args[1:])
		if err != nil {
			return err
		}
		q.From, q.To = &ranges[0], &ranges[1]
	}
	answer, err := analysis.Open(t).Shifts(cmd.Context(), q)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Shifts{Shifts: answer, Detail: q.From != nil})
}
