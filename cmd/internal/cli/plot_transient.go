package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/plots"
)

// maxOverlaid is how many timings can be told apart over one another.
const maxOverlaid = 6

func newPlotTransientCmd() *cobra.Command {
	opts := &plotOptions{byTorque: true}
	var play shiftFlags
	var overlaps []string
	var moves string
	cmd := newPlotKind(&cobra.Command{
		Use:   "transient",
		Short: "A shift played in time: speeds, torque, heat",
		Long: `Draw a shift played in time: what lets go and takes hold, the speeds of input,
output and slipping elements, the output torque, and the heat of the elements,
beside the shift as it should be. With --overlap several timings lie over one
another. The shift is given as for tieup transient.`,
		Example: `  tieup plot transient simpson-three-speed D2 D3 --stuck intermediate -o b.svg
  tieup plot transient depot-shuttle-three-speed D2 D3 --overlap=0,.2 -o t.svg`,
	}, opts, func(cmd *cobra.Command, a *analysis.Analysis, asked analysis.Question) (plots.Drawing, error) {
		first, last := asked.Ranges[0], asked.Ranges[len(asked.Ranges)-1]
		q, err := play.question(a.Train, first.Name, last.Name, asked.Condition)
		if err != nil {
			return nil, err
		}
		if len(overlaps) > 0 {
			return overlaid(cmd, a, q, overlaps, moves)
		}
		answer, err := a.Play(cmd.Context(), q)
		if err != nil {
			return nil, adviseShift(err)
		}
		return plots.ShiftInTime([]*analysis.Played{answer}, []string{""})
	})
	cmd.Use = "transient TRAIN FROM TO"
	cmd.Args = args(3, 3, "which train, from which range to which? See: tieup trains", "a shift has two ranges")
	cmd.ValidArgsFunction = completeTrainTwoRanges
	run := cmd.RunE
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if args[1] == args[2] {
			args = args[:2] // one range from which to play on
		}
		return run(cmd, args)
	}
	play.add(cmd)
	cmd.Flags().StringSliceVar(&overlaps, "overlap", nil,
		"lay timings with these `SECONDS` of overlap over one another, a gap being negative, "+
			"as in a sweep of tieup transient")
	cmd.Flags().StringVar(&moves, "sweep", "release",
		"move the `RAMPS` of what is released, or of what is applied: release or apply")
	freely(cmd, "overlap")
	complete(cmd, "sweep", oneOf("release", "apply"))
	return cmd
}

// overlaid draws the overlaps of --overlap over one another.
func overlaid(cmd *cobra.Command, a *analysis.Analysis, q analysis.PlayQuestion, texts []string,
	moves string) (plots.Drawing, error) {
	if len(texts) > maxOverlaid {
		return nil, fmt.Errorf("--overlap: %d timings cannot be told apart: give at most %d", len(texts), maxOverlaid)
	}
	var overlaps []float64
	var labels []string
	for _, text := range texts {
		x, ok := parseFloat(text, -10, 10)
		if !ok {
			return nil, fmt.Errorf("--overlap: write seconds from -10 to 10, not %s", quote(text))
		}
		word := fmt.Sprintf("overlap %g s", x)
		if x < 0 {
			word = fmt.Sprintf("gap %g s", -x)
		}
		overlaps, labels = append(overlaps, x), append(labels, word)
	}
	change, err := parseSweep(moves)
	if err != nil {
		return nil, err
	}
	answers, err := a.PlayOverlaps(cmd.Context(), q, change, overlaps)
	if err != nil {
		return nil, adviseShift(err)
	}
	return plots.ShiftInTime(answers, labels)
}

// parseSweep reads --sweep.
func parseSweep(text string) (analysis.Change, error) {
	switch text {
	case "release":
		return analysis.Releases, nil
	case "apply":
		return analysis.Applies, nil
	}
	return "", errors.New("--sweep " + quote(text) + ": write release or apply")
}
