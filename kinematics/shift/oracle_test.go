package shift_test

import (
	"context"
	"fmt"
	"math/big"
	"os"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

// The oracle of this file judges shifts as the package comment defines them,
// and shares nothing with the package or the engine below it: it plays every
// order in which the couplings can change, one after another, and finds where
// the input settles after each step from the equations of the whole train in
// math/big.

// span returns the least and the greatest input speed of a state while the
// output turns at out; nil is without end. ok is false if it cannot turn so.
//
// Unknowns are the speeds of all members. Equations are eliminated first, then
// all unknowns but the input from the inequalities (Fourier and Motzkin).
func span(t *kinematics.Train, st kinematics.State, out int64) (lo, hi *big.Rat, ok bool) {
	n := len(t.Members)
	in := int(st.Input)
	row := func(terms ...int64) []*big.Rat { // member, coefficient, ...; n is the constant
		r := make([]*big.Rat, n+1)
		for i := range r {
			r[i] = new(big.Rat)
		}
		for i := 0; i < len(terms); i += 2 {
			r[terms[i]].Add(r[terms[i]], big.NewRat(terms[i+1], 1))
		}
		return r
	}
	last := int64(n)
	equal := [][]*big.Rat{row(0, 1), row(int64(st.Output), 1, last, -out)}
	for _, m := range t.Meshes {
		zb := m.Kind.Sign() * m.ZB
		equal = append(equal, row(int64(m.A), m.ZA, int64(m.B), zb, int64(m.Carrier), -m.ZA-zb))
	}
	var atLeast [][]*big.Rat // >= 0
	for i, c := range t.Couplings {
		a, b := int64(c.A), int64(c.B)
		switch st.Modes[i] {
		case kinematics.Locked:
			equal = append(equal, row(a, 1, b, -1))
		case kinematics.Overruns:
			atLeast = append(atLeast, row(a, 1, b, -1))
		case kinematics.Reversed:
			atLeast = append(atLeast, row(a, -1, b, 1))
		}
	}
	addTo := func(r, s []*big.Rat, k *big.Rat) {
		for i := range r {
			r[i].Add(r[i], new(big.Rat).Mul(k, s[i]))
		}
	}
	order := []int{} // every unknown, the input last
	for j := range n {
		if j != in {
			order = append(order, j)
		}
	}
	order = append(order, in)
	used := make([]bool, len(equal))
	left := map[int]bool{}
	for _, j := range order {
		p := -1
		for i, r := range equal {
			if !used[i] && r[j].Sign() != 0 {
				p = i
				break
			}
		}
		if p < 0 {
			left[j] = true
			continue
		}
		used[p] = true
		for _, r := range append(slices.Clone(equal), atLeast...) {
			if &r[0] != &equal[p][0] && r[j].Sign() != 0 {
				k := new(big.Rat).Quo(r[j], equal[p][j])
				addTo(r, equal[p], k.Neg(k))
			}
		}
	}
	for i, r := range equal {
		if !used[i] && r[n].Sign() != 0 {
			return nil, nil, false
		}
	}
	for j := range n {
		if j == in || !left[j] {
			continue
		}
		var next [][]*big.Rat
		for _, r := range atLeast {
			if r[j].Sign() == 0 {
				next = append(next, r)
			}
			for _, s := range atLeast {
				if r[j].Sign() > 0 && s[j].Sign() < 0 {
					sum := row()
					addTo(sum, r, new(big.Rat).Inv(r[j]))
					addTo(sum, s, new(big.Rat).Inv(new(big.Rat).Neg(s[j])))
					next = append(next, sum)
				}
			}
		}
		atLeast = next
	}
	if !left[in] { // an equation fixes the input
		for i, r := range equal {
			if used[i] && r[in].Sign() != 0 {
				v := new(big.Rat).Quo(r[n], r[in])
				lo, hi = v.Neg(v), v
			}
		}
	}
	for _, r := range atLeast {
		b := new(big.Rat)
		if r[in].Sign() != 0 {
			b.Quo(r[n], r[in])
			b.Neg(b)
		}
		switch r[in].Sign() {
		case 0:
			if r[n].Sign() < 0 {
				return nil, nil, false
			}
		case 1:
			if lo == nil || b.Cmp(lo) > 0 {
				lo = b
			}
		case -1:
			if hi == nil || b.Cmp(hi) < 0 {
				hi = b
			}
		}
	}
	return lo, hi, lo == nil || hi == nil || lo.Cmp(hi) <= 0
}

// endless stands for a speed without end: above any ratio of the library.
var endless = big.NewRat(1<<40, 1)

// A player keeps the spans it has found.
type player struct {
	train *kinematics.Train
	known map[string]found
}

type found struct {
	lo, hi *big.Rat
	ok     bool
}

// speed is where the input settles in a state, nil if the state ties up.
func (p *player) speed(st kinematics.State, way solve.Verdict, pulling bool) *big.Rat {
	out := int64(p.train.Forward)
	if way == solve.Reverse {
		out = -out
	}
	key := fmt.Sprintf("%d %d %d %d", st.Modes, st.Input, st.Output, out)
	x, seen := p.known[key]
	if !seen {
		x.lo, x.hi, x.ok = span(p.train, st, out)
		p.known[key] = x
	}
	lo, hi := x.lo, x.hi
	switch {
	case !x.ok || hi != nil && hi.Sign() <= 0:
		return nil
	case pulling && hi == nil:
		return endless
	case pulling:
		return hi
	case lo == nil || lo.Sign() < 0:
		return new(big.Rat)
	}
	return lo
}

// play changes couplings one after another in every order and returns whether
// some early, some late and some other order does harm, and whether any order
// at all does none.
func (p *player) play(from, to kinematics.State, way solve.Verdict, pulling bool) (early, late, mixed, any bool) {
	first, second := p.speed(from, way, pulling), p.speed(to, way, pulling)
	least, most := first, second
	if least.Cmp(most) > 0 {
		least, most = most, least
	}
	var changing []int
	onComing := map[int]bool{}
	for i := range from.Modes {
		if from.Modes[i] != to.Modes[i] {
			changing = append(changing, i)
			onComing[i] = from.Modes[i] == kinematics.Open || to.Modes[i] == kinematics.Locked
		}
	}
	harm := func(st kinematics.State) bool {
		v := p.speed(st, way, pulling)
		return v == nil || v.Cmp(least) < 0 || v.Cmp(most) > 0
	}
	var walk func(st kinematics.State, rest []int, done []int, harmed bool)
	walk = func(st kinematics.State, rest, done []int, harmed bool) {
		if len(rest) == 0 {
			lastOn, firstOff, lastOff, firstOn := -1, len(done), -1, len(done)
			for n, i := range done {
				if onComing[i] {
					lastOn, firstOn = n, min(firstOn, n)
				} else {
					lastOff, firstOff = n, min(firstOff, n)
				}
			}
			isEarly, isLate := lastOn < firstOff, lastOff < firstOn
			early = early || isEarly && harmed
			late = late || isLate && harmed
			mixed = mixed || !isEarly && !isLate && harmed
			any = any || !harmed
			return
		}
		for n, i := range rest {
			next := st.Clone()
			next.Modes[i] = to.Modes[i]
			remaining := slices.Delete(slices.Clone(rest), n, n+1)
			walk(next, remaining, append(slices.Clone(done), i), harmed || len(remaining) > 0 && harm(next))
		}
	}
	walk(from, changing, nil, false)
	return early, late, mixed, any
}

// TestOracle judges the shifts of the library under every single fault by
// playing every order: of one train in three unless TIEUP_EXHAUSTIVE is set.
func TestOracle(t *testing.T) {
	trains := []*kinematics.Train{twoSets(t)}
	all := os.Getenv("TIEUP_EXHAUSTIVE") != ""
	for i, name := range gearsets.Names() {
		if i%3 != 0 && !all {
			continue
		}
		trains = append(trains, library(t, name))
	}
	counts := map[shift.Verdict]int{}
	ordered := 0
	for _, train := range trains {
		cases := [][]kinematics.Fault{nil}
		if !testing.Short() || train.Name == "simpson-three-speed" {
			for _, f := range train.SingleFaults() {
				cases = append(cases, []kinematics.Fault{f})
			}
		}
		finder := shift.NewPredictor(solve.Compile(train))
		oracle := &player{train, map[string]found{}}
		for _, p := range finder.Pairs() {
			for _, faults := range cases {
				s := finder.Shift(context.Background(), p, faults...)
				if s.Standing || len(s.Changes) > 4 {
					continue
				}
				from, to := train.In(&train.Ranges[p.From], faults...), train.In(&train.Ranges[p.To], faults...)
				for _, pulling := range []bool{true, false} {
					v := &s.Coasting
					if pulling {
						v = &s.Pulling
					}
					counts[v.Verdict]++
					name := train.Name + " " + s.Name() + " " + reading.FaultsIn(train, faults)
					first, second := oracle.speed(from, s.Way, pulling), oracle.speed(to, s.Way, pulling)
					if bound := first == nil || second == nil; bound || first == endless || second == endless {
						idle := first == endless || second == endless
						if v.Verdict <= shift.Timed || bound && !idle && v.Verdict > shift.BoundBefore && v.Verdict != shift.WrongWay {
							t.Errorf("%s, pulling %v: %v, but the ranges settle at %v and %v", name, pulling, v.Verdict, first, second)
						}
						continue
					}
					early, late, _, any := oracle.play(from, to, s.Way, pulling)
					want := shift.SafeEitherWay
					switch {
					case early && late:
						want = shift.Timed
					case early:
						want = shift.SafeIfLate
					case late:
						want = shift.SafeIfEarly
					case first.Cmp(second) == 0:
						want = shift.Same
					}
					if v.Verdict != want || want == shift.Timed && any != (v.Order != nil) {
						t.Errorf("%s, pulling %v: %v with order %v, the oracle says %v, safe order %v", name, pulling, v.Verdict, v.Order, want, any)
					}
					if v.Order != nil {
						ordered++
					}
				}
			}
		}
	}
	for _, v := range []shift.Verdict{shift.Same, shift.SafeEitherWay, shift.SafeIfEarly, shift.SafeIfLate, shift.Timed,
		shift.BoundAnyway, shift.BoundThroughout, shift.BoundBefore, shift.LosesDrive, shift.TakesHold, shift.NeitherDrives} {
		if counts[v] == 0 && all && !testing.Short() {
			t.Errorf("no shift of the library is %v", v)
		}
	}
	if ordered == 0 {
		t.Error("no timed shift of the library has a safe order")
	}
}

// TestSpan checks the oracle itself: ring 60, sun 30, ring to carrier 3/2 with
// the sun held, and a one-way clutch in its place.
func TestSpan(t *testing.T) {
	b := kinematics.NewBuilder("span")
	b.Simple("set", 30, 60, 0, false)
	b.Element("brake", kinematics.Brake, "set.sun", kinematics.HousingName)
	b.Element("roller", kinematics.OneWay, "set.sun", kinematics.HousingName)
	b.Element("lock", kinematics.Clutch, "set.sun", "set.ring")
	b.Ports("set.ring", "set.carrier")
	train := build(t, b)
	text := func(r *big.Rat) string {
		if r == nil {
			return "none"
		}
		return r.RatString()
	}
	for _, c := range []struct {
		apply, want string
		out         int64
	}{
		{"", "none 3/2", 1},
		{"", "none -3/2", -1},
		{"brake", "3/2 3/2", 1},
		{"lock", "1 1", 1},
		{"lock", "no", -1},
		{"brake lock", "no", 1},
	} {
		var apply []int
		for _, name := range strings.Fields(c.apply) {
			e, _ := train.Element(name)
			apply = append(apply, e)
		}
		lo, hi, ok := span(train, train.Applying(apply...), c.out)
		got := text(lo) + " " + text(hi)
		if !ok {
			got = "no"
		}
		if got != c.want {
			t.Errorf("with %q at output %d: %s, want %s", c.apply, c.out, got, c.want)
		}
	}
}
