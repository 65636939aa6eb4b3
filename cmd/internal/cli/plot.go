package cli

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots"
)

// plotOptions are what all drawings have in common.
type plotOptions struct {
	train  string
	ranges []string
	file   string
	size   string
	title  string
	dark   bool
	force  bool
	faults faultFlags
	// byTorque says that the drawing shows faults that act through torque.
	byTorque bool
}

// newPlotCmd makes the command of drawings, with a command below it for each kind.
func newPlotCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use: "plot KIND TRAIN [RANGE...] -o FILE",
		Long: `Draw a train as SVG, PNG or PDF, by the ending of the file: a speed plan, a
lever diagram, an application chart, the wall chart of faults, the ladder of a
drive through the gears, a half-section with the loaded path, what breaks away,
or a shift in time. The same train, ranges and faults give the same file, byte
for byte.

With --size a drawing fills the paper. Ranges, or rows of a chart, that would be
too small to read there go onto further sheets: pages of a PDF, which is A4
without --size, or files such as plan-1.png and plan-2.png. A size in pixels is
a slide: its letters are at least 2.5 % of its height, but for the notes at the
foot, and but for chart and faults, which are paper for the wall.`,
		Example: `  tieup plot speeds simpson-three-speed N --stuck forward -o neutral.svg
  tieup plot path depot-shuttle-three-speed D1 D2 -o power-flow.pdf`,
		// The flags of the kinds are not known here, and a misspelt kind should
		// not be answered with the first of its flags.
		FParseErrWhitelist: cobra.FParseErrWhitelist{UnknownFlags: true},
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return usagef(cmd, "unknown kind of drawing %s%s", quote(args[0]), oneOfThese(args[0], commandNames(cmd)))
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newPlotSpeedsCmd(), newPlotLeverCmd(), newPlotChartCmd(), newPlotFaultsCmd(), newPlotLadderCmd(),
		newPlotPathCmd(), newPlotBreakawayCmd(), newPlotTransientCmd())
	return cmd
}

// drawFunc makes a drawing of the ranges that were named, all if none was.
type drawFunc func(cmd *cobra.Command, a *analysis.Analysis, q question) (plots.Drawing, error)

type question = analysis.Question

// drawn draws the answer to a question as it is.
func drawn[A any, D plots.Drawing](ask func(*analysis.Analysis, context.Context, question) (A, error),
	draw func(A) D) drawFunc {
	return func(cmd *cobra.Command, a *analysis.Analysis, q question) (plots.Drawing, error) {
		answer, err := ask(a, cmd.Context(), q)
		if err != nil {
			return nil, err
		}
		return draw(answer), nil
	}
}

// newPlotKind completes the command of a kind of drawing.
func newPlotKind(cmd *cobra.Command, opts *plotOptions, draw drawFunc) *cobra.Command {
	cmd.Use += " TRAIN [RANGE...]"
	cmd.Args = args(1, -1, "which train? See: tieup trains", "")
	cmd.ValidArgsFunction = completeTrainRanges
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		opts.train, opts.ranges = args[0], args[1:]
		return runPlot(cmd, opts, draw)
	}
	opts.faults.add(cmd)
	flags := cmd.Flags()
	flags.StringVarP(&opts.file, "output", "o", "", "write the drawing to `FILE`, .svg, .png or .pdf")
	flags.StringVar(&opts.size, "size", "",
		"`SIZE` of the drawing: width x height and a unit, such as 24x14cm or, a slide, 1600x900px; a PDF is A4 without it")
	flags.StringVar(&opts.title, "title", "", "`TEXT` in place of the title of the train")
	flags.BoolVar(&opts.dark, "dark", false, "light ink on dark paper")
	flags.BoolVar(&opts.force, "force", false, "overwrite a file that is there")
	freely(cmd, "size", "title")
	complete(cmd, "output", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{"svg", "png", "pdf"}, cobra.ShellCompDirectiveFilterFileExt
	})
	return cmd
}

func runPlot(cmd *cobra.Command, opts *plotOptions, draw drawFunc) error {
	if opts.file == "" {
		return usagef(cmd, "where to? Write -o FILE, with the ending .svg, .png or .pdf")
	}
	format, err := plots.FormatOf(opts.file)
	if err != nil {
		return fmt.Errorf("--output: %w", err)
	}
	style := plots.Style{Title: opts.title, Dark: opts.dark}
	if cmd.Flags().Changed("size") {
		if style.Size, err = plots.ParseSize(opts.size); err != nil {
			return fmt.Errorf("--size: %w", err)
		}
	}
	if err := canSave(opts.file, opts.force); err != nil {
		return err
	}
	t, wrong, err := opts.faults.openTrain(cmd, opts.train)
	if err != nil {
		return err
	}
	ranges, err := opts.rangesOf(t)
	if err != nil {
		return err
	}
	if !opts.byTorque {
		if err := plots.SpeedsAlone(t, ranges, wrong.Faults); err != nil {
			return err
		}
	}
	drawing, err := draw(cmd, analysis.Open(t), analysis.Question{Ranges: ranges, Condition: wrong})
	if err != nil {
		return err
	}
	if format == plots.PDF {
		return savePlot(cmd, opts, opts.file, format, drawing, style)
	}
	sheets, style := plots.Sheets(format, drawing, style)
	for i, sheet := range sheets {
		file := opts.file
		if len(sheets) > 1 {
			ending := filepath.Ext(file)
			file = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(file, ending), i+1, ending)
		}
		if err := savePlot(cmd, opts, file, format, sheet, style); err != nil {
			return err
		}
	}
	return nil
}

