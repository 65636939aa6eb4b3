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

type wearOptions struct {
	breakawayOptions
	ranges, shifts []string
	noShifts       bool
	rpm            number
	seconds        string
	ramps          rampFlags
}

func newWearCmd() *cobra.Command {
	opts := &wearOptions{rpm: number{value: 1000, given: true}}
	cmd := &cobra.Command{
		Use: "wear TRAIN --fault NAME=KIND ...",
		Long: `Say what else a fault harms, the most first: the parts to inspect before the
unit is closed, and the cause to mend so that they do not burn again. In every
range that was driven, with the input turned (wheels free or held) and the
vehicle rolled (forward and backward, throttle closed), and in every shift, each
element's slip speed, torque, slip power and heat are found; one-way clutches
and joints do not slip, and are compared with the largest torque they carry when
all is sound.

Heat is an order, for the speed and time that are stated: never a temperature.
Torques are N m; where the train file gives no rated torque, 250 N m are
assumed.`,
		Example: `  tieup wear depot-shuttle-three-speed --stuck forward --in R
  tieup wear simpson-three-speed --fault 'intermediate=weak 0.5' --time 5`,
		Args:              args(1, 1, "which train? See: tieup trains", "wear takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	flags := cmd.Flags()
	opts.faults.add(cmd)
	opts.addRatings(cmd, "input `TORQUE` that is available (the rated torque if left out)")
	flags.StringSliceVar(&opts.ranges, "in", nil,
		"these `RANGES` were driven, with commas between them (all if left out)")
	flags.StringSliceVar(&opts.shifts, "shift", nil, "these `SHIFTS` were made, such as D3-D2, with commas between them "+
		"(all between neighbours if left out)")
	flags.BoolVar(&opts.noShifts, "no-shifts", false, "no shifts")
	opts.rpm.addSpeed(cmd, "rpm", "speed of the end that is moved, turns per minute")
	flags.StringVar(&opts.seconds, "time", "10", "for so many `SECONDS`")
	opts.ramps.add(cmd)
	complete(cmd, "in", listed((*kinematics.Train).RangeNames))
	freely(cmd, "shift", "time")
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *wearOptions) run(cmd *cobra.Command, args []string) error {
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	if len(wrong.Faults) == 0 && wrong.Controls() == nil {
		return usagef(cmd, "which fault? Write --fault NAME=KIND, --stuck NAME or --open NAME")
	}
	q := analysis.WearQuestion{Condition: wrong, RPM: opts.rpm.value}
	if err := opts.read(t, &q); err != nil {
		return err
	}
	answer, err := analysis.Open(t).Wear(cmd.Context(), q)
	if err != nil {
		return advise(err, q.Torques.Scale)
	}
	return opts.format.give(cmd, answer, table.Worn{Worn: answer})
}

// read reads what was driven, and the torques.
func (opts *wearOptions) read(t *kinematics.Train, q *analysis.WearQuestion) error {
	if opts.ratedTorque == "" && t.RatedTorque == 0 {
		opts.ratedTorque = fmt.Sprint(analysis.AssumedRated)
	}
	opts.resistance = "0"
	var err error
	if q.Torques, err = opts.query(t); err != nil {
		return err
	}
	for _, name := range opts.ranges {
		r, err := findRange(t, strings.TrimSpace(name))
		if err != nil {
			return fmt.Errorf("--in: %w", err)
		}
		q.Ranges = append(q.Ranges, r)
	}
	if q.Shifts, err = opts.shiftsOf(t); err != nil {
		return err
	}
	if q.Release, err = readRamps(t, "release", opts.ramps.release); err != nil {
		return err
	}
	if q.Apply, err = readRamps(t, "apply", opts.ramps.apply); err != nil {
		return err
	}
	seconds, err := parsePositive(opts.seconds)
	if err != nil {
		return fmt.Errorf("--time: %w", err)
	}
	q.Seconds = seconds.Float()
	return nil
}

// shiftsOf reads FROM-TO of every --shift; nil for all.
func (opts *wearOptions) shiftsOf(t *kinematics.Train) ([][2]*kinematics.Range, error) {
	if opts.noShifts {
		return [][2]*kinematics.Range{}, nil
	}
	var list [][2]*kinematics.Range
	for _, text := range opts.shifts {
		from, to, ok := strings.Cut(strings.TrimSpace(text), "-")
		if !ok {
			return nil, fmt.Errorf("--shift %s: write FROM-TO, such as D3-D2", quote(text))
		}
		a, err := findRange(t, from)
		if err != nil {
			return nil, fmt.Errorf("--shift: %w", err)
		}
		b, err := findRange(t, to)
		if err == nil && a == b {
			err = errors.New("a shift is from one range to another")
		}
		if err != nil {
			return nil, fmt.Errorf("--shift: %w", err)
		}
		list = append(list, [2]*kinematics.Range{a, b})
	}
	return list, nil
}
