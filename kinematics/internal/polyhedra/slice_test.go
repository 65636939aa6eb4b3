package polyhedra

import (
	"math/big"
	"slices"
	"testing"

	"tieup/kinematics/exact"
)

// bruteSlice bounds y on the motions with x = unit by trying every meeting point
// and every line of the planes of a cone, the coordinate planes among them.
func bruteSlice(zero, nonNegative []Row, k int, x, y Row, unit int64) exact.Interval {
	planes := append(slices.Clip(nonNegative), x)
	for j := range k {
		c := make([]int64, k)
		c[j] = 1
		planes = append(planes, RowOf(c...))
	}
	admits := func(q []*big.Rat) bool {
		return !slices.ContainsFunc(nonNegative, func(r Row) bool { return at(r, q).Sign() < 0 })
	}
	base := func(unit int64) []ratRow {
		rows := []ratRow{ratRowOf(x, unit)}
		for _, r := range zero {
			rows = append(rows, ratRowOf(r, 0))
		}
		return rows
	}
	var lo, hi *big.Rat
	up, down := false, false
	points, lines := base(unit), base(0)
	subsets(len(planes), k, func(chosen []int) {
		with := func(rows []ratRow) []ratRow {
			rows = slices.Clip(rows)
			for _, i := range chosen {
				rows = append(rows, ratRowOf(planes[i], 0))
			}
			return rows
		}
		if q, ok := point(with(points), k); ok && admits(q) {
			v := at(y, q)
			if lo == nil || v.Cmp(lo) < 0 {
				lo = v
			}
			if hi == nil || v.Cmp(hi) > 0 {
				hi = v
			}
		}
		if q, ok := direction(with(lines), k); ok {
			for range 2 {
				if admits(q) {
					up, down = up || at(y, q).Sign() > 0, down || at(y, q).Sign() < 0
				}
				for i := range q {
					q[i] = new(big.Rat).Neg(q[i])
				}
			}
		}
	})
	if lo == nil {
		return exact.None
	}
	r := exact.Interval{Min: exact.Finite(exact.FromRat(lo)), Max: exact.Finite(exact.FromRat(hi))}
	if down {
		r.Min = exact.Bound{Inf: -1}
	}
	if up {
		r.Max = exact.Bound{Inf: 1}
	}
	return r
}

// TestSlice compares both cones with the slices found by brute force.
func TestSlice(t *testing.T) {
	same := func(a, b exact.Interval) bool {
		return a.Empty == b.Empty && (a.Empty || a.Min.Cmp(b.Min) == 0 && a.Max.Cmp(b.Max) == 0)
	}
	empty, bounded, half := 0, 0, 0
	for seed := range sweep(400) {
		d := seeded(seed)
		k := 1 + d.IntN(4)
		zero, nonNegative := d.rows(d.IntN(2), k, 9), d.rows(d.IntN(5), k, 9)
		x, y := d.row(k, 9), d.row(k, 9)
		if x.IsZero() {
			continue
		}
		var fast Cone
		var slow BigCone
		fast.Reset(k)
		slow.Reset(k)
		for _, r := range zero {
			fast.Zero(r)
			slow.Zero(r)
		}
		for _, r := range nonNegative {
			fast.NonNegative(r)
			slow.NonNegative(r)
		}
		fast.Project(x, y)
		slow.Project(x, y)
		for _, unit := range []int{1, -1, 0} {
			want := bruteSlice(zero, nonNegative, k, x, y, int64(unit))
			a, b := fast.Range(), slow.Range()
			if unit != 0 {
				a, b = fast.Slice(unit), slow.Slice(unit)
			}
			if !same(a, want) || !same(b, want) {
				t.Fatalf("seed %d, slice %d: in int64 %v, in math/big %v, by brute force %v", seed, unit, a, b, want)
			}
			switch {
			case want.Empty:
				empty++
			case want.Min.Inf == 0 && want.Max.Inf == 0:
				bounded++
			case want.Min.Inf == 0 || want.Max.Inf == 0:
				half++
			}
		}
	}
	if empty < 20 || bounded < 50 || half < 20 {
		t.Errorf("%d slices are empty, %d bounded, %d on one side", empty, bounded, half)
	}
}
