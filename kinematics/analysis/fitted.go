package analysis

import (
	"context"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/fit"
	"tieup/kinematics/reading"
)

// What questions name of the values of package fit.
type (
	// An ApplicationChart is an application chart with ratios.
	ApplicationChart = fit.Chart
	// GearTeeth is the tooth count of a gear.
	GearTeeth = fit.Teeth
)

// The usual bounds of a tooth count.
const (
	FewestTeeth = fit.FewestTeeth
	MostTeeth   = fit.MostTeeth
)

// A FitQuestion asks which train has a chart and its ratios.
type FitQuestion struct {
	Chart  *ApplicationChart
	Trains []*kinematics.Train // whose layouts are tried
	// Low and High bound the teeth of every gear; 0 for the usual bounds. Has are gears
	// whose teeth are known.
	Low, High int64
	Has       []GearTeeth
	Audit     func(*kinematics.Train) []Finding // of the teeth of a train
	Write     func(*kinematics.Train) []byte    // as a train file
}

// mostCandidates is how many tooth counts are listed.
const mostCandidates = 20

// FittedChart is which train has a chart and its ratios. Its document is tieup.fit/1.
type FittedChart struct {
	Schema  string           `json:"schema"`
	Units   Named[string]    `json:"units"`
	Name    string           `json:"name"`
	Fits    bool             `json:"fits"`
	Classes List[FitClass]   `json:"classes"`
	Nearest List[NearLayout] `json:"nearest"`     // where nothing fits
	Cut     *CutMatches      `json:"matches_cut"` // nil where all ways to match were tried
	Notes   List[string]     `json:"notes"`       // on how the chart was read
	File    Name             `json:"train_file"`  // of the first layout, null where nothing fits
}

// A FitClass is one lever with all layouts that have it: neither marks nor ratios can tell
// them apart.
type FitClass struct {
	Freedoms int               `json:"freedoms"`
	Layouts  List[FittedTrain] `json:"layouts"`
}

// Says is what the layouts of the class have alike.
func (c *FitClass) Says() string {
	text := "a lever of " + kinematics.Count(c.Freedoms, "freedom")
	if len(c.Layouts) == 1 {
		return text + "; one layout of the library has it"
	}
	return text + fmt.Sprintf("; %d layouts have it, and neither marks nor ratios can tell them apart", len(c.Layouts))
}

// NoLayout is said where nothing fits.
const NoLayout = "No layout of the library gives these marks and ratios."

// Name names the layout.
func (t *FittedTrain) Name() string { return reading.NameOfLayout(t.Layout, t.Plain) }

// A FittedTrain is a layout with the basic ratios that give the chart's figures.
type FittedTrain struct {
	Layout      string            `json:"layout"` // the train of the library that it comes from
	Plain       bool              `json:"without_its_one_way_clutches"`
	Title       string            `json:"title"`
	Cells       int               `json:"cells_that_differ"`
	Truncated   bool              `json:"truncated"`
	OwnTeeth    bool              `json:"own_teeth_fit"` // the train of the library has all figures as it is
	Columns     Named[Name]       `json:"columns"`       // the element that each is
	Ratios      List[FittedRatio] `json:"basic_ratios"`
	Independent int               `json:"independent_ratios"`
	Cut         bool              `json:"search_cut"`
	Searched    int               `json:"boxes_searched"`
	Solutions   int               `json:"separate_solutions"`
	Rows        List[FittedRow]   `json:"rows"`
	Misprint    Name              `json:"misprint"` // null where none is, or where it is one of several
	// Suspects are figures without which all others agree, and what they give for it: null
	// where they leave it open.
	Suspects    List[Named[any]] `json:"misprint_is_one_of"`
	Differences List[string]     `json:"differences"`
	Remarks     List[string]     `json:"remarks"`
	Settling    List[string]     `json:"settling"`
	Apart       string           `json:"apart"`
	Teeth       *FittedTeeth     `json:"teeth"` // nil but for the first layout
}

// A FittedRatio is what a basic ratio can be.
type FittedRatio struct {
	Name  string     `json:"name"`
	Value exact.Frac `json:"value"`
	Exact exact.Text `json:"value_exact"`
	Min   exact.Frac `json:"min"`
	Max   exact.Frac `json:"max"`
}

