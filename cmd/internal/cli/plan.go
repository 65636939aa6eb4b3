package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type planOptions struct {
	without string
	air     []string
	noHold  bool
	pairs   bool
	tree    bool
	format  format
}

func newPlanCmd() *cobra.Command {
	opts := &planOptions{}
	cmd := &cobra.Command{
		Use: "plan TRAIN",
		Long: `Plan the turns by hand that prove an assembly before it goes in: with air to
some elements, and the output free, held or pawled, the input is turned either
way. The fewest turns that show every single fault are found: an element that
never holds or is stuck on, a one-way clutch that slips, is seized or fitted
backwards, a joint that is loose, a pawl that is missing. They are sorted so
that lines of air are moved least. Air goes to as many elements at once as the
largest range applies.

Each turn says what a sound assembly shows, and whom another sight suspects.
What no turning shows is listed with the test in hand that does.`,
		Example: `  tieup plan depot-shuttle-three-speed
  tieup plan four-carrier-eight-speed --pairs
  tieup plan depot-shuttle-three-speed --without case --air forward,direct`,
		Args:              args(1, 1, "which train? See: tieup trains", "plan takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	opts.add(cmd)
	cmd.Flags().BoolVar(&opts.tree, "tree", false, "say which further turns tell the suspects apart")
	addFormat(cmd, &opts.format)
	return cmd
}

// add adds the flags that say what is planned.
func (opts *planOptions) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&opts.without, "without", "", "what is not fitted: `PART` is case (nothing holds against it) "+
		"or valve-body (air goes in at every passage, not at taps alone)")
	flags.StringSliceVar(&opts.air, "air", nil, "air can be put to these `ELEMENTS` only, with commas between them")
	flags.BoolVar(&opts.noHold, "no-hold", false, "the output cannot be held by hand")
	flags.BoolVar(&opts.pairs, "pairs", false, "show pairs of faults, too")
	complete(cmd, "air", listed(appliable))
	complete(cmd, "without", oneOf(analysis.Removable()...))
}

func (opts *planOptions) run(cmd *cobra.Command, args []string) error {
	t, err := open(cmd, args[0])
	if err != nil {
		return err
	}
	q, err := opts.question(t)
	if err != nil {
		return err
	}
	answer, err := analysis.Open(t).Plan(cmd.Context(), q)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Planned{Planned: answer, Tree: opts.tree})
}

// question reads what is planned.
func (opts *planOptions) question(t *kinematics.Train) (analysis.PlanQuestion, error) {
	q := analysis.PlanQuestion{Pairs: opts.pairs, NoHold: opts.noHold}
	var err error
	if q.Air, err = findAir(t, opts.air); err != nil {
		return q, err
	}
	if err := q.Without.UnmarshalText([]byte(opts.without)); err != nil {
		return q, fmt.Errorf("--without %s: %w", quote(opts.without), err)
	}
	return q, nil
}

// findAir finds the elements that --air names.
func findAir(t *kinematics.Train, names []string) ([]int, error) {
	var list []int
	for _, name := range names {
		e, err := t.FindElement(strings.TrimSpace(name))
		if err != nil {
			return nil, fmt.Errorf("--air: %w", err)
		}
		list = append(list, e)
	}
	return list, nil
}
