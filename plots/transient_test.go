package plots

import (
	"bytes"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/plot/vg/recorder"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// playing plays a shift of a train with a release and a stuck element, "" for none.
func playing(t *testing.T, train *kinematics.Train, from, to, release, ramp, stuck string) *analysis.Played {
	t.Helper()
	i, ok1 := train.Range(from)
	j, ok2 := train.Range(to)
	if !ok1 || !ok2 {
		t.Fatalf("no ranges %s and %s", from, to)
	}
	step, until := 0.001, 1.5
	q := analysis.PlayQuestion{From: &train.Ranges[i], To: &train.Ranges[j], Step: &step, Until: &until}
	if release != "" {
		e, _ := train.Element(release)
		r, err := kinematics.ParseRamp(ramp)
		if err != nil {
			t.Fatal(err)
		}
		q.Release = map[int]kinematics.Ramp{e: r}
	}
	if stuck != "" {
		e, _ := train.Element(stuck)
		q.Faults = []kinematics.Fault{{Coupling: e, Kind: kinematics.Stuck}}
	}
	a, err := analysis.Open(train).Play(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// The lines of a drawing are the samples of the answer; its marks are the moments
// of the verdict.
func TestShiftInTime(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed").Train
	a := playing(t, train, "D2", "D3", "intermediate", "0.60..0.75", "")
	d, err := ShiftInTime([]*analysis.Played{a}, []string{""})
	if err != nil {
		t.Fatal(err)
	}
	labels := func(p TimePanel) []string {
		var list []string
		for _, l := range p.Lines {
			list = append(list, l.Label)
		}
		return list
	}
	want := [][]string{
		{"turbine, input", "output-shaft, output", "slip of direct", "slip of intermediate", "input, timed"},
		{"output torque", "timed"},
		{"direct", "intermediate"},
	}
	for i, p := range d.Panels {
		if got := labels(p); !equal(got, want[i]) {
			t.Errorf("%s: lines %q, want %q", p.Name, got, want[i])
		}
	}
	if got := []string{d.Strips[0].Label, d.Strips[1].Label}; !equal(got, []string{"direct takes hold", "intermediate lets go"}) {
		t.Errorf("strips %q", got)
	}
	if got := d.Panels[0].Lines[0].Value; !slices.Equal(got, a.Course.Input) {
		t.Errorf("the line of the input is not its course: %v", got[:10])
	}
	m := d.Panels[1].Marks
	if len(m) != 1 || m[0].Time != a.Verdict.LeastAt || m[0].Value != a.Verdict.Least {
		t.Errorf("marks of the torque %v, the least is %g at %g", m, a.Verdict.Least, a.Verdict.LeastAt)
	}
	// A range that ties up is marked where it does; the creep before is no trough.
	tied, err := ShiftInTime([]*analysis.Played{playing(t, train, "N", "R", "", "", "forward")}, []string{""})
	if err != nil {
		t.Fatal(err)
	}
	if m := tied.Panels[0].Marks; len(m) == 0 || m[0].Label != "R ties up" || m[0].Time < 0.35 || m[0].Time > 0.45 || len(tied.Panels[1].Marks) > 0 {
		t.Errorf("marks of the speeds %v, of the torque %v", m, tied.Panels[1].Marks)
	}
	other := playing(t, train, "D1", "D2", "", "", "")
	if _, err := ShiftInTime([]*analysis.Played{a, other}, []string{"a", "b"}); err == nil {
		t.Error("two different shifts are laid over one another")
	}
}

func equal(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// No text of a shift in time lies over another or beyond the edge, and the same
// data give the same bytes.
func TestShiftInTimeIsReadable(t *testing.T) {
	depot, eight := library(t, "depot-shuttle-three-speed").Train, library(t, "four-carrier-eight-speed").Train
	late := playing(t, depot, "D2", "D3", "intermediate", "0.60..0.75", "")
	early := playing(t, depot, "D2", "D3", "intermediate", "0.15..0.25:smooth", "")
	stuck := playing(t, depot, "D2", "D3", "", "", "intermediate")
	for name, list := range map[string][]*analysis.Played{
		"late": {late}, "early": {early}, "stuck": {stuck}, "overlaid": {late, early, stuck},
		"one-way":    {playing(t, depot, "D1", "D2", "", "", "")},
		"engagement": {playing(t, depot, "N", "R", "", "", "forward")},
		"coasting":   {playing(t, depot, "D3", "D3", "", "", "")},
		"eight":      {playing(t, eight, "D4", "D8", "", "", "")},
		"reverse":    {playing(t, eight, "N", "R", "", "", "lock-clutch")},
	} {
		labels := make([]string, len(list))
		for i := range labels {
			labels[i] = []string{"a long name of a late timing of the release", "early", "stuck"}[i]
		}
		d, err := ShiftInTime(list, labels)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range []Style{{}, {Size: Size{Width: 800, Height: 450}}} {
			r := newRuler()
			page := compose(r, d, s)
			var canvas recorder.Canvas
			p := &pen{ruler: r, theme: &light, canvas: &canvas, scale: page.scale, height: page.h}
			page.draw(p)
			edge := box{0, 0, page.w, page.h}
			for i, x := range p.texts {
				if !edge.holds(x.box) {
					t.Errorf("%s: %q is cut at the edge: %v in %v", name, x.text, x.box, edge)
				}
				for _, y := range p.texts[:i] {
					if x.box.overlaps(y.box) {
						t.Errorf("%s: %q overlaps %q: %v and %v", name, x.text, y.text, x.box, y.box)
					}
				}
			}
		}
		var a, b bytes.Buffer
		if err := Write(&a, SVG, d, Style{}); err != nil {
			t.Fatal(err)
		}
		if err := Write(&b, SVG, d, Style{}); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: the same data give other bytes: %v", name, err)
		}
		if a.Len() > 100_000 {
			t.Errorf("%s: %d bytes of SVG", name, a.Len())
		}
	}
}

// A line is thinned to what can be seen: no point that is left out is farther
// from it than a hair.
func TestThin(t *testing.T) {
	var points []point
	for i := range 500 {
		x := float64(i)
		points = append(points, point{x, 40 * math.Sin(x/60)})
	}
	thinned := thin(points, 0.12)
	if len(thinned) > 100 || thinned[0] != points[0] || thinned[len(thinned)-1] != points[499] {
		t.Errorf("%d points are left", len(thinned))
	}
	k := 0
	for _, q := range points {
		for thinned[k+1].x < q.x {
			k++
		}
		a, b := thinned[k], thinned[k+1]
		dx, dy := b.x-a.x, b.y-a.y
		if off := math.Abs((q.x-a.x)*dy-(q.y-a.y)*dx) / math.Hypot(dx, dy); off > 0.13 {
			t.Fatalf("point %v is %g from the line", q, off)
		}
	}
}
