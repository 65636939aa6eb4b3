package reading_test

import (
	"fmt"
	"math/big"

	"tieup/kinematics"
)

// The oracle reads states by itself: it shares nothing with the engine and knows
// no cones. Meshes, joints and locks are solved in big.Rat, one unknown a member.
// What the one-way clutches leave is found by trying which of them hold: where a
// set of them has no slip and all others slip the free way, whatever moves, lies a
// face of the motions that has no smaller one, and every set of motions that is not
// empty has such a face. Speeds on these faces are the bounds of what can be, unless
// a motion of the right direction leads on for ever.

// A form is a linear form over the coordinates of an oracle.
type form []*big.Rat

func (f form) at(q []*big.Rat) *big.Rat {
	sum := new(big.Rat)
	for i, x := range f {
		sum.Add(sum, new(big.Rat).Mul(x, q[i]))
	}
	return sum
}

func (f form) minus(g form) form {
	d := make(form, len(f))
	for i := range f {
		d[i] = new(big.Rat).Sub(f[i], g[i])
	}
	return d
}

func (f form) neg() form { return zeros(len(f)).minus(f) }

func zeros(n int) form {
	z := make(form, n)
	for i := range z {
		z[i] = new(big.Rat)
	}
	return z
}

// solveRat brings the rows [coefficients | right side] of n unknowns to reduced
// form. It returns one solution and the directions in which it can go on; ok is
// false if there is none.
func solveRat(rows []form, n int) (point form, directions []form, ok bool) {
	pivot := make([]int, 0, n) // of the reduced rows
	done := 0
	for col := range n {
		p := -1
		for i := done; i < len(rows); i++ {
			if rows[i][col].Sign() != 0 {
				p = i
				break
			}
		}
		if p < 0 {
			continue
		}
		rows[done], rows[p] = rows[p], rows[done]
		inverse := new(big.Rat).Inv(rows[done][col])
		for j := range rows[done] {
			rows[done][j] = new(big.Rat).Mul(rows[done][j], inverse)
		}
		for i := range rows {
			if k := rows[i][col]; i != done && k.Sign() != 0 {
				for j := range rows[i] {
					if x := rows[done][j]; x.Sign() != 0 {
						rows[i][j] = new(big.Rat).Sub(rows[i][j], new(big.Rat).Mul(k, x))
					}
				}
			}
		}
		pivot = append(pivot, col)
		done++
	}
	for _, r := range rows[done:] {
		if r[n].Sign() != 0 {
			return nil, nil, false
		}
	}
	point = zeros(n)
	bound := map[int]int{}
	for i, col := range pivot {
		point[col].Set(rows[i][n])
		bound[col] = i
	}
	for col := range n {
		if _, is := bound[col]; is {
			continue
		}
		d := zeros(n)
		d[col].SetInt64(1)
		for i, p := range pivot {
			d[p].Neg(rows[i][col])
		}
		directions = append(directions, d)
	}
	return point, directions, true
}

// motions are what a state admits: a speed for every member over k coordinates,
// and slips that must not be negative.
type motions struct {
	k     int
	speed []form
	needs []form
}

func motionsOf(t *kinematics.Train, st kinematics.State) *motions {
	n := len(t.Members)
	var rows []form
	row := func(terms ...int64) { // member, coefficient, member, coefficient ...
		r := zeros(n + 1)
		for i := 0; i < len(terms); i += 2 {
			r[terms[i]].Add(r[terms[i]], big.NewRat(terms[i+1], 1))
		}
		rows = append(rows, r)
	}
	row(int64(kinematics.Housing), 1)
	for m := range t.Members {
		if t.Members[m].Unknown {
			row(int64(m), 1) // no equation gives it, none needs it
		}
	}
	for _, m := range t.Meshes {
		zb := m.ZB
		if m.Kind != kinematics.External {
			zb = -zb
		}
		row(int64(m.A), m.ZA, int64(m.B), zb, int64(m.Carrier), -m.ZA-zb)
	}
	for i, c := range t.Couplings {
		if st.Modes[i] == kinematics.Locked {
			row(int64(c.A), 1, int64(c.B), -1)
		}
	}
	_, directions, _ := solveRat(rows, n)
	mo := &motions{k: len(directions)}
	for m := range t.Members {
		f := make(form, mo.k)
		for j := range f {
			f[j] = directions[j][m]
		}
		mo.speed = append(mo.speed, f)
	}
	for i := range t.Couplings {
		switch st.Modes[i] {
		case kinematics.Overruns:
			mo.needs = append(mo.needs, mo.slip(t, i))
		case kinematics.Reversed:
			mo.needs = append(mo.needs, mo.slip(t, i).neg())
		}
	}
	return mo
}

func (mo *motions) slip(t *kinematics.Train, i int) form {
	c := &t.Couplings[i]
	return mo.speed[c.A].minus(mo.speed[c.B])
}

// A given asks that a form has a value.
type given struct {
	f form
	v int64
}

