package transient

import (
	"math"
	"slices"
	"testing"

	"tieup/kinematics"
)

// Couplings that hold the same member share its load in any way without strain;
// what one cannot take, another must.
func TestSharing(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name              string
		rows              [][]float64
		x, lo, hi         []float64
		wantLow, wantHigh []float64
	}{
		{"brake beside a one-way clutch", [][]float64{{1, 0}, {1, 0}, {0, 1}}, []float64{60, 40, 5}, []float64{-200, 0, -9}, []float64{200, inf, 9},
			[]float64{0, 0, 5}, []float64{100, 100, 5}},
		{"weak brake beside a one-way clutch", [][]float64{{1, 0}, {1, 0}}, []float64{10, 90}, []float64{-30, 0}, []float64{30, inf},
			[]float64{0, 70}, []float64{30, 100}},
		{"two weak brakes", [][]float64{{1}, {1}}, []float64{50, 50}, []float64{-60, -70}, []float64{60, 70},
			[]float64{30, 40}, []float64{60, 70}},
		{"three weak brakes", [][]float64{{1}, {1}, {1}}, []float64{50, 30, 20}, []float64{-60, -60, -60}, []float64{60, 60, 60},
			[]float64{0, 0, 0}, []float64{60, 60, 60}},
		// A clutch over two others in a row: w0-w2 = (w0-w1) + (w1-w2).
		{"clutch over two", [][]float64{{1, -1}, {0, 1}, {1, 0}}, []float64{20, 20, 10}, []float64{-inf, -inf, -inf}, []float64{inf, inf, inf},
			[]float64{0, 0, 0}, []float64{30, 30, 30}},
		{"nothing shared", [][]float64{{1, 0}, {0, 1}}, []float64{3, 4}, []float64{-5, -5}, []float64{5, 5}, []float64{3, 4}, []float64{3, 4}},
	} {
		chosen := make([]int, len(c.rows))
		for i := range chosen {
			chosen[i] = i
		}
		low, high := slices.Clone(c.x), slices.Clone(c.x)
		for _, p := range newSharings(c.rows, chosen) {
			for _, i := range p.chosen {
				p.x, p.lo, p.hi = append(p.x, c.x[i]), append(p.lo, c.lo[i]), append(p.hi, c.hi[i])
			}
			least, most := p.bounds()
			for k, i := range p.chosen {
				low[i], high[i] = least[k], most[k]
			}
		}
		for i := range c.x {
			if math.Abs(low[i]-c.wantLow[i]) > 1e-9 || math.Abs(high[i]-c.wantHigh[i]) > 1e-9 {
				t.Errorf("%s: %v to %v, want %v to %v", c.name, low, high, c.wantLow, c.wantHigh)
				break
			}
		}
	}
}

// Pairs of clutches in a row share each within itself, however many pairs there are;
// where one set of couplings can share in too many ways none is looked for.
func TestManySharings(t *testing.T) {
	const pairs = 40
	var rows [][]float64
	var chosen []int
	for k := range pairs {
		row := make([]float64, pairs)
		row[k] = 1
		rows, chosen = append(rows, row, row), append(chosen, 2*k, 2*k+1)
	}
	parts := newSharings(rows, chosen)
	if len(parts) != pairs {
		t.Fatalf("%d sets share, want %d", len(parts), pairs)
	}
	for k, p := range parts {
		if p.many() || len(p.chosen) != 2 || p.chosen[0]/2 != p.chosen[1]/2 {
			t.Errorf("set %d: %v", k, p.chosen)
		}
	}
	rows, chosen = nil, nil
	for a := range 12 { // a clutch between every two of twelve shafts
		for b := range a {
			row := make([]float64, 12)
			row[a], row[b] = 1, -1
			rows, chosen = append(rows, row), append(chosen, len(rows))
		}
	}
	if parts := newSharings(rows, chosen); len(parts) != 1 || !parts[0].many() {
		t.Errorf("a clique: %d sets, want one with too many ways", len(parts))
	}
}

// Friction fades; what has no limit ends with the start of a ramp and begins with
// its end.
func TestLaw(t *testing.T) {
	r := kinematics.Ramp{Start: 1, End: 2, Shape: kinematics.Line}
	for _, c := range []struct {
		name     string
		from, to span
		at       float64
		want     span
	}{
		{"before", friction(100), open, 1, friction(100)},
		{"on the way", friction(100), open, 1.25, friction(75)},
		{"after", friction(100), open, 2, open},
		{"up to more", friction(20), friction(100), 1.5, friction(60)},
		{"lets go without limit", rigid, open, 1.01, open},
		{"takes hold without limit", open, rigid, 1.99, open},
		{"holds without limit", open, rigid, 2, rigid},
		{"one-way switched in", open, overruns, 1.99, open},
		{"one-way is seized", overruns, rigid, 1.5, overruns},
		{"one-sided", friction(100).clip(1), open, 1.5, span{0, 50}},
	} {
		l := law{from: c.from, to: c.to, ramp: r}
		same := func(a, b float64) bool { return a == b || math.Abs(a-b) < 1e-12 }
		if got := l.at(c.at); !same(got.lo, c.want.lo) || !same(got.hi, c.want.hi) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
