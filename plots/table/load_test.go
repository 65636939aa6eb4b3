package table

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// carrying answers what ranges of the depot's three-speed carry, without losses.
func carrying(t *testing.T, q analysis.LoadQuestion) Loaded {
	t.Helper()
	a := opened(t, "depot-shuttle-three-speed")
	q.Ranges = a.Train.Ranges
	if !q.Compare {
		i, _ := a.Train.Range("D1")
		q.Ranges = a.Train.Ranges[i : i+1]
	}
	losses := analysis.NoLosses()
	q.Losses = &losses
	answer, err := a.Load(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return Loaded{answer}
}

// cells returns the row of a grid that begins with a name.
func cells(t *testing.T, g *Grid, name string) []string {
	t.Helper()
	i := slices.IndexFunc(g.Rows, func(row []string) bool { return row[0] == name })
	if i < 0 {
		t.Fatalf("no row %q in %q", name, g.Rows)
	}
	return g.Rows[i]
}

// First gear by hand: both carriers' torques sum to the ratio 27/11, so the roller's
// reaction is 27/11 - 1 = 16/11, 363.6 N m of 250; the direct clutch slips by the shell's
// -121/135 less than the turbine, 1 + 121/135 = 256/135, 3413.3 of 1800 rpm.
func TestLoadedCells(t *testing.T) {
	a := carrying(t, analysis.LoadQuestion{Torque: 250, InputRPM: 1800})
	g := a.elementGrid(&page{}, a.Ranges[0].Pulling)
	for _, want := range [][]string{
		{"forward", "turbine, front.ring", "locked", "-250.0", "", "", ""},
		{"direct", "turbine, sun-shell", "open", "", "", "", "+3413.3"},
		{"roller", "rear.carrier, housing", "holds", "+363.6", "", "", ""},
	} {
		if got := cells(t, g, want[0]); !slices.Equal(got, want) {
			t.Errorf("row %q\nwant %q", got, want)
		}
	}
	g = carrying(t, analysis.LoadQuestion{}).elementGrid(&page{}, carrying(t, analysis.LoadQuestion{}).Ranges[0].Pulling)
	if got := cells(t, g, "roller"); got[3] != "+1.4545" || got[4] != "16/11" {
		t.Errorf("per unit the roller carries %q", got)
	}
}

// Side by side each element has where it carries most in front.
func TestLoadedWear(t *testing.T) {
	a := carrying(t, analysis.LoadQuestion{Compare: true})
	e, _ := a.Wear.Elements.Get("low-reverse")
	if got := spots(e.Pulling); got != "3.2000 in R; 0 to 1.4545 in L1" {
		t.Errorf("low-reverse carries %q", got)
	}
	text, _ := written(t, a.Loaded, a)
	if strings.Contains(text, "Efficiencies are with these losses") {
		t.Error("efficiencies without losses are explained")
	}
}

// What is small keeps its figures: 1/1764, a torque of the paradox trains.
func TestSmallTorque(t *testing.T) {
	m := &analysis.Measure{Interval: exact.Between(exact.NewFrac(1, 1764), exact.NewFrac(1, 1764))}
	if got := torques(m); got != "+0.0005669" {
		t.Errorf("1/1764 is written %s", got)
	}
	m.By = 250
	if got := torques(m); got != "+0.1" {
		t.Errorf("250/1764 is written %s", got)
	}
}