// faces returns the smallest faces of the motions with what is given: a point of
// each and its directions, which are the same for all.
func (mo *motions) faces(givens ...given) (points, directions []form) {
	for set := range 1 << len(mo.needs) {
		var rows []form
		add := func(f form, v int64) { rows = append(rows, append(f.minus(zeros(mo.k)), big.NewRat(v, 1))) }
		for _, g := range givens {
			add(g.f, g.v)
		}
		for i, f := range mo.needs {
			if set>>i&1 != 0 {
				add(f, 0)
			}
		}
		point, dirs, ok := solveRat(rows, mo.k)
		for i := 0; ok && i < len(mo.needs); i++ {
			ok = mo.needs[i].at(point).Sign() >= 0
			for _, d := range dirs {
				ok = ok && mo.needs[i].at(d).Sign() == 0
			}
		}
		if ok {
			points, directions = append(points, point), dirs
		}
	}
	return points, directions
}

// A band is a closed interval of speeds; a nil end is open to infinity.
type band struct {
	empty  bool
	lo, hi *big.Rat
}

// of returns the speeds f with what is given.
func (mo *motions) of(f form, givens ...given) band {
	points, _ := mo.faces(givens...)
	if len(points) == 0 {
		return band{empty: true}
	}
	var b band
	for _, p := range points {
		v := f.at(p)
		if b.lo == nil || v.Cmp(b.lo) < 0 {
			b.lo = v
		}
		if b.hi == nil || v.Cmp(b.hi) > 0 {
			b.hi = v
		}
	}
	leads := func(way int64) bool {
		on := []given{{f, way}}
		for _, g := range givens {
			on = append(on, given{g.f, 0})
		}
		points, _ := mo.faces(on...)
		return len(points) > 0
	}
	if leads(1) {
		b.hi = nil
	}
	if leads(-1) {
		b.lo = nil
	}
	return b
}

func (b band) above() bool { return !b.empty && b.lo != nil && b.lo.Sign() > 0 }
func (b band) below() bool { return !b.empty && b.hi != nil && b.hi.Sign() < 0 }
func (b band) zero() bool {
	return !b.empty && b.lo != nil && b.hi != nil && b.lo.Sign() == 0 && b.hi.Sign() == 0
}

// A said is what the definitions of the words make of a state.
type said struct {
	verdict     string // forward, reverse, neutral, output-held, input-held, tie-up
	ratio       *big.Rat
	pull, coast string
}

func (s said) drives() bool { return s.ratio != nil }

// twoPlaces prints the size of a ratio.
func twoPlaces(r *big.Rat) string {
	x, _ := new(big.Rat).Abs(r).Float64()
	if x != 0 && x < 0.1 {
		return fmt.Sprintf("%.3g", x)
	}
	return fmt.Sprintf("%.2f", x)
}

// read reads a state of t.
func read(t *kinematics.Train, st kinematics.State) said {
	mo := motionsOf(t, st)
	sense := int64(t.Forward)
	in, out := mo.speed[st.Input], mo.speed[st.Output]
	vehicle := out
	if sense < 0 {
		vehicle = out.neg()
	}
	pull := mo.of(vehicle, given{in, 1})
	ahead := mo.of(in, given{vehicle, 1})
	back := mo.of(in, given{vehicle, -1})
	var s said
	switch {
	case pull.above():
		s.verdict, s.pull = "forward", "drives forward"
		s.ratio = new(big.Rat).Inv(pull.lo)
	case pull.below():
		s.verdict, s.pull = "reverse", "drives backward"
		s.ratio = new(big.Rat).Inv(pull.hi)
	case pull.zero():
		s.verdict, s.pull = "output-held", "no drive, output held"
	case !pull.empty:
		s.verdict, s.pull = "neutral", "no drive"
	case mo.of(vehicle, given{in, 0}).zero():
		s.verdict, s.pull = "tie-up", "ties up"
	default:
		s.verdict, s.pull = "input-held", "input held"
		if t.Drive == kinematics.Converter {
			s.pull += ": the engine is loaded as in a stall test"
		}
	}
	if !s.drives() {
		s.coast = idle(ahead, back)
		return s
	}
	s.ratio.Mul(s.ratio, big.NewRat(sense, 1)) // input over output, both in the sense of the input
	s.pull += " at " + twoPlaces(s.ratio)
	on, off := ahead, back
	if s.verdict == "reverse" {
		on, off = back, ahead
	}
	s.coast = "freewheels"
	if on.above() {
		s.coast = "engine braking"
		if on.lo.Cmp(new(big.Rat).Abs(s.ratio)) != 0 {
			s.coast += " at " + twoPlaces(on.lo)
		}
	}
	if off.empty {
		s.coast += ", does not roll back"
	}
	return s
}

// idle says how a vehicle rolls that is not driven; ahead and back are the input
// speeds at which it rolls each way.
func idle(ahead, back band) string {
	text := ""
	say := func(s string) {
		if text != "" {
			text += ", "
		}
		text += s
	}
	switch {
	case ahead.empty && back.empty:
		say("does not roll")
	case ahead.empty:
		say("rolls backward only")
	case back.empty:
		say("rolls forward only")
	}
	turns := func(b band, coasting string) {
		if b.above() {
			say(coasting + " turns the engine at " + twoPlaces(b.lo))
		} else if b.below() {
			say(coasting + " turns the engine backward at " + twoPlaces(b.hi))
		}
	}
	turns(ahead, "coasting")
	if ahead.empty {
		turns(back, "coasting")
	} else {
		turns(back, "coasting backward")
	}
	if text == "" {
		return "rolls freely"
	}
	return text
}
