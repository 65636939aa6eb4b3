package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets/roadtest"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/plots/table"
)

type identifyOptions struct {
	speeds    []string
	tolerance string
	commanded string
	locked    bool
	all       bool
	format    format
}

func newIdentifyCmd() *cobra.Command {
	opts := &identifyOptions{}
	cmd := &cobra.Command{
		Use: "identify TRAIN --speeds MEMBER=SPEED,MEMBER=SPEED",
		Long: `Say which combinations of elements give the speeds that were measured while the
engine pulled, nearest first, and what that means where another range is
commanded.

MEMBER is a member of the train, or input, output or engine. Behind a converter
that is not locked the speed of the engine gives only a bound, since the engine
turns faster than the input; with --locked it counts as the input. Speeds
without a sign are sizes; with a + or - on any of them the sense counts too.`,
		Example: `  tieup identify simpson-three-speed --speeds input=1800,output=1217
  tieup identify depot-shuttle-three-speed --speeds engine=2000,output=1300`,
		Args:              args(1, 1, "which train? See: tieup trains", "identify takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&opts.speeds, "speeds", nil,
		"measured `MEMBER=SPEED`, with commas between them, in any one unit")
	flags.StringVar(&opts.tolerance, "tolerance", "2%", "how far speeds may be `OFF`")
	flags.StringVar(&opts.commanded, "commanded", "", "the `RANGE` that was commanded")
	flags.BoolVar(&opts.locked, "locked", false, "the converter is locked: engine and input turn as one")
	flags.BoolVar(&opts.all, "all", false, "list every ratio and combination, and evaluate more than 65536 of them")
	complete(cmd, "speeds", listed(speedNames))
	freely(cmd, "tolerance")
	complete(cmd, "commanded", ofTrain((*kinematics.Train).RangeNames))
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *identifyOptions) run(cmd *cobra.Command, args []string) error {
	if len(opts.speeds) == 0 {
		return usagef(cmd, "which speeds? Write --speeds input=1800,output=1100")
	}
	t, err := open(cmd, args[0])
	if err != nil {
		return err
	}
	q := analysis.IdentifyQuestion{}
	if q.Readings, err = opts.readings(t); err != nil {
		return err
	}
	if opts.commanded != "" {
		if q.Commanded, err = findRange(t, opts.commanded); err != nil {
			return fmt.Errorf("--commanded: %w", err)
		}
	}
	if !opts.all {
		q.Most = fewElements
	}
	answer, err := analysis.Open(t).Identify(cmd.Context(), q)
	if err != nil {
		return flagged(err)
	}
	return opts.format.give(cmd, answer, table.Identified{Identified: answer, All: opts.all})
}

// readings reads --speeds and --tolerance.
func (opts *identifyOptions) readings(t *kinematics.Train) (analysis.Readings, error) {
	m := analysis.Readings{}
	part, ok := roadtest.Part(opts.tolerance)
	if !ok || part.Cmp(exact.NewFrac(1, 5).Rat()) > 0 {
		return m, fmt.Errorf("--tolerance %s: write a part up to 20%%, such as 2%%", quote(opts.tolerance))
	}
	m.Tolerance = exact.FromRat(part)
	anyEngine := false
	for _, text := range opts.speeds {
		name, value, ok := strings.Cut(text, "=")
		if !ok {
			return m, fmt.Errorf("--speeds %s: write MEMBER=SPEED, such as input=1800", quote(text))
		}
		id, engine, err := speedMember(t, strings.TrimSpace(name))
		if err == nil && id == kinematics.Housing {
			err = errors.New("the housing never turns: leave it out")
		}
		var speed exact.Frac
		if err == nil {
			speed, err = parseSpeed(value)
		}
		for _, s := range m.Speeds {
			if err == nil && s.Member == id {
				err = fmt.Errorf("%s is given twice", t.Members[id].Name)
				if id == t.Input && (engine || anyEngine) {
					err = errors.New("engine and input are both given: the speed of the input says all, leave the engine out")
				}
			}
		}
		if err != nil {
			return m, fmt.Errorf("--speeds %s: %w", text, err)
		}
		anyEngine = anyEngine || engine
		m.Engine = m.Engine || engine && !opts.locked && t.Drive == kinematics.Converter
		m.Signed = m.Signed || strings.HasPrefix(strings.TrimSpace(value), "-") ||
			strings.HasPrefix(strings.TrimSpace(value), "+")
		m.Speeds = append(m.Speeds, analysis.Measured{Member: id, Speed: speed})
	}
	return m, nil
}

// speedMember looks up a member, or input, output or engine where no member has
// that name; engine says that it is the engine.
func speedMember(t *kinematics.Train, name string) (id kinematics.MemberID, engine bool, err error) {
	if _, ok := t.Member(name); !ok {
		switch name {
		case "input":
			return t.Input, false, nil
		case "output":
			return t.Output, false, nil
		case "engine":
			return t.Input, true, nil
		}
	}
	id, err = findMember(t, name)
	return id, false, err
}

// speedNames are MEMBER= of what the speed can be measured of.
func speedNames(t *kinematics.Train) []string {
	return ending(append([]string{"input", "output", "engine"}, turnable(t)...), "=")
}
