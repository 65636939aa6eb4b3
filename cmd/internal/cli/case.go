package cli

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/gearsets/problem"
	"tieup/gearsets/roadtest"
	"tieup/kinematics/analysis"
	"tieup/plots"
	"tieup/plots/page"
	"tieup/plots/table"
)

type caseOptions struct {
	saw, when []string
	found     []string
	replaced  []string
	proved    []string
	report    string
	out       string
	force     bool
	plan      planOptions
	format    format
}

func newCaseCmd() *cobra.Command {
	opts := &caseOptions{}
	cmd := &cobra.Command{
		Use: "case FILE",
		Long: `Go on with a case, from the complaint to the proof. FILE is a road-test sheet
(tieup sheet, tieup interview): what was seen, tests in the workshop, what was
found on opening, what was replaced, and which turns by hand proved the
assembly.

What the flags add is written into FILE. Comments of your own are kept, and
where somebody else changed the file meanwhile nothing is written. Without a
flag the case is shown: the suspects, what was found, and the turns by hand with
what they showed.

--report writes one page of A4 as .pdf or .html: for the customer, as proof, or
for the bench with boxes to tick.`,
		Example: `  tieup case bus-14.yaml --found forward=welded --replaced 'seal kit'
  tieup case bus-14.yaml --proved 1=ok --proved 2=locks
  tieup case bus-14.yaml --report customer -o bus-14.pdf`,
		Args: args(1, 1, "which case? Name a road-test sheet; tieup sheet TRAIN --save FILE writes one",
			"case takes one file"),
		RunE: opts.run,
	}
	flags := cmd.Flags()
	flags.StringArrayVar(&opts.saw, "saw", nil, "add what was seen: `PLACE=SEEN`, as for tieup diagnose; repeatable")
	flags.StringSliceVar(&opts.when, "when", nil, "add `CIRCUMSTANCES`")
	flags.StringArrayVar(&opts.found, "found", nil, "add what a part was found to be: `PART=STATE`; repeatable")
	flags.StringArrayVar(&opts.replaced, "replaced", nil, "add `WHAT` was replaced; repeatable")
	flags.StringArrayVar(&opts.proved, "proved", nil, "add what a turn by hand showed: `TURN=SAW`; TURN is its number "+
		"in the plan, or its name; SAW is ok, locks, turns, free, or turns of the output for one of the input; repeatable")
	flags.StringVar(&opts.report, "report", "", "write the page of this `KIND`: customer, proof or bench")
	flags.StringVarP(&opts.out, "out", "o", "", "write it into this `FILE`: .pdf or .html")
	flags.BoolVar(&opts.force, "force", false, "overwrite that file if it is there already")
	opts.plan.add(cmd)
	complete(cmd, "report", oneOf(analysis.ReportKinds()...))
	complete(cmd, "when", completeWhen)
	freely(cmd, "saw", "found", "replaced", "proved")
	addFormat(cmd, &opts.format)
	return cmd
}

func (opts *caseOptions) run(cmd *cobra.Command, args []string) error {
	switch {
	case opts.report != "" && !slices.Contains(analysis.ReportKinds(), opts.report):
		return usagef(cmd, "--report %s: write %s", quote(opts.report), strings.Join(analysis.ReportKinds(), ", "))
	case opts.report != "" && opts.out == "":
		return usagef(cmd, "--report needs a file: write -o FILE.pdf or -o FILE.html")
	case opts.report == "" && opts.out != "":
		return usagef(cmd, "-o is for a report: write --report, too")
	}
	file := args[0]
	src, err := gearsets.ReadFile(file, input(cmd))
	if err != nil {
		return err
	}
	if !roadtest.IsSheet(src) {
		return fmt.Errorf("%s is no road-test sheet; tieup sheet TRAIN --save FILE writes one", problem.Plain(file))
	}
	c, train, err := openSheet(cmd, file, src)
	if err != nil {
		return err
	}
	a := analysis.Open(c.Train)
	q := analysis.ReportQuestion{Kind: analysis.ReportKind(opts.report), Case: c}
	if q.Plan, err = opts.plan.question(c.Train); err != nil {
		return err
	}
	plan, err := a.Plan(cmd.Context(), q.Plan)
	if err != nil {
		return err
	}
	if err := opts.addTo(c, plan); err != nil {
		return err
	}
	if len(opts.saw)+len(opts.when)+len(opts.found)+len(opts.replaced)+len(opts.proved) > 0 {
		if file == gearsets.Stdin {
			return errors.New("a case on standard input cannot be written: name its file")
		}
		if err := saveSheet(file, src, roadtest.Update(src, train, c, a.ShiftPairs()), true); err != nil {
			return err
		}
	}
	if opts.report != "" {
		return opts.writeReport(cmd, a, q)
	}
	d, err := a.Diagnose(cmd.Context(), analysis.DiagnoseQuestion{Case: c, Faults: 2, Tests: 1, Brief: true})
	if err != nil {
		return err
	}
	plan.Tick(c)
	answer := analysis.NewCaseShown(d, c, plan)
	return opts.format.give(cmd, answer, table.CaseShown{CaseShown: answer})
}

// addTo adds what the flags say to a case.
func (opts *caseOptions) addTo(c *analysis.Case, plan *analysis.Planned) error {
	if err := addToCase(c, opts.saw, opts.when); err != nil {
		return err
	}
	if err := addFound(c, opts.found); err != nil {
		return err
	}
	c.Replaced = append(c.Replaced, opts.replaced...)
	for _, text := range opts.proved {
		name, saw, ok := strings.Cut(text, "=")
		if !ok {
			return fmt.Errorf("--proved %s: write TURN=SAW, such as 1=ok", quote(text))
		}
		if n, err := strconv.Atoi(strings.TrimSpace(name)); err == nil {
			if n < 1 || n > len(plan.Turns) {
				return fmt.Errorf("--proved %s: the plan has turns 1 to %d", quote(text), len(plan.Turns))
			}
			name = plan.Turns[n-1].Name
		}
		if err := c.Show(name, saw); err != nil {
			return fmt.Errorf("--proved %s: %w", quote(text), err)
		}
	}
	return nil
}

// writeReport writes a page of a case.
func (opts *caseOptions) writeReport(cmd *cobra.Command, a *analysis.Analysis, q analysis.ReportQuestion) error {
	ending := strings.ToLower(filepath.Ext(opts.out))
	if ending != ".pdf" && ending != ".html" {
		return fmt.Errorf("-o %s: reports are written as .pdf or .html", quote(opts.out))
	}
	if err := canSave(opts.out, opts.force); err != nil {
		return err
	}
	x, err := a.Report(cmd.Context(), q)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if ending == ".html" {
		err = page.WriteReport(&b, x)
	} else {
		err = plots.Write(&b, plots.PDF, plots.ReportPage(x), plots.Style{Size: plots.Upright()})
	}
	if err != nil {
		return err
	}
	if err := saveFile(opts.out, b.Bytes(), opts.force); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s is written\n", problem.Plain(opts.out))
	return nil
}
