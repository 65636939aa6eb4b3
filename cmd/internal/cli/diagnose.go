package cli

import (
	"bytes"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/gearsets/roadtest"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type diagnoseOptions struct {
	saw      []string
	when     []string
	found    []string
	suspects []string
	faults   int
	all      bool
	table    bool
	format   format
}

func newDiagnoseCmd() *cobra.Command {
	opts := &diagnoseOptions{}
	words := analysis.Words()
	cmd := &cobra.Command{
		Use: "diagnose TRAIN|SHEET [--saw PLACE=SEEN ...]",
		Long: `Rank everything that could be wrong with a train by what was seen of it, and
name the tests that separate what is left best for their effort. Every suspect
is computed in every range; nothing is looked up. What was not tested counts
neither way.

PLACE is a range, a shift (D1-D2) or a test in the workshop (air:direct).
SEEN is one of these, or several with commas between them; --table says how each
fits what a range can do:

` + glossary(words.Ranges) + `
  of a shift, or of selecting a range (N-R):
` + glossary(words.Shifts) + `
  of a test in the workshop:
` + glossary(words.Shop) + `
  of a part that was opened (--found):
` + glossary(words.Found) + `
Everything seen, the circumstances and what is assumed can also stand in a
road-test sheet (tieup sheet); --saw and --when then add to it.

The words are those of a vehicle with an engine. Of a cycle, a hoist or a
machine tieup sheet TRAIN says what each means there.`,
		Example: `  tieup diagnose depot-shuttle-three-speed --saw R=bind --saw N=forward
  tieup diagnose bus-14.yaml --suspect roller=reversed`,
		Args:              args(0, 1, "", "diagnose takes one train or sheet"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	flags := cmd.Flags()
	flags.StringArrayVar(&opts.saw, "saw", nil,
		"what was seen: `PLACE=SEEN`, such as R=bind or D1=forward,no-engine-braking; repeatable")
	flags.StringSliceVar(&opts.when, "when", nil,
		"`CIRCUMSTANCES`: sudden or gradual, clean or burnt, cold or hot, rebuilt; with commas between them")
	flags.StringArrayVar(&opts.found, "found", nil, "what a part was found to be on opening: `PART=STATE`, such as "+
		"intermediate=burnt or direct=good; repeatable")
	complete(cmd, "found", goingOn(foundWords))
	flags.StringArrayVar(&opts.suspects, "suspect", nil,
		"test a claim: `NAME=KIND`, a fault as in tieup chart, several with + between them; pressure=none, "+
			"low 0.4 or high; lever=back or further; a gear or carrier torn off, GEAR=torn; repeatable")
	flags.IntVar(&opts.faults, "faults", 2, "look for up to `N` faults at once, where fewer do not explain everything")
	flags.BoolVar(&opts.all, "all", false, "show every suspect")
	flags.BoolVar(&opts.table, "table", false, "print how each observation fits what a range can do")
	complete(cmd, "saw", goingOn(sawWords))
	complete(cmd, "when", completeWhen)
	complete(cmd, "suspect", ofTrain(allFaults))
	freely(cmd, "faults")
	addFormat(cmd, &opts.format)
	return cmd
}

// glossary lists the words of observations for help.
func glossary(words []analysis.Gloss) string {
	var b strings.Builder
	for _, g := range words {
		meaning := strings.ReplaceAll(table.Wrap(g.Meaning, helpWidth-22), "\n", "\n"+strings.Repeat(" ", 22))
		fmt.Fprintf(&b, "  %-19s %s\n", g.Word, meaning)
	}
	return b.String()
}

func (opts *diagnoseOptions) run(cmd *cobra.Command, args []string) error {
	switch {
	case opts.table:
		fits := analysis.AllFits()
		return opts.format.give(cmd, fits, table.Fits{Fits: fits})
	case len(args) == 0:
		return usagef(cmd, "which train, or which road-test sheet? See: tieup trains, tieup sheet --help")
	case opts.faults < 1 || opts.faults > 3:
		return usagef(cmd, "--faults %d: faults at once are 1, 2 or 3", opts.faults)
	}
	c, _, err := openCase(cmd, args[0])
	if err != nil {
		return err
	}
	if err := addToCase(c, opts.saw, opts.when); err != nil {
		return err
	}
	if err := addFound(c, opts.found); err != nil {
		return err
	}
	q := analysis.DiagnoseQuestion{Case: c, Faults: opts.faults, Tests: 3, Brief: opts.format.value == "text"}
	for _, text := range opts.suspects {
		claim, err := analysis.ParseClaim(c.Train, text)
		if err != nil {
			return fmt.Errorf("--suspect %s: %w", text, err)
		}
		q.Claims = append(q.Claims, claim)
	}
	answer, err := analysis.Open(c.Train).Diagnose(cmd.Context(), q)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Diagnosed{Diagnosed: answer, All: opts.all})
}

// openCase opens a road-test sheet, or a train of which nothing was seen yet. It
// also returns the name by which a sheet finds the train.
func openCase(cmd *cobra.Command, name string) (*analysis.Case, string, error) {
	stdin := input(cmd)
	if _, err := os.Stat(name); name == "-" || gearsets.Source(name) == nil && err == nil {
		src, err := gearsets.ReadFile(name, stdin)
		switch {
		case err != nil:
			return nil, "", err
		case roadtest.IsSheet(src):
			return openSheet(cmd, name, src)
		}
		stdin = bytes.NewReader(src)
	}
	f, err := gearsets.Open(name, stdin)
	if err != nil {
		return nil, "", err
	}
	fmt.Fprint(cmd.ErrOrStderr(), f.Problems.Excerpts())
	return analysis.NewCase(f.Train), name, nil
}

func openSheet(cmd *cobra.Command, name string, src []byte) (*analysis.Case, string, error) {
	if name == "-" {
		name = "standard input"
	}
	s, problems, err := roadtest.Parse(name, src)
	if err != nil {
		return nil, "", err
	}
	fmt.Fprint(cmd.ErrOrStderr(), s.TrainProblems.Excerpts(), problems.Excerpts())
	return s.Case, s.TrainName, nil
}

// addToCase adds what --saw and --when say.
func addToCase(c *analysis.Case, saw, when []string) error {
	for _, text := range saw {
		place, seen, ok := strings.Cut(text, "=")
		if !ok && strings.HasPrefix(text, "code:") {
			seen, ok = string(analysis.SeenStored), true
		}
		if !ok {
			return fmt.Errorf("--saw %s: write PLACE=SEEN, such as R=bind", quote(text))
		}
		if err := c.See(place, seen); err != nil {
			return fmt.Errorf("--saw %s: %w", text, err)
		}
	}
	for _, name := range when {
		if err := c.Know(strings.TrimSpace(name)); err != nil {
			return fmt.Errorf("--when: %w", err)
		}
	}
	return nil
}

// addFound adds what --found says.
func addFound(c *analysis.Case, found []string) error {
	for _, text := range found {
		i := strings.LastIndex(text, "=")
		if i < 0 {
			return fmt.Errorf("--found %s: write PART=STATE, such as intermediate=burnt", quote(text))
		}
		if err := c.Find(text[:i], text[i+1:]); err != nil {
			return fmt.Errorf("--found %s: %w", text, err)
		}
	}
	return nil
}

// foundWords are PART= and then the states behind it.
func foundWords(t *kinematics.Train, to string) []string {
	var list []string
	if part, _, behind := strings.Cut(to, "="); behind {
		for _, w := range analysis.FoundWords() {
			list = append(list, part+"="+w)
		}
		return list
	}
	list = t.ElementNames()
	for _, j := range t.Joints {
		list = append(list, j.Name)
	}
	return ending(list, "=")
}

// sawWords are PLACE= and then the words behind it.
func sawWords(t *kinematics.Train, to string) []string {
	var list []string
	if place, _, behind := strings.Cut(to, "="); behind {
		before := to[:max(strings.LastIndex(to, ","), strings.Index(to, "="))+1]
		for _, w := range analysis.SeenWords(t, place) {
			list = append(list, before+w)
		}
		return list
	}
	list = t.RangeNames()
	for _, o := range analysis.ShopPlaces(t) {
		list = append(list, o.Place(t))
	}
	return ending(list, "=")
}

// completeWhen completes the last of a list of circumstances.
func completeWhen(_ *cobra.Command, _ []string, to string) ([]string, cobra.ShellCompDirective) {
	return lastOf(to, circumstanceNames()), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

func circumstanceNames() []string {
	return kinematics.Map(analysis.Circumstances(), analysis.Circumstance.Name)
}
