package cli

import (
	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
	"tieup/plots/table"
)

type checkOptions struct {
	trains []string
	format format
}

func newCheckCmd() *cobra.Command {
	opts := &checkOptions{}
	cmd := &cobra.Command{
		Use: "check TRAIN...",
		Long: `Compare the computed ratio of every range with the one its source prints: it may
differ by half a unit of the last printed place; where the file says that the
source cuts places off, the printed one may be smaller by less than a whole unit.
Audit the tooth counts of every gearset: coaxial, equally spaced, pinions clear
of one another.

Exit status 1 says that something does not agree.`,
		Example: `  tieup check simpson-three-speed
  tieup check mine.yaml --format json`,
		Args:              args(1, -1, "which train? See: tieup trains", ""),
		ValidArgsFunction: completeTrains,
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.trains = args
			return runCheck(cmd, opts)
		},
	}
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func runCheck(cmd *cobra.Command, opts *checkOptions) error {
	var answer table.Checked
	for _, name := range opts.trains {
		t, err := open(cmd, name)
		if err != nil {
			return err
		}
		answer = append(answer, checkTrain(t))
	}
	if err := opts.format.write(cmd, answer); err != nil {
		return err
	}
	if answer.Differs() {
		return errDiffers
	}
	return nil
}

func checkTrain(t *kinematics.Train) table.CheckedTrain {
	c := table.CheckedTrain{Train: t}
	k := solve.Compile(t).Kernel()
	for i := range t.Ranges {
		r := &t.Ranges[i]
		checked := table.CheckedRange{Outcome: k.Outcome(t.In(r))}
		if ratio, drives := checked.Outcome.Ratio(); drives && r.Published != nil {
			if comparison, ok := r.Published.Against(ratio.Rat()); ok {
				checked.Comparison = &comparison
			}
		}
		c.Ranges = append(c.Ranges, checked)
	}
	for _, f := range gearsets.Audit(t) {
		c.Findings = append(c.Findings, table.Finding{
			Gearset: t.Gearsets[f.Gearset].Name, Condition: string(f.Condition), State: f.State.String(),
			Text: f.Text, Hint: f.Hint, Fails: f.State == gearsets.AuditWarning,
		})
	}
	return c
}
