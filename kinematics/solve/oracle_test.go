package solve_test

import (
	"math/big"
	"slices"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// The oracle answers the same questions as the engine and shares nothing with
// it: the whole system, a speed per member and a row per mesh and lock, is
// solved by Gauss-Jordan elimination in math/big, and the inequalities of the
// one-way clutches are projected by Fourier-Motzkin elimination. The engine
// merges, works in integers and generates its cones by vertices instead.
//
// It is slow (some hundred microseconds a state) and meant to be read.

// affine is c0 q0 + c1 q1 + ... + c, the constant last: a speed, or a slip that
// must not be negative, over the coordinates q of the oracle.
type affine []big.Rat

func (f affine) clone() affine {
	g := make(affine, len(f))
	for i := range f {
		g[i].Set(&f[i])
	}
	return g
}

// addMul adds k g to f.
func (f affine) addMul(k *big.Rat, g affine) {
	var p big.Rat
	for i := range g {
		if g[i].Sign() != 0 {
			f[i].Add(&f[i], p.Mul(k, &g[i]))
		}
	}
}

// constant says whether no coordinate has a coefficient in f.
func (f affine) constant() bool { return f.first() == len(f)-1 }

// first returns the first coordinate that has a coefficient, len(f)-1 if none.
func (f affine) first() int {
	for i := range f[:len(f)-1] {
		if f[i].Sign() != 0 {
			return i
		}
	}
	return len(f) - 1
}

func minus(f, g affine) affine {
	d := f.clone()
	d.addMul(big.NewRat(-1, 1), g)
	return d
}

// An oracle is the set of motions that a state allows.
type oracle struct {
	speed    []affine // per member; nil for a member no equation gives
	needs    []affine // each >= 0
	forward  int64
	in, out  kinematics.MemberID
	couple   []kinematics.Coupling
	mobility int // the number of coordinates
	empty    bool
	train    *kinematics.Train
}

func rat(n int64) *big.Rat { return big.NewRat(n, 1) }

// newOracle solves meshes and locks of state st of t.
func newOracle(t *kinematics.Train, st kinematics.State) *oracle {
	n := len(t.Members)
	var rows []affine
	row := func(terms ...int64) { // member, coefficient, member, coefficient ...
		r := make(affine, n+1)
		for i := 0; i < len(terms); i += 2 {
			r[terms[i]].Add(&r[terms[i]], rat(terms[i+1]))
		}
		rows = append(rows, r)
	}
	row(int64(kinematics.Housing), 1)
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
	o := &oracle{
		speed: make([]affine, n), forward: int64(t.Forward),
		in: st.Input, out: st.Output, couple: t.Couplings, train: t,
	}
	pivotRow := gaussJordan(rows, n)
	coordinate := make([]int, n)
	for m := range n {
		if pivotRow[m] == nil && !t.Members[m].Unknown {
			coordinate[m] = o.mobility
			o.mobility++
		}
	}
	for m := range n {
		if t.Members[m].Unknown {
			continue
		}
		f := make(affine, o.mobility+1)
		if r := pivotRow[m]; r == nil {
			f[coordinate[m]].SetInt64(1)
		} else {
			for k := range n {
				if k != m && r[k].Sign() != 0 {
					f[coordinate[k]].Neg(&r[k])
				}
			}
		}
		o.speed[m] = f
	}
	for i := range t.Couplings {
		switch st.Modes[i] {
		case kinematics.Overruns:
			o.needs = append(o.needs, o.slip(i))
		case kinematics.Reversed:
			s := make(affine, o.mobility+1)
			s.addMul(rat(-1), o.slip(i))
			o.needs = append(o.needs, s)
		}
	}
	return o
}

// gaussJordan reduces rows of n unknowns and returns, for every unknown, the
// row it is the pivot of, with coefficient 1, or nil.
func gaussJordan(rows []affine, n int) []affine {
	pivotRow := make([]affine, n)
	for i, r := range rows {
		p := r.first()
		if p == n {
			continue
		}
		inv := new(big.Rat).Inv(&r[p])
		for k := range r {
			if r[k].Sign() != 0 {
				r[k].Mul(&r[k], inv)
			}
		}
		for j, s := range rows {
			if j != i && s[p].Sign() != 0 {
				s.addMul(new(big.Rat).Neg(&s[p]), r)
			}
		}
		pivotRow[p] = r
	}
	return pivotRow
}

// slip is wA - wB of coupling i.
func (o *oracle) slip(i int) affine {
	return minus(o.speed[o.couple[i].A], o.speed[o.couple[i].B])
}

// where returns the motions of o in which f is v.
func (o *oracle) where(f affine, v *big.Rat) *oracle {
	g := f.clone()
	last := len(g) - 1
	g[last].Sub(&g[last], v)
	j := g.first()
	r := *o
	if j == last {
		r.empty = o.empty || g[last].Sign() != 0
		return &r
	}
	r.speed = substitute(o.speed, g, j)
	r.needs = substitute(o.needs, g, j)
	return &r
}

// substitute eliminates coordinate j from fs by the equation g = 0.
func substitute(fs []affine, g affine, j int) []affine {
	out := make([]affine, len(fs))
	for i, f := range fs {
		if f == nil {
			continue
		}
		out[i] = f.clone()
		if f[j].Sign() != 0 {
			k := new(big.Rat).Quo(&f[j], &g[j])
			out[i].addMul(k.Neg(k), g)
		}
	}
	return out
}

// A span is a closed interval of rationals; nil is an infinite end.
type span struct {
	empty  bool
	lo, hi *big.Rat
}

func (s span) String() string {
	end := func(r *big.Rat, inf string) string {
		if r == nil {
			return inf
		}
		return r.RatString()
	}
	if s.empty {
		return "empty"
	}
	return "[" + end(s.lo, "-inf") + ", " + end(s.hi, "inf") + "]"
}

// times returns the span multiplied by sign, which is +1 or -1.
func (s span) times(sign int64) span {
	if s.empty || sign > 0 {
		return s
	}
	neg := func(r *big.Rat) *big.Rat {
		if r == nil {
			return nil
		}
		return new(big.Rat).Neg(r)
	}
	return span{lo: neg(s.hi), hi: neg(s.lo)}
}

func (s span) isPoint() bool {
	return !s.empty && s.lo != nil && s.hi != nil && s.lo.Cmp(s.hi) == 0
}

func (s span) isZero() bool { return s.isPoint() && s.lo.Sign() == 0 }

func (s span) above() bool { return !s.empty && s.lo != nil && s.lo.Sign() > 0 }
func (s span) below() bool { return !s.empty && s.hi != nil && s.hi.Sign() < 0 }

// of returns the values that f takes in the motions of o. A new coordinate
// t = f is added, all others are eliminated, and the bounds of t read off.
func (o *oracle) of(f affine) span {
	if o.empty {
		return span{empty: true}
	}
	widen := func(f affine) affine {
		g := make(affine, len(f)+1)
		last := len(f) - 1
		for i := range f[:last] {
			g[i].Set(&f[i])
		}
		g[last+1].Set(&f[last])
		return g
	}
	t := len(f) - 1
	equal := widen(f)
	equal[t].SetInt64(-1)
	needs := make([]affine, len(o.needs))
	for i, n := range o.needs {
		needs[i] = widen(n)
	}
	needs = substitute(needs, equal, equal.first())
	needs = project(needs, t)
	var s span
	if f.constant() {
		s.lo, s.hi = new(big.Rat).Set(&f[t]), new(big.Rat).Set(&f[t])
	}
	for _, n := range needs {
		c, k := &n[t], &n[t+1]
		if c.Sign() == 0 {
			s.empty = s.empty || k.Sign() < 0
			continue
		}
		b := new(big.Rat).Quo(k, c)
		b.Neg(b)
		if c.Sign() > 0 && (s.lo == nil || b.Cmp(s.lo) > 0) {
			s.lo = b
		} else if c.Sign() < 0 && (s.hi == nil || b.Cmp(s.hi) < 0) {
			s.hi = b
		}
	}
	if s.lo != nil && s.hi != nil && s.lo.Cmp(s.hi) > 0 {
		s.empty = true
	}
	if s.empty {
		return span{empty: true}
	}
	return s
}

// project eliminates every coordinate but keep from needs (Fourier 1826,
// Motzkin 1936, from memory): where a coordinate has coefficients of both
// signs, every pair of opposite rows is added so that it cancels.
func project(needs []affine, keep int) []affine {
	if len(needs) == 0 {
		return nil
	}
	left := map[int]bool{}
	for j := range needs[0][:len(needs[0])-1] {
		if j != keep {
			left[j] = true
		}
	}
	for len(left) > 0 {
		// The coordinate that makes the fewest new rows comes first; the result
		// does not depend on the order.
		best, fewest := -1, -1
		for j := range left {
			pos, neg := 0, 0
			for _, n := range needs {
				switch n[j].Sign() {
				case 1:
					pos++
				case -1:
					neg++
				}
			}
			if cost := pos*neg - pos - neg; best < 0 || cost < fewest || cost == fewest && j < best {
				best, fewest = j, cost
			}
		}
		delete(left, best)
		needs = distinct(eliminate(needs, best))
	}
	return needs
}

func eliminate(needs []affine, j int) []affine {
	var pos, neg, out []affine
	for _, n := range needs {
		switch n[j].Sign() {
		case 1:
			pos = append(pos, n)
		case -1:
			neg = append(neg, n)
		default:
			out = append(out, n)
		}
	}
	for _, p := range pos {
		for _, n := range neg {
			k := new(big.Rat).Quo(&p[j], &n[j])
			sum := p.clone()
			sum.addMul(k.Neg(k), n)
			out = append(out, sum)
		}
	}
	return out
}

// distinct scales each row to a first coefficient of +1 or -1 and keeps, of
// those that differ in the constant only, the strictest.
func distinct(needs []affine) []affine {
	var out []affine
	for _, n := range needs {
		last := len(n) - 1
		if j := n.first(); j < last {
			k := new(big.Rat).Abs(&n[j])
			for i := range n {
				n[i].Quo(&n[i], k)
			}
		} else if n[last].Sign() >= 0 {
			continue // always true
		}
		same := slices.IndexFunc(out, func(o affine) bool {
			for i := range o[:last] {
				if o[i].Cmp(&n[i]) != 0 {
					return false
				}
			}
			return true
		})
		switch {
		case same < 0:
			out = append(out, n)
		case n[last].Cmp(&out[same][last]) < 0:
			out[same] = n
		}
	}
	return out
}

// answer is what the definitions of [solve.Outcome] say of a state.
type answer struct {
	verdict                     solve.Verdict
	pull, coastForward, coastBk span
	rollsForward, rollsBackward bool
	inputBackward               bool
	ratio                       *big.Rat // nil when the state does not drive
	brakes, rolls               bool     // on the coast that belongs to the verdict
	brakeRatio                  *big.Rat
}

func (o *oracle) answer() answer {
	// slice returns the speeds of member m while member by turns at v.
	slice := func(m, by kinematics.MemberID, v int64) span {
		at := o.where(o.speed[by], rat(v))
		return at.of(at.speed[m])
	}
	rest := slice(o.out, o.in, 0).times(o.forward)
	a := answer{
		pull:          slice(o.out, o.in, 1).times(o.forward),
		coastForward:  slice(o.in, o.out, o.forward),
		coastBk:       slice(o.in, o.out, -o.forward),
		rollsForward:  rest.hi == nil || rest.hi.Sign() > 0,
		rollsBackward: rest.lo == nil || rest.lo.Sign() < 0,
		inputBackward: !slice(o.out, o.in, -1).empty,
	}
	switch {
	case a.pull.empty && rest.isZero():
		a.verdict = solve.TieUp
	case a.pull.empty:
		a.verdict = solve.InputHeld
	case a.pull.above():
		a.verdict = solve.Forward
		a.ratio = rat(o.forward)
		a.ratio.Quo(a.ratio, a.pull.lo)
	case a.pull.below():
		a.verdict = solve.Reverse
		a.ratio = rat(o.forward)
		a.ratio.Quo(a.ratio, a.pull.hi)
	case a.pull.isZero():
		a.verdict = solve.OutputHeld
	default:
		a.verdict = solve.Neutral
	}
	coast, outputTurns := a.coastForward, o.forward
	if a.verdict == solve.Reverse {
		coast, outputTurns = a.coastBk, -o.forward
	}
	a.rolls = !coast.empty
	a.brakes = coast.above()
	if a.brakes {
		a.brakeRatio = new(big.Rat).Quo(coast.lo, rat(outputTurns))
	}
	return a
}

// operating returns the motions at the operating point of a [solve.Motion]:
// input speed, output speed (nil if free) and the oracle restricted to them.
func (o *oracle) operating(a answer) (input int64, output *big.Rat, at *oracle) {
	switch a.verdict {
	case solve.TieUp:
		output = rat(0)
	case solve.OutputHeld:
		input, output = 1, rat(0)
	case solve.Neutral:
		input = 1
	case solve.Forward, solve.Reverse:
		input, output = 1, new(big.Rat).Inv(a.ratio)
	}
	at = o.where(o.speed[o.in], rat(input))
	if output != nil {
		at = at.where(at.speed[o.out], output)
	}
	return input, output, at
}

// fixed returns the motions of o with every one-way clutch that never slips in
// any motion of o locked, so that what turns as one has one and the same form.
func (o *oracle) fixed() *oracle {
	r := o
	for i := range o.needs {
		if s := o.of(o.needs[i]); s.isZero() {
			r = r.where(r.needs[i], rat(0))
		}
	}
	return r
}

func equalSpan(s span, i exact.Interval) bool {
	if s.empty || i.Empty {
		return s.empty == i.Empty
	}
	end := func(r *big.Rat, b exact.Bound, inf int8) bool {
		if r == nil || b.Inf != 0 {
			return r == nil && b.Inf == inf
		}
		return r.Cmp(b.Frac.Rat()) == 0
	}
	return end(s.lo, i.Min, -1) && end(s.hi, i.Max, 1)
}

// text shows an interval of the engine as the oracle's are shown.
func text(i exact.Interval) string {
	if i.Empty {
		return "empty"
	}
	return "[" + i.Min.String() + ", " + i.Max.String() + "]"
}

// compareOutcome reports every difference between the oracle and the engine.
func compareOutcome(t testing.TB, a answer, o solve.Outcome) {
	t.Helper()
	if a.verdict != o.Verdict {
		t.Errorf("verdict %v, the oracle says %v", o.Verdict, a.verdict)
	}
	for _, x := range []struct {
		what   string
		oracle span
		engine exact.Interval
	}{{"pull", a.pull, o.Pull}, {"coast forward", a.coastForward, o.CoastForward}, {"coast backward", a.coastBk,
		o.CoastBackward}} {
		if !equalSpan(x.oracle, x.engine) {
			t.Errorf("%s %s, the oracle says %v", x.what, text(x.engine), x.oracle)
		}
	}
	for _, x := range []struct {
		what           string
		oracle, engine bool
	}{
		{"rolls forward", a.rollsForward, o.RollsForward},
		{"rolls backward", a.rollsBackward, o.RollsBackward},
		{"input backward", a.inputBackward, o.InputBackward},
		{"nothing turns", a.pull.empty && a.coastForward.empty && a.coastBk.empty && !a.inputBackward,
			o.NothingTurns()},
	} {
		if x.oracle != x.engine {
			t.Errorf("%s %v, the oracle says %v", x.what, x.engine, x.oracle)
		}
	}
	ratio, drives := o.Ratio()
	if drives != (a.ratio != nil) || drives && ratio.Rat().Cmp(a.ratio) != 0 {
		t.Errorf("ratio %v, %v, the oracle says %v", ratio, drives, a.ratio)
	}
	brake, brakes, rolls := o.EngineBraking()
	if rolls != a.rolls || brakes != a.brakes || brakes && brake.Rat().Cmp(a.brakeRatio) != 0 {
		t.Errorf("engine braking %v, %v, rolls %v, the oracle says %v, %v, %v", brake, brakes, rolls,
			a.brakeRatio, a.brakes, a.rolls)
	}
}

// residualLimit bounds [solve.Motion.Residual] and the error of a float speed
// against its exact value, relative to the largest speed of the motion.
const residualLimit = 1e-9

// compareMotion reports every difference at the operating point.
func compareMotion(t testing.TB, o *oracle, a answer, m *solve.Motion) {
	t.Helper()
	compareOutcome(t, a, m.Outcome)
	input, output, at := o.operating(a)
	if int64(m.At.Input) != input || m.At.OutputFree != (output == nil) ||
		output != nil && m.At.Output.Rat().Cmp(output) != 0 {
		t.Errorf("at input %d, output %v (free %v), the oracle says %d, %v", m.At.Input, m.At.Output,
			m.At.OutputFree, input, output)
	}
	compareSpeeds(t, at, m.Members, m.Slips)
	compareGroups(t, o, m.Groups)
	if !(m.Residual <= residualLimit) {
		t.Errorf("residual %g", m.Residual)
	}
}

// compareStates checks what the engine says of every coupling, and that each
// body a user can name is in a group.
func compareStates(t testing.TB, train *kinematics.Train, a answer, m *solve.Motion) {
	t.Helper()
	for i, member := range train.Members {
		_, solid := newOracle(train, m.State).fixed().solid(kinematics.MemberID(i))
		if none := member.Unknown && !solid || member.Kind == kinematics.JointHub; none != (m.Groups[i] == -1) {
			t.Errorf("member %d is in group %d", i, m.Groups[i])
		}
	}
	_, _, at := newOracle(train, m.State).operating(a)
	for i, mode := range m.State.Modes {
		s := at.of(at.slip(i))
		want := solve.StateFree
		switch {
		case mode == kinematics.Open:
			want = solve.StateOpen
		case mode == kinematics.Locked:
			want = solve.StateLocked
		case s.above() || s.below():
			want = solve.StateOverrunning
		case s.isZero():
			want = solve.StateIdle
			without := m.State.Clone()
			without.Modes[i] = kinematics.Open
			b := newOracle(train, without).answer()
			if b.verdict != a.verdict || a.ratio != nil && a.ratio.Cmp(b.ratio) != 0 {
				want = solve.StateHolding
			}
		}
		if m.States[i] != want {
			t.Errorf("coupling %d is %v, the oracle says %v", i, m.States[i], want)
		}
	}
}

// solid returns the carrier of a pinion of unknown teeth if all gears of its set
// turn with the carrier in every motion, so that whatever meshes the pinion does.
func (o *oracle) solid(m kinematics.MemberID) (carrier kinematics.MemberID, ok bool) {
	for _, set := range o.train.Gearsets {
		for _, p := range set.Pinions {
			if p.Member != m || set.Across() || !o.train.Members[m].Unknown {
				continue
			}
			for _, g := range set.Gears {
				if !o.of(minus(o.speed[g.Member], o.speed[set.Carrier])).isZero() {
					return 0, false
				}
			}
			return set.Carrier, true
		}
	}
	return 0, false
}

// compareSpeeds compares bounds and floats of all members and slips.
func compareSpeeds(t testing.TB, at *oracle, members, slips []solve.Speed) {
	t.Helper()
	largest := 1.0
	for _, s := range members {
		if v, one := s.Point(); one {
			largest = max(largest, v.Float(), -v.Float())
		}
	}
	check := func(what string, i int, want span, got solve.Speed) {
		t.Helper()
		if !equalSpan(want, got.Interval) {
			t.Errorf("%s %d turns at %s, the oracle says %v", what, i, text(got.Interval), want)
			return
		}
		if got.Free() == want.isPoint() {
			t.Errorf("%s %d: free is %v at %v", what, i, got.Free(), want)
		}
		if !want.isPoint() {
			if got.Float == got.Float { // not NaN
				t.Errorf("%s %d has the float %g but is free", what, i, got.Float)
			}
			return
		}
		exact, _ := want.lo.Float64()
		if d := got.Float - exact; !(max(d, -d) <= residualLimit*largest) {
			t.Errorf("%s %d has the float %g, the oracle says %v", what, i, got.Float, want)
		}
	}
	for i, f := range at.speed {
		want := span{empty: true}
		if c, solid := at.solid(kinematics.MemberID(i)); solid {
			f = at.speed[c]
		}
		if f != nil {
			want = at.of(f)
		}
		check("member", i, want, members[i])
	}
	for i := range at.couple {
		check("slip", i, at.of(at.slip(i)), slips[i])
	}
}

// compareGroups checks what turns as one in every motion of the state.
func compareGroups(t testing.TB, o *oracle, groups []int) {
	t.Helper()
	f := o.fixed()
	for a, fa := range f.speed {
		if groups[a] < 0 || fa == nil {
			continue
		}
		for b := range a {
			if groups[b] < 0 || f.speed[b] == nil {
				continue
			}
			d := minus(fa, f.speed[b])
			asOne := d.constant() && d[len(d)-1].Sign() == 0
			if asOne != (groups[a] == groups[b]) {
				t.Errorf("members %d and %d turn as one: %v, but groups %d and %d", b, a, asOne, groups[b], groups[a])
			}
		}
	}
	if groups[kinematics.Housing] != 0 {
		t.Errorf("the housing is in group %d", groups[kinematics.Housing])
	}
}

// TestOracle checks the oracle itself on cones small enough to see by hand.
func TestOracle(t *testing.T) {
	// Coordinates x, y, z; motions x >= 0, y >= x, z >= y, 2x + 4 >= z.
	row := func(c ...int64) affine {
		f := make(affine, len(c))
		for i := range c {
			f[i].SetInt64(c[i])
		}
		return f
	}
	o := &oracle{
		speed: []affine{row(1, 0, 0, 0), row(0, 1, 0, 0), row(0, 0, 1, 0), row(0, 1, -1, 0), row(-2, 0, 1, 0),
			row(0, 0, 0, 7)},
		needs: []affine{row(1, 0, 0, 0), row(-1, 1, 0, 0), row(0, -1, 1, 0), row(2, 0, -1, 4)},
	}
	const x, y, z, yz, z2x, seven = 0, 1, 2, 3, 4, 5
	type at struct {
		form  int
		value int64
	}
	for _, c := range []struct {
		at   []at
		form int
		want string
	}{
		{nil, x, "[0, inf]"},
		{nil, yz, "[-inf, 0]"}, // y - z: 0 at y = z; without end along z = 2x, y = x
		{nil, z2x, "[-inf, 4]"},
		{nil, seven, "[7, 7]"},
		{[]at{{x, 1}}, y, "[1, 6]"},
		{[]at{{x, 1}}, z, "[1, 6]"},
		{[]at{{x, 1}, {y, 2}}, z, "[2, 6]"},
		{[]at{{x, 1}, {z, 6}, {y, 6}}, yz, "[0, 0]"},
		{[]at{{x, 1}, {z, 6}, {y, 7}}, y, "empty"},
		{[]at{{x, -1}}, y, "empty"},
		{[]at{{seven, 8}}, y, "empty"},
	} {
		o := o
		for _, a := range c.at {
			o = o.where(o.speed[a.form], rat(a.value))
		}
		if got := o.of(o.speed[c.form]).String(); got != c.want {
			t.Errorf("at %v form %d takes %s, want %s", c.at, c.form, got, c.want)
		}
	}
}
