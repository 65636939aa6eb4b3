package plots

import (
	"context"
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// answered asks about ranges under faults.
func answered[A any](
	t *testing.T, sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault,
	ask func(*analysis.Analysis, context.Context, analysis.Question) (A, error),
) A {
	t.Helper()
	answer, err := ask(analysis.Open(sys.Train), context.Background(), analysis.Question{Ranges: ranges, Condition: analysis.Under(faults...)})
	if err != nil {
		t.Fatal(err)
	}
	return answer
}

func explained(t *testing.T, sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault) *analysis.Explained {
	t.Helper()
	return answered(t, sys, ranges, faults, (*analysis.Analysis).Explain)
}

func speedPlan(
	t *testing.T, sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault, o SpeedOptions,
) *Speeds {
	t.Helper()
	return SpeedPlan(answered(t, sys, ranges, faults, (*analysis.Analysis).Chart), o)
}

func leverDiagram(t *testing.T, sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault) *Levers {
	t.Helper()
	return LeverDiagram(answered(t, sys, ranges, faults, (*analysis.Analysis).Levers))
}

func applicationChart(t *testing.T, sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault) *Application {
	t.Helper()
	return ApplicationChart(answered(t, sys, ranges, faults, (*analysis.Analysis).Chart))
}

func halfSection(t *testing.T, sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault) *Sections {
	t.Helper()
	return HalfSection(explained(t, sys, ranges, faults))
}

func faultChart(t *testing.T, sys *solve.System, ranges []kinematics.Range, given []kinematics.Fault) *WallChart {
	t.Helper()
	return FaultChart(answered(t, sys, ranges, given,
		func(a *analysis.Analysis, ctx context.Context, q analysis.Question) (*analysis.WallChart, error) {
			return a.WallChart(ctx, analysis.WallQuestion{Question: q})
		}))
}

func shiftLadder(
	t *testing.T, sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault, shiftAt []float64,
) (*Ladder, error) {
	t.Helper()
	x, err := analysis.Open(sys.Train).Ladder(t.Context(), analysis.LadderQuestion{
		Question: analysis.Question{Ranges: ranges, Condition: analysis.Under(faults...)}, ShiftAt: shiftAt,
	})
	if err != nil {
		return nil, err
	}
	return ShiftLadder(x), nil
}

// What must be said to whoever runs the vehicle stands below every drawing.
func TestCautionsUnderDrawings(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	r, f := ranges(t, sys.Train, "R", "D1"), faults(t, sys.Train, "forward=stuck")
	chart := answered(t, sys, r, f, (*analysis.Analysis).Chart)
	ladder, err := shiftLadder(t, sys, r, f, nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, d := range map[string]Drawing{
		"speeds": SpeedPlan(chart, SpeedOptions{}), "levers": leverDiagram(t, sys, r, f), "chart": ApplicationChart(chart),
		"section": halfSection(t, sys, r, f), "faults": faultChart(t, sys, r, nil), "ladder": ladder,
		"breakaway": BreakawayPlan(answered(t, sys, r, f,
			func(a *analysis.Analysis, ctx context.Context, q analysis.Question) (*analysis.Chains, error) {
				scale := solve.ScaleOf(sys.Train)
				return a.Chains(ctx, q, analysis.Torques{Scale: scale, Available: scale.Rated, Reserve: solve.DefaultReserve()})
			}), 0),
	} {
		h := d.heading()
		footer := h.footer()
		if len(h.cautions) < 2 || footer[len(footer)-1] != reading.StandingLine {
			t.Errorf("%s: cautions %q, footer %q", name, h.cautions, footer)
		}
	}
}

// Below a drawing of a range that faults of the controls can bring to several things stands what
// else it can come to; a chart has a column for each.
func TestOutcomesUnderDrawings(t *testing.T) {
	sys := library(t, "ravigneaux-four-speed")
	var written analysis.WrittenFaults
	if err := written.Add(sys.Train, "S2=stuck-on"); err != nil {
		t.Fatal(err)
	}
	a := analysis.Open(sys.Train)
	q := analysis.Question{Ranges: ranges(t, sys.Train, "M1"), Condition: analysis.InForce(sys.Train, &written)}
	chart, err := a.Chart(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	levers, err := a.Levers(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	for name, d := range map[string]Drawing{
		"speeds": SpeedPlan(chart, SpeedOptions{}), "levers": LeverDiagram(levers), "section": HalfSection(levers.Explained),
	} {
		h := d.heading()
		if first := h.footer()[0]; !strings.Contains(first, "M1 can come to more than one thing") || len(h.cautions) < 3 {
			t.Errorf("%s: %q, cautions %q", name, first, h.cautions)
		}
	}
	drawn := ApplicationChart(chart)
	if heads := drawn.grid().heads; len(heads) != 5 || heads[0] != "M1" || heads[1] != "or" {
		t.Errorf("the chart has columns %q", heads)
	}
	depends := "With S2=stuck-on, M1 can come to more than one thing (depends on what is not known)."
	if footer := drawn.heading().footer(); footer[0] != depends || footer[1] != reading.OrNote+"." {
		t.Errorf("the chart says %q", footer)
	}
}

// A fault that changes nothing in what is shown first has a chart that compares, and a wall
// chart with rows "or" says what these are.
func TestOrInCharts(t *testing.T) {
	sys := library(t, "overdrive-simpson-four-speed")
	var written analysis.WrittenFaults
	if err := written.Add(sys.Train, "valve-34=spring-broken"); err != nil {
		t.Fatal(err)
	}
	q := analysis.Question{Ranges: ranges(t, sys.Train, "D1"), Condition: analysis.InForce(sys.Train, &written)}
	chart, err := analysis.Open(sys.Train).Chart(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	rows := ApplicationChart(chart).grid().rows
	if last := rows[len(rows)-1]; last.name != "what changes" || last.cells[0].text != "nothing" ||
		last.cells[1].text != "wrong ratio, does not roll back" {
		t.Errorf("the last row is %+v", last)
	}
	r := ranges(t, sys.Train, "D1")
	if footer := faultChart(t, sys, r, nil).heading().footer(); !slices.Contains(footer, reading.OrNote+".") {
		t.Errorf("the wall chart says %q", footer)
	}
	wall, err := analysis.Open(sys.Train).WallChart(t.Context(), analysis.WallQuestion{Question: q})
	if err != nil {
		t.Fatal(err)
	}
	rows = FaultChart(wall).grid().rows // what is given comes first, each thing that it comes to
	if rows[0].name != "healthy" || rows[1].name != "valve-34=spring-broken" || rows[2].name != "  or" ||
		rows[1].section != "" || rows[3].section != "elements" || rows[4].name != "  or" {
		t.Errorf("the rows of a given fault: %+v", rows[:5])
	}
	sys = library(t, "simpson-three-speed")
	r = ranges(t, sys.Train, "D1")
	if footer := faultChart(t, sys, r, nil).heading().footer(); slices.Contains(footer, reading.OrNote+".") {
		t.Errorf("the wall chart without controls says %q", footer)
	}
}