// savePlot writes a drawing to a file and names it.
func savePlot(cmd *cobra.Command, opts *plotOptions, file string, format plots.Format, d plots.Drawing,
	style plots.Style) error {
	var b bytes.Buffer
	if err := plots.Write(&b, format, d, style); err != nil {
		return err
	}
	if err := saveFile(file, b.Bytes(), opts.force); err != nil {
		return err
	}
	fmt.Fprintln(cmd.OutOrStdout(), problem.Plain(file))
	return nil
}

// rangesOf returns the ranges that are named, or all.
func (opts *plotOptions) rangesOf(t *kinematics.Train) ([]kinematics.Range, error) {
	if len(t.Ranges) == 0 {
		return nil, fmt.Errorf("%s has no ranges to draw", t.Name)
	}
	if len(opts.ranges) == 0 {
		return t.Ranges, nil
	}
	for i, name := range opts.ranges {
		if slices.Contains(opts.ranges[:i], name) {
			return nil, fmt.Errorf("range %s is named twice", name)
		}
	}
	return findRanges(t, opts.ranges)
}

func newPlotSpeedsCmd() *cobra.Command {
	opts := &plotOptions{}
	var speeds plots.SpeedOptions
	cmd := newPlotKind(&cobra.Command{
		Use:   "speeds",
		Short: "The speed plan: every member, healthy and faulty",
		Long: `Draw the speed plan. Members are parallel axes, as far apart as the teeth put
them, so that within a gearset a range is a straight line; the housing is the
zero line. Members that are free get a bar from one bound to the other. With
faults every range is drawn healthy and faulty.`,
		Example: `  tieup plot speeds simpson-three-speed N --stuck forward -o neutral.svg
  tieup plot speeds lepelletier-six-speed D1 D2 D3 D4 --rpm 4000 -o plan.pdf`,
	}, opts, func(cmd *cobra.Command, a *analysis.Analysis, q question) (plots.Drawing, error) {
		if cmd.Flags().Changed("rpm") && !(speeds.RPM > 0 && speeds.RPM <= 1e6) {
			return nil, usagef(cmd, "--rpm: write a speed above 0, in turns per minute")
		}
		chart, err := a.Chart(cmd.Context(), q)
		if err != nil {
			return nil, err
		}
		plan := plots.SpeedPlan(chart, speeds)
		if n := len(plan.Lines); n > plots.MostLines {
			return nil, fmt.Errorf("these ranges give %d lines, and no more than %d can be told apart: name fewer ranges",
				n, plots.MostLines)
		}
		return plan, nil
	})
	cmd.Flags().Float64Var(&speeds.RPM, "rpm", 0, "give speeds in turns per minute, for `N` of the input")
	cmd.Flags().BoolVar(&speeds.Pinions, "pinions", false, "draw the pinions as well")
	freely(cmd, "rpm")
	return cmd
}

func newPlotLeverCmd() *cobra.Command {
	return newPlotKind(&cobra.Command{
		Use:   "lever",
		Short: "Gearsets as levers, with speeds and torques",
		Long: `Draw gearsets as levers, with what drives, loads, holds and links them, the
speeds beside them and the torques where the load fixes them. A range that ties
up is drawn as the motions that contradict each other.`,
		Example: `  tieup plot lever depot-shuttle-three-speed D1 D2 -o lever.svg
  tieup plot lever simpson-three-speed M2 --stuck direct -o tie-up.png`,
	}, &plotOptions{}, drawn((*analysis.Analysis).Levers, plots.LeverDiagram))
}

func newPlotChartCmd() *cobra.Command {
	return newPlotKind(&cobra.Command{
		Use:   "chart",
		Short: "The application chart with what comes of it",
		Long: `Draw the application chart: what every element does in every range, and what
pulling and coasting do then, healthy and, with faults, faulty.`,
		Example: `  tieup plot chart ravigneaux-four-speed -o chart.pdf
  tieup plot chart simpson-three-speed --fault low-roller=reversed -o chart.svg`,
	}, &plotOptions{byTorque: true}, drawn((*analysis.Analysis).Chart, plots.ApplicationChart))
}

