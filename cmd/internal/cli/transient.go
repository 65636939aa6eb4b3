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

// shiftFlags say how a shift in time is played; the drawing of one takes them, too.
type shiftFlags struct {
	torque, speed, rpm, noLoad, brakes number
	rampFlags
	capacities           []string
	ratedTorque, reserve string
	until, step          number
}

func (f *shiftFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	f.torque.add(cmd, "torque", "N m", -1e5, 1e5, "torque at the input, `N` m (120; "+
		"40 where drive is taken up or let go); a negative one is the drag of the engine with closed throttle")
	f.noLoad.add(cmd, "no-load", "rpm", 0, 1e5, "speed `N` rpm at which the input torque has fallen to nothing, "+
		"in a straight line from rest; 0: it does not depend on speed (0; 700 where drive is taken up or let go)")
	f.speed.add(cmd, "speed", "km/h", -500, 500, "speed of the vehicle at the start, `N` km/h, "+
		"backward below 0 (30 between ranges that drive forward, 10 backward, else 0)")
	f.rpm.add(cmd, "rpm", "rpm", 0, 1e5, "speed of the input at the start, `N`, in place of --speed; "+
		"where the first range leaves it open, beside it (700)")
	f.brakes.add(cmd, "brakes", "N m", 0, 1e6, "hold the wheels with brakes of `N` m")
	f.rampFlags.add(cmd)
	flags.StringArrayVar(&f.capacities, "capacity", nil,
		"`NAME=TORQUE`, N m, that an element holds before it slips; repeatable")
	flags.StringVar(&f.ratedTorque, "rated-torque", "",
		"rated input torque in `NM`, which assumed capacities are for (that of the train file, else 250)")
	flags.StringVar(&f.reserve, "reserve", "1.5", "assume capacities of this `FACTOR` over the largest healthy torque")
	f.until.above = true
	f.until.add(cmd, "until", "s", 0, 300, "play `N` s (to 1 s after the last element has changed)")
	f.step.add(cmd, "step", "s", 1e-6, 0.01, "play in steps of `N` s and of half of it (0.0001)")
	freely(cmd, "rated-torque", "reserve")
	complete(cmd, "capacity", assigned(slipping))
}

// rampFlags are the flags for when elements let go and take hold.
type rampFlags struct{ release, apply []string }

func (f *rampFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringArrayVar(&f.release, "release", nil,
		"`NAME=START..END`: when an element lets go, s after the command; with :smooth slowly at both ends; repeatable")
	flags.StringArrayVar(&f.apply, "apply", nil, "`NAME=START..END`: when an element takes hold; repeatable")
	complete(cmd, "release", assigned(appliable))
	complete(cmd, "apply", assigned(appliable))
}

// question reads the flags into the question for a shift of t.
func (f *shiftFlags) question(t *kinematics.Train, from, to string,
	wrong analysis.Condition) (analysis.PlayQuestion, error) {
	q := analysis.PlayQuestion{
		Condition: wrong, Torque: f.torque.pointer(), NoLoad: f.noLoad.pointer(), Speed: f.speed.pointer(),
		Input: f.rpm.pointer(), Brakes: f.brakes.value, Until: f.until.pointer(), Step: f.step.pointer(),
	}
	var err error
	if q.From, err = findRange(t, from); err != nil {
		return q, err
	}
	if q.To, err = findRange(t, to); err != nil {
		return q, err
	}
	if q.Ratings, err = f.ratings(t); err != nil {
		return q, err
	}
	if q.Release, err = readRamps(t, "release", f.release); err != nil {
		return q, err
	}
	q.Apply, err = readRamps(t, "apply", f.apply)
	return q, err
}

// ratings reads what elements can hold.
func (f *shiftFlags) ratings(t *kinematics.Train) (*analysis.Ratings, error) {
	scale := analysis.NewtonMetresOf(t)
	r := &analysis.Ratings{}
	if f.ratedTorque != "" {
		rated, err := parseSomeTorque("rated-torque", f.ratedTorque, scale, t)
		if err != nil {
			return nil, err
		}
		r.Rated, scale.Rated = rated.Float(), rated
	}
	var err error
	if r.Reserve, err = parsePositive(f.reserve); err != nil {
		return nil, fmt.Errorf("--reserve: %w", err)
	}
	r.Given, err = parseCapacities(f.capacities, scale, t)
	return r, err
}

