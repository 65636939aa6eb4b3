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

type loadOptions struct {
	of                   choice
	faults               faultFlags
	torque, drag, rpm    number
	mesh, basic, overall string
	format               format
}

// The flags that say what is lost.
const (
	meshEfficiency    = "mesh-efficiency"
	basicEfficiency   = "basic-efficiency"
	overallEfficiency = "overall-efficiency"
)

func newLoadCmd() *cobra.Command {
	opts := &loadOptions{}
	cmd := &cobra.Command{
		Use: "load TRAIN [RANGE]",
		Long: `Say what a range carries while the engine pulls, and while the vehicle coasts
against the engine: the torque of every element, joint, member and mesh, which
one-way clutches hold, the power through each gearset split into what its teeth
roll and what it passes on as if it turned as one, power that runs in a circle,
and the efficiency. Without a range, set all ranges side by side: where each
element carries most, where it slips fastest, how fast pinions turn.

Torques are per unit of torque at the input unless --torque gives N m. Where
elements share a load they come as bounds. Gears lose only while they roll under
load: bearings, churning and the drag of clutches are not counted.`,
		Example: `  tieup load depot-shuttle-three-speed D1 --torque 250 --rpm 1800
  tieup load four-carrier-eight-speed --basic-efficiency 0.98`,
		Args:              args(1, 2, "which train? See: tieup trains", "one range at a time, or none for all of them"),
		ValidArgsFunction: completeTrainRanges,
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	flags := cmd.Flags()
	opts.of.add(cmd)
	opts.torque.addTorque(cmd, "torque", "torque at the input while pulling, `N` m")
	opts.drag.addTorque(cmd, "drag", "torque with which the engine holds back while coasting, `N` m")
	opts.rpm.addSpeed(cmd, "rpm", "give speeds in turns per minute, for `N` of the input")
	flags.StringVar(&opts.mesh, meshEfficiency, "", "`EXTERNAL,INTERNAL` or EXTERNAL,INTERNAL,CHAIN: "+
		"what a mesh passes on of its\nrolling power; 0.985,0.99 (and a chain as an external mesh) are assumed")
	flags.StringVar(&opts.basic, basicEfficiency, "", "what a gearset passes on with its carrier held: `N`, "+
		"or N,SET=N for some others;\nin place of the efficiency of meshes")
	flags.StringVar(&opts.overall, overallEfficiency, "", "efficiency of the whole range while pulling, `N`: "+
		"finds the basic efficiency,\nthe same for all gearsets, that gives it")
	freely(cmd, meshEfficiency, basicEfficiency, overallEfficiency)
	addFormat(cmd, &opts.format)
	return cmd
}

func (opts *loadOptions) run(cmd *cobra.Command, args []string) error {
	if opts.of.read(cmd, args[1:]); opts.of.combination && len(opts.of.ranges) > 0 {
		return usagef(cmd, "name a range, or elements with --apply, not both")
	}
	t, wrong, err := opts.faults.openTrain(cmd, args[0])
	if err != nil {
		return err
	}
	ranges, err := opts.of.find(t)
	switch {
	case err != nil:
		return err
	case ranges == nil && len(t.Ranges) == 0:
		return fmt.Errorf("%s has no ranges: choose elements with --apply", t.Name)
	}
	q := analysis.LoadQuestion{
		Question: question{Ranges: ranges, Condition: wrong}, Compare: ranges == nil,
		Torque: opts.torque.value, Drag: opts.drag.value, InputRPM: opts.rpm.value,
	}
	if q.Compare {
		q.Ranges = t.Ranges
	}
	if err := opts.losses(cmd, t, &q); err != nil {
		return err
	}
	answer, err := analysis.Open(t).Load(cmd.Context(), q)
	if err != nil {
		return flagged(err)
	}
	return opts.format.give(cmd, answer, table.Loaded{Loaded: answer})
}

// losses reads the efficiencies into a question.
func (opts *loadOptions) losses(cmd *cobra.Command, t *kinematics.Train, q *analysis.LoadQuestion) error {
	given := slices.DeleteFunc([]string{meshEfficiency, basicEfficiency, overallEfficiency},
		func(flag string) bool { return !cmd.Flags().Changed(flag) })
	if len(given) > 1 {
		return fmt.Errorf("give one of --%s: they say the same in different ways", strings.Join(given, " and --"))
	}
	if len(given) == 0 {
		return nil
	}
	losses := analysis.NoLosses()
	var err error
	switch given[0] {
	case meshEfficiency:
		losses, err = meshLosses(opts.mesh)
		q.Losses = &losses
	case basicEfficiency:
		losses, err = basicLosses(t, opts.basic)
		q.Losses = &losses
	default:
		if q.Compare {
			return errors.New("--overall-efficiency is that of one range: name it")
		}
		var overall exact.Frac
		overall, err = parseEfficiency(opts.overall)
		q.Overall = &overall
	}
	if err != nil {
		return fmt.Errorf("--%s: %w", given[0], err)
	}
	return nil
}

// parseEfficiency reads a number above 0 and at most 1, exactly as written.
func parseEfficiency(text string) (exact.Frac, error) {
	f, err := parseNumber(text)
	if err != nil || f.Sign() <= 0 || f.Cmp(exact.Int(1)) > 0 {
		return f, fmt.Errorf("an efficiency is a number above 0 and at most 1, such as 0.985, not %s", quote(text))
	}
	return f, nil
}

// meshLosses reads EXTERNAL,INTERNAL or EXTERNAL,INTERNAL,CHAIN.
func meshLosses(text string) (analysis.Losses, error) {
	l := analysis.Losses{}
	words := strings.Split(text, ",")
	if len(words) < 2 || len(words) > 3 {
		return l, fmt.Errorf("write that of an external and of an internal mesh, such as 0.985,0.99, not %s", quote(text))
	}
	for i, into := range []*exact.Frac{&l.External, &l.Internal, &l.Chain}[:len(words)] {
		f, err := parseEfficiency(words[i])
		if err != nil {
			return l, err
		}
		*into = f
	}
	if len(words) == 2 {
		l.Chain = l.External
	}
	return l, nil
}

// basicLosses reads N, SET=N, or several of them with commas between.
func basicLosses(t *kinematics.Train, text string) (analysis.Losses, error) {
	l := analysis.NoLosses()
	given := make([]bool, len(t.Gearsets))
	l.Basic = make([]exact.Frac, len(t.Gearsets))
	var all *exact.Frac
	for word := range strings.SplitSeq(text, ",") {
		name, value, named := strings.Cut(word, "=")
		if !named {
			value = name
		}
		f, err := parseEfficiency(value)
		if err != nil && !named && value != text {
			return l, fmt.Errorf("%w in %s: a comma stands between gearsets, the decimal sign is a point", err, quote(text))
		}
		if err != nil {
			return l, err
		}
		if !named {
			if all != nil {
				return l, errors.New("one number for all gearsets is enough: name the others, such as 0.98," +
					t.Gearsets[0].Name + "=0.97")
			}
			all = &f
			continue
		}
		g := slices.IndexFunc(t.Gearsets, func(g kinematics.Gearset) bool { return g.Name == strings.TrimSpace(name) })
		if g < 0 {
			names := kinematics.Map(t.Gearsets, func(g kinematics.Gearset) string { return g.Name })
			return l, t.NoSuch("gearset", strings.TrimSpace(name), names)
		}
		if given[g] {
			return l, fmt.Errorf("%s is named twice", t.Gearsets[g].Name)
		}
		l.Basic[g], given[g] = f, true
	}
	for g := range given {
		switch {
		case given[g]:
		case all == nil:
			return l, fmt.Errorf("nothing is said of %s: put a number for the others in front, such as 0.98,%s",
				t.Gearsets[g].Name, text)
		default:
			l.Basic[g] = *all
		}
	}
	return l, nil
}