// A FittedRow is a figure of the chart beside the fit.
type FittedRow struct {
	Range   string      `json:"range"`
	Member  Name        `json:"member"` // whose speed it is, null for the ratio
	Printed string      `json:"printed"`
	Fitted  *exact.Frac `json:"fitted"`
	Exact   *exact.Text `json:"fitted_exact"`
	// Off is fitted - printed in units of the last printed place.
	Off     *float64 `json:"off_last_places"`
	Fits    bool     `json:"fits"`
	Matched Name     `json:"matched_range"` // of the layout
}

// FittedTeeth are the tooth counts that give all figures.
type FittedTeeth struct {
	Low     int64             `json:"fewest"`
	High    int64             `json:"most"`
	Count   int64             `json:"count"`
	Cut     bool              `json:"cut"`
	Given   Named[int64]      `json:"given"` // teeth that the question gives, which all sets have
	Stepped List[string]      `json:"not_looked_for"`
	First   List[FittedGears] `json:"first"`
}

// FittedGears is one way to have all figures, with the audit of its teeth.
type FittedGears struct {
	Teeth    Named[int64]  `json:"teeth"`
	Sum      int64         `json:"sum"`
	Doubts   int64         `json:"doubts"`        // conditions that most sets keep and this one fails
	Small    Named[int64]  `json:"small_pinions"` // of simple sets, with fewer teeth than a gear usually has
	Warnings List[Finding] `json:"audit_warnings"`
}

// Audit names what the audit of the teeth finds, "ok" for nothing.
func (g *FittedGears) Audit() string { return auditText(g.Warnings, g.Small) }

// A NearLayout is a layout that comes near a chart and does not fit it.
type NearLayout struct {
	Layout string `json:"layout"`
	Cells  *int   `json:"cells_that_differ"`
	Row    Name   `json:"first_row_refused"`
	Text   string `json:"text"`
}

// CutMatches says which layouts match a chart in more ways than were tried.
type CutMatches struct {
	Tried   int          `json:"tried"` // of each layout, for each count of cells that differ
	Layouts List[string] `json:"layouts"`
	Text    string       `json:"text"`
}

// Fit answers which train has a chart and its ratios.
func Fit(ctx context.Context, q FitQuestion) (*FittedChart, error) {
	if q.Low == 0 {
		q.Low = FewestTeeth
	}
	if q.High == 0 {
		q.High = MostTeeth
	}
	answer, err := fit.Fit(ctx, q.Chart, fit.Layouts(q.Trains))
	if err != nil {
		return nil, err
	}
	found := answer.Fitted
	notes := append(reading.FitFinal(answer, q.Chart), reading.FitPassed(q.Chart)...)
	if answer.ReadingsCut && len(found) > 0 {
		notes = append(notes, reading.FitReadingsCut)
	}
	q.Chart = answer.Chart
	name := q.Chart.Name
	if name == "" {
		name = "fitted"
	}
	x := &FittedChart{Schema: "tieup.fit/1", Units: document.Texts("basic_ratios", "teeth / teeth",
		"off_last_places", "units of the last printed place"),
		Name: name, Fits: len(found) > 0, Notes: notes}
	if len(answer.Cut) > 0 {
		x.Cut = &CutMatches{Tried: fit.MostMatches, Text: reading.FitCut(answer.Cut)}
		x.Cut.Layouts = kinematics.Map(answer.Cut, reading.FitLayout)
	}
	for _, c := range fit.Classes(found) {
		class := FitClass{Freedoms: c.Freedoms}
		for i, t := range c.Tell() {
			class.Layouts = append(class.Layouts, fittedTrain(q.Chart, c.Fits[i], t))
		}
		x.Classes = append(x.Classes, class)
	}
	if !x.Fits {
		if text := reading.FitUnnamed(q.Chart); text != "" {
			x.Notes = append(x.Notes, text)
		}
		x.refused(q.Chart, answer.Near)
		return x, nil
	}
	return x, x.first(ctx, q, fit.Classes(found)[0].Fits[0])
}

// mostNear is how many layouts are listed that do not fit.
const mostNear = 5

func (x *FittedChart) refused(c *ApplicationChart, near []fit.Refusal) {
	for _, r := range near[:min(len(near), mostNear)] {
		n := NearLayout{Layout: r.Layout.Train.Name, Text: reading.FitRefusal(c, r),
			Cells: document.If(r.Cells, r.Cells >= 0)}
		if r.Row >= 0 {
			n.Row = Name(c.Rows[r.Row].Name)
		}
		x.Nearest = append(x.Nearest, n)
	}
}