// readRamps reads NAME=START..END.
func readRamps(t *kinematics.Train, flag string, texts []string) (map[int]kinematics.Ramp, error) {
	return forElements(t, flag, "NAME=START..END in seconds after the command", texts,
		func(c *kinematics.Coupling, text string) (kinematics.Ramp, error) {
			if actsAlways(c) {
				return kinematics.Ramp{}, fmt.Errorf("the one-way clutch %s acts always", c.Name)
			}
			return kinematics.ParseRamp(strings.TrimSpace(text))
		})
}

// adviseShift says which flags an error is about, and what to write for a missing rating.
func adviseShift(err error) error { return advise(flagged(err), analysis.Scale{NewtonMetres: true}) }

// flagged says which flags an error is about.
func flagged(err error) error {
	var q *analysis.QuestionError
	if errors.As(err, &q) {
		return fmt.Errorf("--%s: %w", strings.Join(q.Parts, " and --"), err)
	}
	return err
}

type transientOptions struct {
	shift       shiftFlags
	sweep       string
	least       number
	flare, heat number
	faults      faultFlags
	format      format
}

func newTransientCmd() *cobra.Command {
	opts := &transientOptions{}
	cmd := &cobra.Command{
		Use: "transient TRAIN FROM TO",
		Long: `Play a shift in time, from a stated speed and input torque, with the vehicle as
an inertia at the output: how long it binds and how deep the output torque
falls, how far the input flares, how much heat each element takes, and when
one-way clutches let go and take hold. Beside it the same shift is played as it
should be: without faults, each element that has to wait letting go just as its
load comes to nothing, or taking hold just as it stops slipping. FROM and TO may
be the same range: coasting down in it, for one.

When elements let go and take hold is said with --release and --apply, else by
"shift" in the train file, else it is assumed; so are inertias, the vehicle and
what elements can hold. The answer lists all that was assumed. Of a train that
is built into no vehicle its file has to say what the output moves.

--sweep release (or apply) plays one timing after the other, from gap to
overlap; with --least, --most-flare and --most-heat it finds the window of good
timing.`,
		Example: `  tieup transient depot-shuttle-three-speed D2 D3 --stuck intermediate
  tieup transient depot-shuttle-three-speed D2 D3 --sweep release --least 60`,
		Args: args(3, 3, "which train, from which range to which? See: tieup trains",
			"transient takes a train and two ranges"),
		ValidArgsFunction: completeTrainTwoRanges,
		RunE:              opts.run,
	}
	opts.shift.add(cmd)
	flags := cmd.Flags()
	flags.StringVar(&opts.sweep, "sweep", "", "move the `RAMPS` of what is released, or of what is applied: "+
		"release or apply")
	opts.least.add(cmd, "least", "N m", -1e6, 1e6, "limit of the sweep: output torque not below `N` m")
	opts.flare.add(cmd, "most-flare", "rpm", 0, 1e5, "limit of the sweep: flare of the input up to `N` rpm")
	opts.heat.add(cmd, "most-heat", "kJ", 0, 1e6, "limit of the sweep: heat of all elements up to `N` kJ")
	complete(cmd, "sweep", oneOf("release", "apply"))
	opts.faults.add(cmd)
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *transientOptions) run(cmd *cobra.Command, args []string) error {
	if opts.sweep == "" && (opts.least.given || opts.flare.given || opts.heat.given) {
		return usagef(cmd, "--least, --most-flare and --most-heat are limits of a sweep: write --sweep release, too")
	}
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	q, err := opts.shift.question(t, args[1], args[2], wrong)
	if err != nil {
		return err
	}
	a := analysis.Open(t)
	if opts.sweep == "" {
		answer, err := a.Play(cmd.Context(), q)
		if err != nil {
			return adviseShift(err)
		}
		return opts.format.give(cmd, answer, table.Played{Played: answer})
	}
	moves, err := parseSweep(opts.sweep)
	if err != nil {
		return err
	}
	answer, err := a.Sweep(cmd.Context(), analysis.SweepQuestion{PlayQuestion: q, Moves: moves, Limits: opts.limits()})
	if err != nil {
		return adviseShift(err)
	}
	return opts.format.give(cmd, answer, table.Swept{Swept: answer})
}

// limits reads the limits of a sweep.
func (opts *transientOptions) limits() analysis.SweptLimits {
	l := analysis.SweptLimits{Least: opts.least.pointer(), Flare: opts.flare.pointer()}
	if opts.heat.given {
		joules := opts.heat.value * 1000
		l.Heat = &joules
	}
	return l
}
