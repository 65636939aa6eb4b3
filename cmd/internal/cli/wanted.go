package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tieup/cmd/internal/serve"
	"tieup/gearsets"
	"tieup/gearsets/roadtest"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/plots/table"
)

// runWanted searches teeth for wanted ratios. An interrupt ends the search, not the
// answer.
func runWanted(cmd *cobra.Command, opts *fitOptions) error {
	q, err := opts.wantedQuestion()
	if err != nil {
		return err
	}
	watcherOf(cmd.Context()).waitFor()
	answer, err := analysis.Wanted(cmd.Context(), q)
	if err != nil {
		return err
	}
	if err := opts.format.give(cmd, answer, table.Wanted{WantedTeeth: answer}); err != nil {
		return err
	}
	if len(answer.Found) == 0 {
		return errDiffers
	}
	return nil
}

func (opts *fitOptions) wantedQuestion() (analysis.WantedQuestion, error) {
	q := analysis.WantedQuestion{Audit: serve.Audit, Within: exact.NewFrac(1, 50)}
	var err error
	if q.Train, err = gearsets.Library(opts.layout); err != nil {
		return q, fmt.Errorf("--layout: %w", err)
	}
	for _, text := range strings.FieldsFunc(opts.wanted, func(c rune) bool { return c == ' ' || c == ';' || c == '\t' }) {
		r, err := exact.Parse(strings.ReplaceAll(strings.TrimPrefix(text, "+"), ",", "."))
		if err != nil || r.Sign() == 0 || r.Abs().Cmp(exact.Int(1000)) > 0 || r.Abs().Cmp(exact.NewFrac(1, 1000)) < 0 {
			return q, fmt.Errorf("--wanted %s: write ratios with blanks between them, such as \"2.5 1.5 1 -2.1\"", quote(text))
		}
		q.Ratios = append(q.Ratios, r)
	}
	if opts.within != "" {
		part, ok := roadtest.Part(opts.within)
		if !ok || part.Sign() <= 0 || part.Cmp(exact.NewFrac(1, 5).Rat()) > 0 {
			return q, fmt.Errorf("--within %s: write a part above 0 and up to 20%%, such as 1%%", quote(opts.within))
		}
		q.Within = exact.FromRat(part)
	}
	if q.Low, q.High, err = opts.bounds(); err != nil {
		return q, err
	}
	return q, opts.room(&q)
}

// room reads --module and --outer.
func (opts *fitOptions) room(q *analysis.WantedQuestion) error {
	if (opts.module == "") != (opts.outer == 0) {
		return fmt.Errorf("--module and --outer go together: --module 1.25..2.5 --outer 180")
	}
	if opts.module == "" {
		return nil
	}
	a, b, ok := strings.Cut(opts.module, "..")
	least, okLeast := parseFloat(a, 0.1, 50)
	most, okMost := parseFloat(b, 0.1, 50)
	if !ok || !okLeast || !okMost || least > most {
		return fmt.Errorf("--module %s: write the least and the most in mm, such as 1.25..2.5", quote(opts.module))
	}
	if !(opts.outer > 0) || opts.outer > 10000 {
		return fmt.Errorf("--outer: write a diameter in mm above 0, such as 180")
	}
	q.LeastModule, q.MostModule, q.Outer = least, most, opts.outer
	return nil
}
