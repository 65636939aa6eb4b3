package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// faultFlags are the flags by which every command that solves takes faults.
type faultFlags struct {
	stuck, open, faults []string
}

// repeated is a flag that may be given many times, a text each. That of pflag writes
// CSV at each start, to find out that it is empty.
type repeated []string

func (r *repeated) Set(text string) error { *r = append(*r, text); return nil }
func (r *repeated) String() string        { return strings.Join(*r, ",") }
func (r *repeated) Type() string          { return "stringArray" }

func (f *faultFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.Var((*repeated)(&f.stuck), "stuck", "`NAME` holds in all ranges (a one-way clutch: is seized); repeatable")
	flags.Var((*repeated)(&f.open), "open",
		"`NAME` never holds (a one-way clutch: slips; the pawl: is missing); repeatable")
	flags.Var((*repeated)(&f.faults), "fault",
		"`NAME=KIND` or NAME=KIND@RANGE,RANGE: stuck, 'stuck SHARE' (of its rating), open, 'weak SHARE', "+
			"'dragging SHARE'; slips, seized, reversed for a one-way clutch; sheared for JOINT:MEMBER; "+
			"missing for the pawl; repeatable")
	complete(cmd, "stuck", ofTrain((*kinematics.Train).ElementNames))
	complete(cmd, "open", ofTrain((*kinematics.Train).ElementNames))
	complete(cmd, "fault", ofTrain(allFaults))
}

// openTrain reads a train and what is wrong with it. What faults of its controls bring about is
// said once the question is answered: cobra then calls PostRun, and not after an error.
func (f *faultFlags) openTrain(cmd *cobra.Command, name string) (*kinematics.Train, analysis.Condition, error) {
	t, err := open(cmd, name)
	if err != nil {
		return nil, analysis.Condition{}, err
	}
	wrong, err := f.parse(t)
	cmd.PostRun = func(*cobra.Command, []string) {
		for _, line := range wrong.Remarks() {
			fmt.Fprintln(cmd.ErrOrStderr(), line)
		}
	}
	return t, wrong, err
}

// parse reads all faults for t, and what those of its controls bring about. Two of one
// part in one range are refused.
func (f *faultFlags) parse(t *kinematics.Train) (analysis.Condition, error) {
	var all analysis.WrittenFaults
	for _, given := range []struct {
		flag  string
		words []string
		kind  kinematics.FaultKind // "" where the word says it
	}{{"stuck", f.stuck, kinematics.Stuck}, {"open", f.open, kinematics.OpenF}, {"fault", f.faults, ""}} {
		for _, word := range given.words {
			text, err := word, error(nil)
			if given.kind != "" {
				var fault kinematics.Fault
				if fault, err = kinematics.ParseShortFault(t, word, given.kind); err == nil {
					text = t.FaultText(fault)
				}
			}
			if err == nil {
				err = all.Add(t, text)
			}
			if err != nil {
				return analysis.Condition{}, fmt.Errorf("--%s %s: %w", given.flag, word, err)
			}
		}
	}
	return analysis.InForce(t, &all), nil
}
