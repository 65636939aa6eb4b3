package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/plots/table"
)

type breakawayOptions struct {
	capacities         []string
	reserve            string
	torque, resistance string
	ratedTorque        string
	faults             faultFlags
	format             format
}

func newBreakawayCmd() *cobra.Command {
	opts := &breakawayOptions{}
	cmd := &cobra.Command{
		Use: "breakaway TRAIN RANGE",
		Long: `Say what gives first in a range: which element slips when the input of the
standing vehicle is turned, at what torque, and where the vehicle then goes; and
what locks the wheels, how hard, when the vehicle rolls with closed throttle.
A clutch, brake or band holds up to its rating; one-way clutches, dogs, pawl and
gears do not slip. Among all motions the one of least dissipation is exact, and
proved by torques that balance it.

Torques are N m where the train file gives a rated torque or a capacity, or
--rated-torque is given; else multiples of the rated input torque. A torque may
name its unit: 1.2x is 1.2 times the rated torque, 250Nm is N m.

Ratings come from --capacity, else from the train file, else they are assumed:
the largest torque that the element carries in a healthy range, times the
reserve.`,
		Example: `  tieup breakaway depot-shuttle-three-speed R --stuck forward
  tieup breakaway simpson-three-speed D2 --fault 'intermediate=weak 0.6'`,
		Args:              args(2, 2, "which train and range? See: tieup trains", "breakaway takes one range"),
		ValidArgsFunction: completeTrainRanges,
		RunE:              opts.run,
	}
	opts.addRatings(cmd, "input `TORQUE` that is available (the rated torque if left out); roll with it, too")
	cmd.Flags().StringVar(&opts.resistance, "resistance", "0",
		"`TORQUE` at the output with which the standing vehicle resists")
	freely(cmd, "resistance")
	opts.faults.add(cmd)
	addFormat(cmd, &opts.format)
	return cmd
}

// addRatings adds the flags for what elements hold and what the engine gives.
func (opts *breakawayOptions) addRatings(cmd *cobra.Command, torque string) {
	flags := cmd.Flags()
	flags.StringArrayVar(&opts.capacities, "capacity", nil,
		"`NAME=TORQUE` that an element holds before it slips; repeatable")
	flags.StringVar(&opts.reserve, "reserve", "1.5", "assume ratings of this `FACTOR` over the largest healthy torque")
	flags.StringVar(&opts.torque, "torque", "", torque)
	flags.StringVar(&opts.ratedTorque, "rated-torque", "", "rated input torque in `NM`, in place of the train file's")
	freely(cmd, "reserve", "torque", "rated-torque")
	complete(cmd, "capacity", assigned(slipping))
}

func (opts *breakawayOptions) run(cmd *cobra.Command, args []string) error {
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	r, err := findRange(t, args[1])
	if err != nil {
		return err
	}
	torques, err := opts.query(t)
	if err != nil {
		return err
	}
	answer, err := analysis.Open(t).Breakaway(cmd.Context(),
		analysis.BreakawayQuestion{Range: r, Condition: wrong, Torques: torques})
	if err != nil {
		return advise(err, torques.Scale)
	}
	return opts.format.give(cmd, answer, table.BrokenAway{BrokenAway: answer})
}

// query reads the torques of the command line on the scale of the train.
func (opts *breakawayOptions) query(t *kinematics.Train) (analysis.Torques, error) {
	q := analysis.Torques{Scale: analysis.ScaleOf(t)}
	fail := func(flag string, err error) (analysis.Torques, error) {
		return q, fmt.Errorf("--%s: %w", flag, err)
	}
	var err error
	if opts.ratedTorque != "" {
		q.Scale = analysis.Scale{NewtonMetres: true}
		if q.Scale.Rated, err = parseSomeTorque("rated-torque", opts.ratedTorque, q.Scale, t); err != nil {
			return q, err
		}
	}
	if q.Reserve, err = parsePositive(opts.reserve); err != nil {
		return fail("reserve", err)
	}
	if q.Given, err = parseCapacities(opts.capacities, q.Scale, t); err != nil {
		return q, err
	}
	if q.Resistance, err = parseTorque(opts.resistance, q.Scale, t); err != nil {
		return fail("resistance", err)
	}
	q.Available, q.Powered = q.Scale.Rated, opts.torque != ""
	if q.Powered {
		if q.Available, err = parseTorque(opts.torque, q.Scale, t); err != nil {
			return fail("torque", err)
		}
	} else if q.Scale.Rated.Sign() == 0 {
		return q, fmt.Errorf("%s gives capacities in N m, but not the torque that is available: write --torque, "+
			"or rated-torque: in the file", t.Name)
	}
	return q, nil
}