func newPlotFaultsCmd() *cobra.Command {
	return newPlotKind(&cobra.Command{
		Use:   "faults",
		Short: "The wall chart: every single fault in every range",
		Long: `Draw the wall chart: a row for every single fault, a column for every range,
and what the range does then. Faults that are given are there in every row.`,
		Example: `  tieup plot faults depot-shuttle-three-speed -o wall-chart.pdf
  tieup plot faults simpson-three-speed --size 420x594mm -o wall-chart.svg`,
	}, &plotOptions{byTorque: true}, drawn(func(a *analysis.Analysis, ctx context.Context,
		q question) (*analysis.WallChart, error) {
		return a.WallChart(ctx, analysis.WallQuestion{Question: q})
	}, plots.FaultChart))
}

func newPlotLadderCmd() *cobra.Command {
	opts := &plotOptions{}
	var shiftAt []string
	cmd := newPlotKind(&cobra.Command{
		Use:   "ladder",
		Short: "Speeds and slips while accelerating through the ranges",
		Long: `Draw the speed of the input and of every member against the output speed while
the vehicle accelerates through its forward ranges, with the steps between them,
and below how fast released elements slip. Without --shift-at speeds are shares
of the input speed at the shifts.`,
		Example: `  tieup plot ladder depot-shuttle-three-speed --shift-at 2600 -o ladder.svg
  tieup plot ladder interlinked-four-speed --shift-at 4200,4600,5000 -o plan.pdf`,
	}, opts, func(cmd *cobra.Command, a *analysis.Analysis, q question) (plots.Drawing, error) {
		speeds, err := parseSpeeds(shiftAt)
		if err != nil {
			return nil, err
		}
		if len(opts.ranges) == 0 {
			q.Ranges = nil // those that are climbed
		}
		ladder, err := a.Ladder(cmd.Context(), analysis.LadderQuestion{Question: q, ShiftAt: speeds})
		if err != nil {
			return nil, err
		}
		return plots.ShiftLadder(ladder), nil
	})
	cmd.Flags().StringSliceVar(&shiftAt, "shift-at", nil,
		"shift up at these `SPEEDS` of the input in turns per minute: one, or one a shift with commas between them")
	freely(cmd, "shift-at")
	return cmd
}

// parseSpeeds reads turns per minute.
func parseSpeeds(texts []string) ([]float64, error) {
	var speeds []float64
	for _, text := range texts {
		v, ok := parseFloat(text, 0, 1e6)
		if !ok || v == 0 {
			return nil, fmt.Errorf("--shift-at: %s is no speed above 0, in turns per minute", quote(text))
		}
		speeds = append(speeds, v)
	}
	return speeds, nil
}

func newPlotPathCmd() *cobra.Command {
	return newPlotKind(&cobra.Command{
		Use:   "path",
		Short: "The half-section with the loaded path",
		Long: `Draw a schematic half-section: shafts, gearsets, clutches and brakes, made from
the structure of the train, with the loaded path thick and faulty elements
framed.`,
		Example: `  tieup plot path depot-shuttle-three-speed D1 D2 R -o power-flow.pdf
  tieup plot path simpson-three-speed N --stuck forward -o neutral.png`,
	}, &plotOptions{}, drawn((*analysis.Analysis).Explain, plots.HalfSection))
}

func newPlotBreakawayCmd() *cobra.Command {
	ratings := &breakawayOptions{resistance: "0"}
	var upTo string
	cmd := newPlotKind(&cobra.Command{
		Use:   "breakaway",
		Short: "Input torque and what slips, against the resistance",
		Long: `Draw the input torque that turns the standing vehicle against its resistance,
and what slips then, with the points at which something else begins to slip.
Torques and ratings are given as for tieup breakaway.`,
		Example: `  tieup plot breakaway depot-shuttle-three-speed D2 --stuck direct -o d2.svg
  tieup plot breakaway simpson-three-speed R --fault 'direct=weak 0.5' -o r.pdf`,
	}, &plotOptions{byTorque: true}, func(cmd *cobra.Command, a *analysis.Analysis, q question) (plots.Drawing, error) {
		torques, err := ratings.query(a.Train)
		if err != nil {
			return nil, err
		}
		most := 0.0
		if upTo != "" {
			torque, err := parseSomeTorque("up-to", upTo, torques.Scale, a.Train)
			if err != nil {
				return nil, err
			}
			most = torque.Float()
		}
		chains, err := a.Chains(cmd.Context(), q, torques)
		if err != nil {
			return nil, err
		}
		return plots.BreakawayPlan(chains, most), nil
	})
	ratings.addRatings(cmd, "input `TORQUE` that is available (the rated torque if left out)")
	cmd.Flags().StringVar(&upTo, "up-to", "", "draw up to this `TORQUE` of resistance at the output")
	freely(cmd, "up-to")
	return cmd
}
