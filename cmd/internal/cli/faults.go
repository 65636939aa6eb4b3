package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// faultFlags are the flags by which every command that solves takes faults.
type faultFlags struct {
	stuck, open, faults []string
	brought             *controls.Brought // by the faults of the controls, once they are read
}

// controls are the faults of the controls that were read.
func (f *faultFlags) controls() []controls.Fault {
	if f.brought == nil {
		return nil
	}
	return f.brought.Faults
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

// openTrain reads a train and the faults for it.
func (f *faultFlags) openTrain(cmd *cobra.Command, name string) (*kinematics.Train, []kinematics.Fault, error) {
	t, err := open(cmd, name)
	if err != nil {
		return nil, nil, err
	}
	faults, err := f.parse(t)
	if f.brought != nil {
		for _, line := range reading.Brought(t, f.brought) {
			fmt.Fprintln(cmd.ErrOrStderr(), line)
		}
	}
	return t, faults, err
}

// tell says in an answer what its ranges can come to besides, under faults of the controls.
func (f *faultFlags) tell(a *analysis.Analysis, faults []kinematics.Fault, ranges []kinematics.Range,
	outcomes *[]analysis.RangeOutcomes, cautions *analysis.List[string]) {
	list := a.Outcomes(analysis.Question{Ranges: ranges, Faults: faults, Brought: f.brought})
	*outcomes, *cautions = list, a.CautionsOf(list, *cautions)
}

// parse reads all faults for t, and what those of its controls bring about. Two of one
// part in one range are refused.
func (f *faultFlags) parse(t *kinematics.Train) ([]kinematics.Fault, error) {
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
				return nil, fmt.Errorf("--%s %s: %w", given.flag, word, err)
			}
		}
	}
	q := analysis.InForce(t, &all)
	f.brought = q.Brought
	return q.Faults, nil
}