// first makes the train of the first fit, with its teeth where only one candidate is left.
func (x *FittedChart) first(ctx context.Context, q FitQuestion, f *fit.Fitted) error {
	candidates, err := f.Candidates(ctx, fit.TeethQuestion{Low: q.Low, High: q.High, Has: q.Has, Show: mostCandidates})
	if err != nil {
		return err
	}
	t := &x.Classes[0].Layouts[0]
	t.Teeth = &FittedTeeth{Low: q.Low, High: q.High, Count: candidates.Count, Cut: candidates.Cut,
		Stepped: candidates.Stepped}
	for _, h := range slices.Concat(q.Chart.Teeth, q.Has) {
		if f.Layout.HasGear(h.Member) {
			t.Teeth.Given.Add(h.Member, h.Count)
		}
	}
	for i := range candidates.First {
		gears, err := x.gears(q, f, &candidates.First[i])
		if err != nil {
			return err
		}
		t.Teeth.First = append(t.Teeth.First, gears)
	}
	var only *fit.Candidate
	if candidates.Count == 1 && !candidates.Cut {
		only = &candidates.First[0]
	}
	made, err := f.Make(x.Name, only)
	if err != nil {
		return fmt.Errorf("the train cannot be written: %w", err)
	}
	t.Remarks = kinematics.Map(made.Remarks, reading.FitRemark)
	for _, h := range q.Has {
		if !f.Layout.HasGear(h.Member) {
			t.Remarks = append(t.Remarks, reading.FitRemark(fit.Remark{Kind: fit.TeethNotUsed, Name: h.Member}))
		}
	}
	x.File = Name(q.Write(made.Train))
	return nil
}

func (x *FittedChart) gears(q FitQuestion, f *fit.Fitted, c *fit.Candidate) (FittedGears, error) {
	g := FittedGears{Sum: c.Sum, Doubts: c.Doubts}
	for _, t := range c.Teeth {
		g.Teeth.Add(t.Member, t.Count)
	}
	made, err := f.Make(x.Name, c)
	if err != nil {
		return g, err
	}
	g.Small = smallPinions(made.Train, g.Teeth, q.Low)
	for _, finding := range q.Audit(made.Train) {
		if finding.Fails {
			g.Warnings = append(g.Warnings, finding)
		}
	}
	return g, nil
}

// smallPinions are the pinions of simple sets with chosen teeth that have fewer than a gear usually
// has, or than were asked for.
func smallPinions(t *kinematics.Train, chosen Named[int64], fewest int64) (small Named[int64]) {
	for i := range t.Gearsets {
		set := &t.Gearsets[i]
		if !set.Kind.Facts().SunAndRing() || !slices.ContainsFunc(chosen, func(e Entry[int64]) bool {
			return strings.HasPrefix(e.Name, set.Name+".")
		}) {
			continue
		}
		n := max(set.Gears[0].Teeth-set.Gears[1].Teeth, set.Gears[1].Teeth-set.Gears[0].Teeth) / 2
		if n < max(FewestTeeth, fewest) {
			small.Add(set.Name, n)
		}
	}
	return small
}

func fittedTrain(c *ApplicationChart, f *fit.Fitted, t fit.Telling) FittedTrain {
	l := f.Layout
	x := FittedTrain{Layout: l.Train.Name, Plain: l.Plain, Title: l.Train.Title, Cells: f.Cells, Truncated: f.Truncated,
		OwnTeeth: f.OwnTeeth,

		Independent: f.Rank, Cut: f.Cut, Searched: f.Searched, Solutions: len(f.Boxes), Apart: reading.FitApart(c, t)}
	for k, e := range f.Columns {
		name := Name("")
		if e >= 0 {
			name = Name(l.Train.Couplings[e].Name)
			switch {
			case f.Behind[k]:
				name = "one-way clutch behind " + name
			case f.Beside[k]:
				name = "one-way clutch beside " + name
			}
		}
		x.Columns.Add(c.Columns[k].Name, name)
	}
	for i := range f.Unknowns {
		r := FittedRatio{Name: f.RatioName(i), Value: f.At[i], Exact: exact.Text{Frac: f.At[i]}}
		r.Min, r.Max = f.Range(i)
		x.Ratios = append(x.Ratios, r)
	}
	for i := range f.Rows {
		x.Rows = append(x.Rows, fittedRow(c, f, i))
	}
	for _, s := range f.SpeedFits() {
		row := FittedRow{Range: c.Rows[s.Row].Name, Member: Name(s.Member), Printed: s.Speed.Text}
		row.beside(s.Fitted, &s.Speed)
		row.Fits = s.Row != f.Misprint
		x.Rows = append(x.Rows, row)
	}
	for _, s := range f.Suspects {
		open := math.IsInf(s.Most, 1)
		x.Suspects = append(x.Suspects, document.Object("range", c.Rows[s.Row].Name, "printed", c.Rows[s.Row].Ratio.Text,
			"others_give_least", document.If(s.Least, !open), "others_give_most", document.If(s.Most, !open)))
	}
	if len(f.Suspects) > 0 {
		x.Differences = append(x.Differences, reading.FitMisprint(c, f.Suspects))
	}
	if len(f.Suspects) == 1 {
		x.Misprint = Name(c.Rows[f.Misprint].Name)
	}
	for _, d := range f.Differences {
		x.Differences = append(x.Differences, reading.FitDifference(c, l, d, f.Sure()))
	}
	letters := func(e int) string {
		for k, own := range f.Columns {
			if own == e && !f.Beside[k] {
				return c.Columns[k].Name
			}
		}
		return l.Train.Couplings[e].Name
	}
	x.Settling = kinematics.Map(f.Settling, func(s fit.Settling) string { return reading.FitSettling(l, s, letters) })
	return x
}

