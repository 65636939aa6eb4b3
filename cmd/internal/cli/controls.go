package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
	"tieup/plots/table"
)

type controlsOptions struct {
	faults []string
	format format
}

func newControlsCmd() *cobra.Command {
	opts := &controlsOptions{}
	cmd := &cobra.Command{
		Use: "controls TRAIN [RANGE...]",
		Long: `Say what feeds the elements of a train whose file gives its controls: which
solenoids are on in each range, how the valves stand, which circuits have
pressure, which elements are fed, and what the train does with that. With faults
of the controls every range stands beside itself when healthy. Without ranges
and faults: the chart of every single fault of the controls in every range.

Where a range can come to more than one thing all of them are listed, with what
it depends on. Where the control knows of a failure, what it commands then
stands behind what comes before.`,
		Example: `  tieup controls overdrive-simpson-four-speed
  tieup controls overdrive-simpson-four-speed D2 --fault S2=stuck-off`,
		Args:              args(1, -1, "which train? See: tieup trains", ""),
		ValidArgsFunction: completeTrainRanges,
		RunE:              opts.run,
	}
	cmd.Flags().StringArrayVar(&opts.faults, "fault", nil,
		"`NAME=KIND` or NAME=KIND@RANGE,RANGE: stuck-on, stuck-off, no-current, short-on, 'crossed S2' of a solenoid; "+
			"supply; stuck-up, stuck-down, spring-broken of a valve; blocked, 'leaks SHARE', 'leaks-into CIRCUIT' of a "+
			"circuit; missing of a ball; 'lever=between D 2'; line=none, 'line=low SHARE'; repeatable")
	complete(cmd, "fault", ofTrain(controlFaults))
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *controlsOptions) run(cmd *cobra.Command, args []string) error {
	t, err := open(cmd, args[0])
	if err != nil {
		return err
	}
	n := controls.Of(t)
	if n == nil {
		return fmt.Errorf("%s: %w", t.Name, analysis.ErrNoControls)
	}
	q := analysis.ControlsQuestion{}
	for _, name := range args[1:] {
		r, err := t.FindRange(name)
		if err != nil {
			return err
		}
		q.Ranges = append(q.Ranges, r)
	}
	for _, text := range opts.faults {
		f, err := n.ParseFault(text)
		if err == nil {
			err = n.Contradicts(q.Faults, f)
		}
		if err != nil {
			return fmt.Errorf("--fault %s: %w", text, err)
		}
		q.Faults = append(q.Faults, f)
	}
	a := analysis.Open(t)
	if len(q.Ranges) == 0 && len(q.Faults) == 0 {
		answer, err := a.ControlChart(cmd.Context())
		if err != nil {
			return err
		}
		return opts.format.give(cmd, answer, table.ControlChart{ControlChart: answer})
	}
	answer, err := a.Controls(cmd.Context(), q)
	if err != nil {
		return err
	}
	return opts.format.give(cmd, answer, table.Controlled{Controlled: answer})
}

// controlFaults lists NAME=KIND of all faults of the controls of t.
func controlFaults(t *kinematics.Train) []string {
	n := controls.Of(t)
	if n == nil {
		return nil
	}
	var faults []string
	for _, part := range n.Parts() {
		for _, k := range n.Kinds(part) {
			faults = append(faults, part+"="+string(k))
		}
	}
	return faults
}
