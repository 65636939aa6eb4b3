package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/plots/table"
)

type turnOptions struct {
	turn, hold []string
	apply      []string
	faults     faultFlags
	format     format
}

func newTurnCmd() *cobra.Command {
	opts := &turnOptions{}
	cmd := &cobra.Command{
		Use: "turn TRAIN --turn MEMBER=SPEED ... [--hold MEMBER ...]",
		Long: `Turn any members of a train as on the bench, hold any others, and read the speed
of all the rest. Settings that contradict one another lock; what they leave open
is free. Nothing is applied unless --apply names it; one-way clutches act.

SPEED is a number or a fraction of any unit: 1, -2.5, 70/33.
+ is clockwise seen from the input end, the way the engine turns the input.`,
		Example: `  tieup turn simple-planetary --turn set.sun=1 --hold set.ring
  tieup turn depot-shuttle-three-speed --turn turbine=1 --apply forward`,
		Args: args(1, 1, "which train? See: tieup trains",
			"turn takes one train; members are named with --turn and --hold"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	flags := cmd.Flags()
	flags.StringArrayVar(&opts.turn, "turn", nil, "turn a member: `MEMBER=SPEED`; repeatable")
	flags.StringArrayVar(&opts.hold, "hold", nil, "hold this `MEMBER` still; repeatable")
	flags.StringSliceVar(&opts.apply, "apply", nil, "apply these `ELEMENTS`, with commas between them")
	complete(cmd, "turn", assigned(turnable))
	complete(cmd, "hold", ofTrain(turnable))
	complete(cmd, "apply", listed(appliable))
	opts.faults.add(cmd)
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *turnOptions) run(cmd *cobra.Command, args []string) error {
	if len(opts.turn) == 0 {
		return usagef(cmd, "what is turned? Write --turn MEMBER=SPEED")
	}
	t, err := open(cmd, args[0])
	if err != nil {
		return err
	}
	var q analysis.TurnQuestion
	if q.Given, err = opts.given(t); err != nil {
		return err
	}
	if q.Apply, err = findApply(t, opts.apply); err != nil {
		return err
	}
	wrong, err := opts.faults.parse(t)
	if err != nil {
		return err
	}
	q.Faults = wrong.Faults
	answer, err := analysis.Open(t).Turn(cmd.Context(), q)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Turned{Turned: answer})
}

// given reads --turn and --hold.
func (opts *turnOptions) given(t *kinematics.Train) ([]analysis.Given, error) {
	var given []analysis.Given
	add := func(flag, name string, speed exact.Frac) error {
		id, err := findMember(t, strings.TrimSpace(name))
		if err == nil && id == kinematics.Housing {
			err = errors.New("the housing never turns: leave it out")
		}
		for _, g := range given {
			if err == nil && g.Member == id {
				err = fmt.Errorf("%s is given twice", name)
			}
		}
		if err != nil {
			return fmt.Errorf("--%s: %w", flag, err)
		}
		given = append(given, analysis.Given{Member: id, Speed: speed})
		return nil
	}
	for _, text := range opts.turn {
		name, value, ok := strings.Cut(text, "=")
		if !ok {
			return nil, fmt.Errorf("--turn %s: write MEMBER=SPEED, such as %s=1", quote(text), t.Members[t.Input].Name)
		}
		speed, err := parseSpeed(value)
		if err != nil {
			return nil, fmt.Errorf("--turn %s: %w", quote(text), err)
		}
		if err := add("turn", name, speed); err != nil {
			return nil, err
		}
	}
	for _, name := range opts.hold {
		if err := add("hold", name, exact.NewFrac(0, 1)); err != nil {
			return nil, err
		}
	}
	return given, nil
}

// parseSpeed reads a speed exactly.
func parseSpeed(text string) (exact.Frac, error) {
	f, err := parseNumber(text)
	switch {
	case errors.Is(err, errDividesByZero):
		return f, fmt.Errorf("%s %w", quote(text), err)
	case err != nil:
		return f, fmt.Errorf("%s is no speed: write a number such as 1, -2.5 or 70/33", quote(text))
	}
	return f, nil
}