func fittedRow(c *ApplicationChart, f *fit.Fitted, i int) FittedRow {
	row := &c.Rows[f.Rows[i].Row]
	x := FittedRow{Range: row.Name, Printed: row.Ratio.Text}
	if f.Rows[i].Range >= 0 {
		x.Matched = Name(f.Layout.Train.Ranges[f.Rows[i].Range].Name)
	}
	ratio := f.Ratio(i)
	if ratio == nil {
		return x
	}
	if c.OutIn {
		ratio.Inv(ratio)
	}
	x.beside(ratio, row.Ratio)
	x.Fits = f.Rows[i].Row != f.Misprint
	return x
}

// beside puts a fitted number beside the printed one.
func (x *FittedRow) beside(fitted *big.Rat, printed *fit.Printed) {
	if fitted == nil {
		return
	}
	v := exact.FromRat(fitted)
	x.Fitted, x.Exact = &v, &exact.Text{Frac: v}
	off := v.Sub(printed.Value).Mul(exact.FromRat(new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10),
		big.NewInt(int64(printed.Places)), nil)))).Float()
	if printed.Value.Sign() < 0 {
		off = -off
	}
	x.Off = &off
}

// Decided says how far the bounds of the basic ratios are proved.
func (t *FittedTrain) Decided() []string {
	line := fmt.Sprintf("No value outside these bounds gives all figures (%d %s searched).", t.Searched,
		kinematics.Plural(t.Searched, "box", "boxes"))
	if t.Cut {
		line = fmt.Sprintf("The search was cut after %d boxes: no value outside these bounds fits, but they may be wide.",
			t.Searched)
	}
	if t.Solutions > 1 {
		return []string{line, fmt.Sprintf("There are %d separate solutions within them.", t.Solutions)}
	}
	return []string{line}
}

// TeethFound says how many sets of teeth give the figures, of teeth that were looked for.
func (t *FittedTrain) TeethFound() []string {
	x, figures := t.Teeth, "all figures"
	if len(t.Suspects) > 0 {
		figures = "all other figures"
	}
	bounds := fmt.Sprintf("%d to %d teeth a gear", x.Low, x.High)
	sets := kinematics.Count(int(x.Count), "set")
	line := fmt.Sprintf("Teeth: %s of %s %s %s exactly.", sets, bounds, kinematics.Plural(int(x.Count), "gives", "give"),
		figures)
	switch {
	case len(x.Stepped) > 0:
		line = "Teeth: not looked for in " + kinematics.And(x.Stepped) + ": steps can be cut in too many ways."
	case x.Cut:
		line = fmt.Sprintf("Teeth: at least %s of %s give %s; the search was cut.", sets, bounds, figures)
	case x.Count == 0:
		with := ""
		if len(x.Given) > 0 {
			with = " with " + kinematics.And(kinematics.Map(x.Given, func(e Entry[int64]) string {
				return fmt.Sprintf("%s=%d", e.Name, e.Value)
			})) + " as given"
		}
		line = fmt.Sprintf("Teeth: no set of %s%s gives %s (--teeth widens the bounds).", bounds, with, figures)
	}
	if n := len(x.First); n > 0 && int64(n) < x.Count {
		first := x.First[0].Teeth[0]
		return []string{line, fmt.Sprintf("The first %d, those with the least to doubt before those with fewer teeth; "+
			"--has %s=%d narrows them:", n, first.Name, first.Value)}
	}
	return []string{line}
}
