package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"tieup/kinematics"
)

// faultFlags are the flags by which every command that solves takes faults.
type faultFlags struct {
	stuck, open, faults []string
}

func (f *faultFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringArrayVar(&f.stuck, "stuck", nil, "`NAME` holds in all ranges (a one-way clutch: is seized); repeatable")
	flags.StringArrayVar(&f.open, "open", nil, "`NAME` never holds (a one-way clutch: slips; the pawl: is missing); repeatable")
	flags.StringArrayVar(&f.faults, "fault", nil, "`NAME=KIND` or NAME=KIND@RANGE,RANGE: stuck, 'stuck SHARE' (of its rating), open, 'weak SHARE', 'dragging SHARE'; slips, seized, reversed for a one-way clutch; sheared for JOINT:MEMBER; missing for the pawl; repeatable")
	complete(cmd, "stuck", completeElements)
	complete(cmd, "open", completeElements)
	complete(cmd, "fault", completeFault)
}

// openTrain reads a train and the faults for it.
func (f *faultFlags) openTrain(cmd *cobra.Command, name string) (*kinematics.Train, []kinematics.Fault, error) {
	t, err := open(cmd, name)
	if err != nil {
		return nil, nil, err
	}
	faults, err := f.parse(t)
	return t, faults, err
}

// parse reads all faults for t and refuses two of one coupling in one range.
func (f *faultFlags) parse(t *kinematics.Train) ([]kinematics.Fault, error) {
	var faults []kinematics.Fault
	read := func(flag string, words []string, parse func(*kinematics.Train, string) (kinematics.Fault, error)) error {
		for _, w := range words {
			fault, err := parse(t, w)
			if err == nil {
				err = t.Contradicts(faults, fault)
			}
			if err != nil {
				return fmt.Errorf("--%s %s: %w", flag, w, err)
			}
			faults = append(faults, fault)
		}
		return nil
	}
	short := func(kind kinematics.FaultKind) func(*kinematics.Train, string) (kinematics.Fault, error) {
		return func(t *kinematics.Train, name string) (kinematics.Fault, error) {
			return kinematics.ParseShortFault(t, name, kind)
		}
	}
	if err := read("stuck", f.stuck, short(kinematics.Stuck)); err != nil {
		return nil, err
	}
	if err := read("open", f.open, short(kinematics.OpenF)); err != nil {
		return nil, err
	}
	if err := read("fault", f.faults, kinematics.ParseFault); err != nil {
		return nil, err
	}
	return faults, nil
}