// parseCapacities reads NAME=TORQUE of every --capacity.
func parseCapacities(texts []string, scale analysis.Scale, t *kinematics.Train) (map[int]exact.Frac, error) {
	capacity := func(c *kinematics.Coupling, text string) (exact.Frac, error) {
		if !c.Kind.Friction() {
			return exact.Frac{}, fmt.Errorf("%s does not slip: only clutches, brakes and bands have a capacity", c.Name)
		}
		f, err := parseTorque(text, scale, t)
		if err == nil && f.Sign() == 0 {
			err = fmt.Errorf("%s that holds nothing is open: write --open %[1]s", c.Name)
		}
		return f, err
	}
	return forElements(t, "capacity", "NAME=TORQUE", texts, capacity)
}

// forElements reads what a flag that may be repeated gives to elements: each takes one value.
func forElements[V any](t *kinematics.Train, flag, form string, texts []string,
	read func(c *kinematics.Coupling, text string) (V, error)) (map[int]V, error) {
	given := map[int]V{}
	for _, text := range texts {
		name, value, ok := strings.Cut(text, "=")
		if !ok {
			return nil, fmt.Errorf("--%s: write %s, not %s", flag, form, quote(text))
		}
		i, err := t.FindElement(strings.TrimSpace(name))
		if _, twice := given[i]; err == nil && twice {
			err = fmt.Errorf("%s is given twice", t.Couplings[i].Name)
		}
		if err == nil {
			given[i], err = read(&t.Couplings[i], value)
		}
		if err != nil {
			return nil, fmt.Errorf("--%s: %w", flag, err)
		}
	}
	return given, nil
}

// advise adds to a missing rating what to write.
func advise(err error, scale analysis.Scale) error {
	var missing *analysis.MissingRatingError
	if !errors.As(err, &missing) {
		return err
	}
	name := slices.Concat(missing.Unloaded, missing.Unscaled, missing.Shared)[0]
	example := "1.5x"
	if scale.NewtonMetres {
		example = "400Nm"
	}
	text := fmt.Sprintf("%s; write --capacity %s=%s with what it holds", err, name, example)
	if missing.Unscaled != nil {
		text += ", or --rated-torque"
	}
	return errors.New(text)
}

// mostMultiple is the largest multiple of the rated torque that is believed
// without its x: more is taken for N m of a train whose rated torque is not known.
const mostMultiple = 50

// parseTorque reads a torque of 0 or more on a scale.
func parseTorque(text string, scale analysis.Scale, t *kinematics.Train) (exact.Frac, error) {
	number, unit := torqueUnit(strings.TrimSpace(text))
	f, err := parseNumber(number)
	switch {
	case errors.Is(err, errDividesByZero):
		return f, fmt.Errorf("%s %w", quote(text), err)
	case err != nil || f.Sign() < 0:
		return f, fmt.Errorf("%s is no torque: write a number such as 250, 250Nm or 1.2x", quote(text))
	}
	switch {
	case unit == "x" && scale.Rated.Sign() == 0:
		return f, fmt.Errorf("the rated torque of %s is not known: write N m", t.Name)
	case unit == "x":
		return f.Mul(scale.Rated), nil
	case scale.NewtonMetres:
		return f, nil
	case unit != "":
		return f, fmt.Errorf("torques are multiples of the rated input torque, as %s does not give it: "+
			"write --rated-torque, too", t.Name)
	case f.Float() > mostMultiple:
		return f, fmt.Errorf("torques are multiples of the rated input torque, as %s does not give it: "+
			"write --rated-torque, too, or %sx if that is meant", t.Name, number)
	}
	return f, nil
}

// parseSomeTorque reads a torque above 0 for a flag.
func parseSomeTorque(flag, text string, scale analysis.Scale, t *kinematics.Train) (exact.Frac, error) {
	f, err := parseTorque(text, scale, t)
	if err == nil && f.Sign() == 0 {
		err = errors.New("it cannot be 0")
	}
	if err != nil {
		return f, fmt.Errorf("--%s: %w", flag, err)
	}
	return f, nil
}

// torqueUnit cuts the unit off a torque, "" for none.
func torqueUnit(text string) (number, unit string) {
	for _, unit := range []string{"x", "Nm", "N m"} {
		if number, found := strings.CutSuffix(text, unit); found {
			return strings.TrimSuffix(number, " "), unit
		}
	}
	return text, ""
}

// parsePositive reads a number above 0.
func parsePositive(text string) (exact.Frac, error) {
	f, err := parseSpeed(text)
	if err != nil || f.Sign() <= 0 {
		return f, fmt.Errorf("write a number above 0 such as 1.5, not %s", quote(text))
	}
	return f, nil
}
