package cli

import (
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tieup/cmd/internal/save"
	"tieup/cmd/internal/serve"
	"tieup/gearsets"
	"tieup/gearsets/appchart"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type fitOptions struct {
	chart  string
	blank  bool
	layout string
	teeth  string
	has    []string
	output string
	force  bool
	wanted string
	within string
	module string
	outer  float64
	format format
}

func newFitCmd() *cobra.Command {
	opts := &fitOptions{}
	cmd := &cobra.Command{
		Use: "fit CHART.csv",
		Long: `Say which train has an application chart and its ratios, and make its train
file.

The chart is a table as spreadsheets write it, ranges in rows, your own letters
for the elements in columns, a mark where one is applied, and the ratio as
printed:

  range; A; B; C; ratio
  1;     x;  ; x; 2,45
  R;      ; x; x; 2,20

Rows that begin with kind, layout, final drive, teeth, speed, ratio as or
rounding say what else is known; --blank prints a form with all of them. The
chart is matched with every train of the library and with its layout without
one-way clutches, at most two cells different. The basic ratios (ring/sun) are
then fitted, and decided exactly: a fit counts only if every ratio lies within
half a unit of the last printed place.

Marks and ratios settle a lever, not a layout: all layouts of one lever are
listed, with what tells them apart. Tooth counts are listed as far as the
figures leave them open; the audit of standard teeth labels them and excludes
none, since real teeth are often profile-shifted. Exit status 1 says that
nothing fits.

With --wanted the search goes the other way: teeth for the layout of a train
that come near wanted ratios, in the order of the best by worst deviation; only
those are listed that no other beats in deviation and in evenness of the steps.
Interrupted, it gives the best so far and says what is proved.`,
		Example: `  tieup fit --blank > mine.csv
  tieup fit mine.csv -o mine.yaml
  tieup fit mine.csv --has front.sun=37
  tieup fit --layout simpson-three-speed --wanted "2.5 1.5 1 -2.1" --within 1%`,
		Args: args(0, 1, "", "fit takes one chart"),
		RunE: opts.run,
	}
	flags := cmd.Flags()
	flags.BoolVar(&opts.blank, "blank", false, "print an empty chart to fill in")
	flags.StringVar(&opts.layout, "layout", "", "only the layout of this `TRAIN` of the library")
	flags.StringVar(&opts.teeth, "teeth", "", "bounds of every tooth count, as `12..120`")
	flags.StringArrayVar(&opts.has, "has", nil, "a tooth count that is known, as `front.sun=37`; repeatable")
	flags.StringVarP(&opts.output, "output", "o", "", "write the train into `FILE`")
	flags.BoolVar(&opts.force, "force", false, "replace FILE if it is there")
	complete(cmd, "layout", oneOf(gearsets.Names()...))
	flags.StringVar(&opts.wanted, "wanted", "",
		"`RATIOS` that are wanted, one for each range of the layout, with a minus for reverse: \"2.5 1.5 1 -2.1\"")
	flags.StringVar(&opts.within, "within", "",
		"how far a ratio may be off what is wanted, as `1%` (2% where it is left out)")
	flags.StringVar(&opts.module, "module", "", "bounds of the module of every set in mm, as `1.25..2.5`; with --outer")
	flags.Float64Var(&opts.outer, "outer", 0,
		"the diameter in `MM` that the largest gear of a set may have; with --module")
	freely(cmd, "wanted", "within", "module", "outer", "teeth", "has")
	addFormat(cmd, &opts.format, "csv")
	return cmd
}

func (opts *fitOptions) run(cmd *cobra.Command, args []string) error {
	switch {
	case opts.blank:
		_, err := fmt.Fprint(cmd.OutOrStdout(), appchart.Blank())
		return err
	case opts.wanted != "" && (len(args) > 0 || opts.layout == ""):
		return usagef(cmd, "--wanted goes with --layout TRAIN, and without a chart")
	case opts.wanted != "":
		return runWanted(cmd, opts)
	case opts.within != "" || opts.module != "" || opts.outer != 0:
		return usagef(cmd, "--within, --module and --outer go with --wanted")
	case len(args) == 0:
		return usagef(cmd, "which chart? Write tieup fit mine.csv; tieup fit --blank prints a form")
	}
	opts.chart = args[0]
	src, err := gearsets.ReadFile(opts.chart, input(cmd))
	if err != nil {
		return err
	}
	trains, err := gearsets.All()
	if err != nil {
		return err
	}
	chart, problems := appchart.Read(opts.chart, src, trains)
	if chart == nil {
		return problems
	}
	fmt.Fprint(cmd.ErrOrStderr(), problems.Excerpts())
	q, err := opts.question(chart, trains)
	if err != nil {
		return err
	}
	answer, err := analysis.Fit(cmd.Context(), q)
	if err != nil {
		return err
	}
	if opts.output != "" && answer.Fits {
		if err := save.Write(opts.output, []byte(answer.File), opts.force); err != nil {
			return err
		}
	}
	if err := opts.format.give(cmd, answer, table.Fitted{FittedChart: answer}); err != nil {
		return err
	}
	if !answer.Fits {
		return errDiffers
	}
	return nil
}

// question asks for the chart.
func (opts *fitOptions) question(chart *analysis.ApplicationChart, trains []*kinematics.Train) (analysis.FitQuestion,
	error) {
	q := analysis.FitQuestion{Chart: chart, Trains: trains, Audit: serve.Audit, Write: gearsets.Write}
	if opts.layout != "" {
		if _, err := gearsets.Library(opts.layout); err != nil {
			return q, fmt.Errorf("--layout: %w", err)
		}
		chart.Layout = opts.layout
	}
	if chart.Name == "" {
		chart.Name = trainName(opts)
	}
	var err error
	if q.Low, q.High, err = opts.bounds(); err != nil {
		return q, err
	}
	q.Has, err = opts.known(q.Trains)
	return q, err
}

// trainName is the name of the fitted train: that of its file, or of the chart.
func trainName(opts *fitOptions) string {
	file := opts.output
	if file == "" {
		file = opts.chart
	}
	name := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	if !kinematics.ValidName(name) {
		return "fitted"
	}
	return name
}

// bounds reads --teeth.
func (opts *fitOptions) bounds() (low, high int64, err error) {
	if opts.teeth == "" {
		return analysis.FewestTeeth, analysis.MostTeeth, nil
	}
	a, b, ok := strings.Cut(opts.teeth, "..")
	low, errLow := strconv.ParseInt(strings.TrimSpace(a), 10, 64)
	high, errHigh := strconv.ParseInt(strings.TrimSpace(b), 10, 64)
	if !ok || errLow != nil || errHigh != nil || low < 4 || high < low || high > 400 {
		return 0, 0, fmt.Errorf("--teeth %s: write the fewest and the most teeth of a gear, such as 12..120, within 4..400",
			quote(opts.teeth))
	}
	return low, high, nil
}

// known reads --has.
func (opts *fitOptions) known(trains []*kinematics.Train) ([]analysis.GearTeeth, error) {
	var list []analysis.GearTeeth
	for _, text := range opts.has {
		member, count, ok := strings.Cut(text, "=")
		n, err := strconv.ParseInt(strings.TrimSpace(count), 10, 64)
		member = strings.TrimSpace(member)
		if !ok || err != nil || n < 1 || n > 100000 {
			return nil, fmt.Errorf("--has %s: write GEAR=TEETH, such as front.sun=37", quote(text))
		}
		if !anyMember(trains, member) {
			return nil, fmt.Errorf("--has %s: no layout has a gear %s", quote(text), quote(member))
		}
		list = append(list, analysis.GearTeeth{Member: member, Count: n})
	}
	return list, nil
}

func anyMember(trains []*kinematics.Train, name string) bool {
	for _, t := range trains {
		if _, ok := t.Member(name); ok {
			return true
		}
	}
	return false
}
