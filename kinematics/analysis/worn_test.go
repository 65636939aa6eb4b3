package analysis_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

func wearOf(t *testing.T, q analysis.WearQuestion, faults ...string) (*analysis.Analysis, *analysis.Worn) {
	t.Helper()
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range faults {
		f, err := kinematics.ParseFault(train, text)
		if err != nil {
			t.Fatal(err)
		}
		q.Faults = append(q.Faults, f)
	}
	q.RPM, q.Seconds, q.Torques = 1000, 10, wearTorques()
	a := analysis.Open(train)
	for i, r := range q.Ranges { // of the same train
		q.Ranges[i] = rangeOf(t, train, r.Name)
	}
	for i, s := range q.Shifts {
		q.Shifts[i] = [2]*kinematics.Range{rangeOf(t, train, s[0].Name), rangeOf(t, train, s[1].Name)}
	}
	x, err := a.Wear(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return a, x
}

func wearTorques() analysis.Torques {
	rated := exact.Int(250)
	return analysis.Torques{Scale: analysis.Scale{NewtonMetres: true, Rated: rated}, Reserve: exact.NewFrac(3, 2), Available: rated,
		Resistance: exact.Int(0)}
}

func rangeOf(t *testing.T, train *kinematics.Train, name string) *kinematics.Range {
	t.Helper()
	i, ok := train.Range(name)
	if !ok {
		t.Fatalf("no range %s", name)
	}
	return &train.Ranges[i]
}

func named(name string) *kinematics.Range { return &kinematics.Range{Name: name} }

// The forward clutch welded, driven in R. By hand: sun and ring of the front set turn
// together by the forward and direct clutches, so that the front carrier, which is the
// output, turns with them, and the rear carrier, held by low-reverse, would make it turn
// backward. Standing on the throttle the direct clutch is the weaker; rolling forward the
// rear set turns as one and drags its carrier through low-reverse.
func TestWearOfWeldedForward(t *testing.T) {
	a, x := wearOf(t, analysis.WearQuestion{Ranges: []*kinematics.Range{named("R")}, Shifts: [][2]*kinematics.Range{}}, "forward=stuck")
	takes := map[string]string{"R, throttle open, wheels free": "direct", "R, rolling forward, throttle closed": "low-reverse"}
	for _, m := range x.Motions {
		if want := takes[m.Says]; want != "" {
			delete(takes, m.Says)
			if l, ok := m.Loads.Get(want); !ok || l.Share != 1 {
				t.Errorf("%s: %s does not take all", m.Says, want)
			}
		}
	}
	if len(takes) > 0 {
		t.Errorf("not found: %v", takes)
	}
	if x.Parts[0].Part != "direct" || x.Parts[1].Part != "low-reverse" {
		t.Errorf("parts %+v", x.Parts)
	}
	balance(t, x)

	// What breakaway reports of the same range.
	b, err := a.Breakaway(context.Background(), analysis.BreakawayQuestion{
		Range: rangeOf(t, a.Train, "R"), Condition: analysis.Under(x.Faults[0].Fault), Torques: wearTorques()})
	if err != nil {
		t.Fatal(err)
	}
	direct, _ := a.Train.Coupling("direct")
	heat := b.Standing.Optima[0].Heat[slices.Index(b.Standing.Optima[0].Slips, direct)]
	l, _ := x.Motions[0].Loads.Get("direct")
	near(t, "direct", l.Heat.Max, heat.Float()*1000*2*math.Pi/60*10)
}

// balance: what is put in at the end that is moved is what the parts take, where the
// other end takes nothing.
func balance(t *testing.T, x *analysis.Worn) {
	t.Helper()
	checked := 0
	for _, m := range x.Motions {
		if m.Needs == nil || m.Kind == "loading" {
			continue
		}
		checked++
		heat := 0.0
		for _, l := range m.Loads {
			heat += l.Value.Heat.Max
		}
		near(t, m.Says, heat, *m.Needs*x.RPM*2*math.Pi/60*x.Seconds)
	}
	if checked == 0 {
		t.Error("nothing balanced")
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*math.Abs(want) || want == 0 {
		t.Errorf("%s: %.12g J, want %.12g", what, got, want)
	}
}

// A band that takes hold late and slowly from third to second takes the heat of the
// shift; its heat is what transient reports, and what its course adds up to.
func TestWearOfMistimedShift(t *testing.T) {
	late := map[int]kinematics.Ramp{}
	train, _ := gearsets.Library("depot-shuttle-three-speed")
	band, _ := train.Element("intermediate")
	late[band] = kinematics.Ramp{Start: 0.6, End: 1.4, Shape: kinematics.Line}
	q := analysis.WearQuestion{Ranges: []*kinematics.Range{}, Shifts: [][2]*kinematics.Range{{named("D3"), named("D2")}}, Apply: late}
	a, x := wearOf(t, q)
	if len(x.Parts) == 0 || x.Parts[0].Part != "intermediate" {
		t.Fatalf("parts %+v", x.Parts)
	}
	p, err := a.Play(context.Background(), analysis.PlayQuestion{From: rangeOf(t, a.Train, "D3"), To: rangeOf(t, a.Train, "D2"),
		Apply: late, Ratings: &analysis.Ratings{Rated: 250, Reserve: exact.NewFrac(3, 2)}})
	if err != nil {
		t.Fatal(err)
	}
	l, _ := x.Motions[0].Loads.Get("intermediate")
	e, _ := p.Elements.Get("intermediate")
	near(t, "transient", l.Heat.Max, e.Heat)
	track, _ := p.Course.Elements.Get("intermediate")
	sum := 0.0
	for _, h := range track.Heat {
		sum = max(sum, h)
	}
	near(t, "its course", l.Heat.Max, sum)
}

// A weak band slips where it is loaded, though nothing slips without a load.
func TestWearOfWeakBand(t *testing.T) {
	_, x := wearOf(t, analysis.WearQuestion{Shifts: [][2]*kinematics.Range{}}, "intermediate=weak 0.5")
	if len(x.Parts) != 1 || x.Parts[0].Part != "intermediate" || x.Parts[0].Where != "D2, pulling hard" || !x.Parts[0].Happens {
		t.Errorf("parts %+v", x.Parts)
	}
	if len(x.Mend) != 1 {
		t.Errorf("mend %v", x.Mend)
	}
	if _, sound := wearOf(t, analysis.WearQuestion{Shifts: [][2]*kinematics.Range{}}); len(sound.Parts) != 0 {
		t.Errorf("a sound train wears: %+v", sound.Parts)
	}
}
