package solve

import (
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// A Prover writes certificates of one state: motions from the generators of its
// cone, and multipliers of one-way clutches from the duals of programs. The
// multipliers of meshes and of what is locked then follow from a linear system over
// the speeds of all members.
type Prover struct {
	Certificate certify.Certificate

	s      *System
	st     kinematics.State
	basis  *basis
	column []int // of each member, -1 for the housing and where no speed is known
	width  int   // columns of members; one more is for the values that are given
	ways   []int // one-way clutches
	base   *echelon
}

// Prover returns a prover for a state.
func (s *System) Prover(st kinematics.State) *Prover {
	p := &Prover{s: s, st: st, basis: s.basisOf(st.Modes), column: make([]int, len(s.Train.Members))}
	for m := range p.column {
		if p.column[m] = -1; m != int(kinematics.Housing) && !s.Train.Members[m].Unknown {
			p.column[m] = p.width
			p.width++
		}
	}
	var rows [][]exact.Frac
	for _, m := range s.Train.Meshes {
		row, za, zb := p.row(), exact.Int(m.ZA), exact.Int(m.Kind.Sign()*m.ZB)
		p.at(row, m.A, za)
		p.at(row, m.B, zb)
		p.at(row, m.Carrier, za.Add(zb).Neg())
		rows = append(rows, row)
	}
	for i, mode := range st.Modes {
		row := p.row()
		switch mode {
		case kinematics.Locked:
			p.addSlip(row, i, exact.Int(1))
		case kinematics.Overruns, kinematics.Reversed:
			p.ways = append(p.ways, i)
		}
		rows = append(rows, row)
	}
	p.base = newEchelon(rows)
	return p
}

func (p *Prover) row() []exact.Frac { return zeros(p.width + 1) }

// at adds a coefficient of a member.
func (p *Prover) at(row []exact.Frac, m kinematics.MemberID, x exact.Frac) {
	if c := p.column[m]; c >= 0 {
		row[c] = row[c].Add(x)
	}
}

// addSlip adds a multiple of the slip of coupling i.
func (p *Prover) addSlip(row []exact.Frac, i int, x exact.Frac) {
	p.at(row, p.s.Train.Couplings[i].A, x)
	p.at(row, p.s.Train.Couplings[i].B, x.Neg())
}

// A linear is a linear function of the speeds of some members.
type linear map[kinematics.MemberID]exact.Frac

// over returns it over the coordinates of the basis and t, times a whole number.
func (p *Prover) over(f linear, t exact.Frac) polyhedra.Row {
	sum := make([]*big.Rat, p.basis.k+1)
	for j := range sum {
		sum[j] = new(big.Rat)
	}
	sum[p.basis.k] = t.Rat()
	for m, x := range f {
		for j, c := range p.basis.member[m].Big {
			sum[j].Add(sum[j], new(big.Rat).Mul(x.Rat(), new(big.Rat).SetInt(c)))
		}
	}
	return wholeRow(sum)
}

// A condition gives a linear function a value.
type condition struct {
	form  linear
	value exact.Frac
}

// slice proves the values of a quantity under conditions.
func (p *Prover) slice(field string, given []condition, quantity linear) certify.Slice {
	x := p.under(given)
	s := certify.Slice{Field: field}
	if len(x.points) == 0 {
		s.Empty = x.contradiction()
		return s
	}
	s.Min, s.Max = x.ends(quantity)
	return s
}

// A sliced is the motions under conditions.
type sliced struct {
	*Prover
	given        []condition
	rows         []polyhedra.Row // of the conditions, over (q, t)
	zero, ways   []polyhedra.Row // of locked and one-way couplings, likewise
	points, rays [][]*big.Int    // over (q, t), with t > 0 and t = 0; lines both ways
	solver       *echelon
}

func (p *Prover) under(given []condition) *sliced {
	x := &sliced{Prover: p, given: given, solver: p.base}
	lifted := p.basis.lifted()
	var c polyhedra.BigCone
	c.Reset(lifted.k)
	for i, mode := range p.st.Modes {
		if mode == kinematics.Locked {
			x.zero = append(x.zero, lifted.lock[i])
		}
	}
	for _, g := range given {
		x.rows = append(x.rows, p.over(g.form, g.value.Neg()))
		row := p.row()
		for m, f := range g.form {
			p.at(row, m, f)
		}
		row[p.width] = g.value.Neg()
		x.solver = x.solver.with(row)
	}
	for _, i := range p.ways {
		if row := lifted.slip[i]; p.st.Modes[i] == kinematics.Reversed {
			x.ways = append(x.ways, negative(row))
		} else {
			x.ways = append(x.ways, row)
		}
	}
	for _, row := range append(slices.Clip(x.zero), x.rows...) {
		c.Zero(row)
	}
	for _, row := range append(slices.Clip(x.ways), lifted.unit()) {
		c.NonNegative(row)
	}
	lines, rays := c.Generators()
	for _, v := range lines {
		over := make([]*big.Int, len(v))
		for i := range v {
			over[i] = new(big.Int).Neg(v[i])
		}
		x.rays = append(x.rays, v, over)
	}
	for _, v := range rays {
		if v[len(v)-1].Sign() > 0 {
			x.points = append(x.points, v)
		} else {
			x.rays = append(x.rays, v)
		}
	}
	return x
}

// ends proves the least and the largest value of a quantity, nil for the largest if
// the proof of the least can be turned over.
func (x *sliced) ends(quantity linear) (least, most *certify.End) {
	least = x.end(quantity, 1)
	if least.Proof != nil && !slices.ContainsFunc(x.Prover.ways, func(i int) bool {
		return least.Proof.Couplings[x.s.Train.Couplings[i].Name] != nil
	}) {
		return least, nil
	}
	return least, x.end(quantity, -1)
}

// end proves the least value of sense times a quantity.
func (x *sliced) end(quantity linear, sense int64) *certify.End {
	row := x.over(quantity, exact.Int(0))
	if sense < 0 {
		row = negative(row)
	}
	for _, v := range x.rays {
		if row.Of(v).Sign() < 0 {
			ray := x.motion(v)
			return &certify.End{Motion: x.motion(x.points[0]), Ray: &ray}
		}
	}
	value := func(v []*big.Int) *big.Rat { return new(big.Rat).SetFrac(row.Of(v), v[len(v)-1]) }
	best := x.points[0]
	for _, v := range x.points[1:] {
		if value(v).Cmp(value(best)) < 0 {
			best = v
		}
	}
	// The scale of row is that of quantity times a whole number: take it out.
	reached := exact.Int(0)
	for m, f := range quantity {
		w := new(big.Rat).SetFrac(x.basis.member[m].Of(best[:len(best)-1]), best[len(best)-1])
		reached = reached.Add(f.Mul(exact.FromRat(w)))
	}
	target := x.row()
	for m, f := range quantity {
		x.at(target, m, f.Mul(exact.Int(sense)))
	}
	target[x.width] = reached.Mul(exact.Int(-sense))
	return &certify.End{Value: frac(reached), Motion: x.motion(best), Proof: x.prove(target, row, value(best))}
}

// contradiction proves that there is no motion.
func (x *sliced) contradiction() *certify.Proof {
	target := x.row()
	target[x.width] = exact.Int(-1)
	t := make([]int64, x.basis.k+1)
	t[x.basis.k] = -1
	return x.prove(target, polyhedra.RowOf(t...), nil)
}

// prove finds the multipliers of target, a function of members' speeds and t that is
// nowhere negative. row less value t is the same over (q, t), but for a factor; value
// is nil for 0.
func (x *sliced) prove(target []exact.Frac, row polyhedra.Row, value *big.Rat) *certify.Proof {
	// Over (q, t, u), with u = 1: the least value of a cone is 0, at its tip.
	lift := func(rows []polyhedra.Row) (list []polyhedra.Row) {
		for _, r := range rows {
			list = append(list, polyhedra.NewRow(append(slices.Clip(r.Big), new(big.Int))))
		}
		return list
	}
	k := x.basis.k
	unit := make([]int64, k+1)
	unit[k] = 1
	if value != nil {
		row = polyhedra.Combine(value.Denom(), row, new(big.Int).Neg(value.Num()), polyhedra.RowOf(unit...))
	}
	last := make([]int64, k+2)
	last[k+1] = 1
	zero := lift(append(slices.Clip(x.zero), x.rows...))
	program := &polyhedra.Program{
		N: k + 2, Equal: polyhedra.RowOf(last...), Zero: zero,
		NonNegative: lift(append(slices.Clip(x.ways), polyhedra.RowOf(unit...))),
		Terms: []polyhedra.Term{{Row: lift([]polyhedra.Row{row})[0], Plus: big.NewRat(1, 1),
			Minus: big.NewRat(-1, 1)}},
	}
	sol := program.Solve()
	if sol.Status != polyhedra.Optimal || sol.Value.Sign() != 0 {
		panic("solve: nothing to prove")
	}
	// By how much row is target: compare them on a coordinate where it is not 0.
	scale := x.scale(target, row)
	proof := &certify.Proof{Couplings: certify.Form{}, Meshes: map[int]*certify.Frac{}}
	for n, i := range x.Prover.ways {
		if lambda := sol.NonNegativeDual[n].Mul(scale); lambda.Sign() != 0 {
			if x.st.Modes[i] == kinematics.Reversed {
				lambda = lambda.Neg()
			}
			proof.Couplings[x.s.Train.Couplings[i].Name] = frac(lambda)
			x.addSlip(target, i, lambda.Neg())
		}
	}
	if t := sol.NonNegativeDual[len(x.ways)].Mul(scale); t.Sign() != 0 {
		target[x.width] = target[x.width].Sub(t)
	}
	x.write(proof, x.solver.solve(target), len(x.given))
	return proof
}

// scale is target over row, as functions over (q, t).
func (x *sliced) scale(target []exact.Frac, row polyhedra.Row) exact.Frac {
	f := linear{}
	for m, c := range x.column {
		if c >= 0 && target[c].Sign() != 0 {
			f[kinematics.MemberID(m)] = target[c]
		}
	}
	whole := make([]*big.Rat, x.basis.k+1)
	for j := range whole {
		whole[j] = new(big.Rat)
		if j == x.basis.k {
			whole[j] = target[x.width].Rat()
		}
		for m, v := range f {
			if j < x.basis.k {
				whole[j].Add(whole[j], new(big.Rat).Mul(v.Rat(), new(big.Rat).SetInt(x.basis.member[m].Big[j])))
			}
		}
	}
	for j, v := range row.Big {
		if v.Sign() != 0 {
			return exact.FromRat(whole[j].Quo(whole[j], new(big.Rat).SetInt(v)))
		}
	}
	return exact.Int(1)
}

// write puts the multipliers of meshes, locked couplings and conditions into a proof.
func (p *Prover) write(proof *certify.Proof, x []exact.Frac, conditions int) {
	meshes := len(p.s.Train.Meshes)
	for i, v := range x[:meshes] {
		if v.Sign() != 0 {
			proof.Meshes[i] = frac(v)
		}
	}
	for i, v := range x[meshes : len(x)-conditions] {
		if v.Sign() != 0 {
			proof.Couplings[p.s.Train.Couplings[i].Name] = frac(v)
		}
	}
	for _, v := range x[len(x)-conditions:] {
		proof.At = append(proof.At, frac(v.Neg()))
	}
}

// motion notes a motion, per t where that is not 0, and returns its number.
func (x *sliced) motion(v []*big.Int) int {
	unit := v[len(v)-1]
	if unit.Sign() == 0 {
		unit = big.NewInt(1)
	}
	m := x.speeds(v[:len(v)-1], unit)
	for i, known := range x.Certificate.Motions {
		if same(m, known) {
			return i
		}
	}
	x.Certificate.Motions = append(x.Certificate.Motions, m)
	return len(x.Certificate.Motions) - 1
}

// speeds writes the motion q / unit.
func (p *Prover) speeds(q []*big.Int, unit *big.Int) certify.Form {
	m := certify.Form{}
	for id, row := range p.basis.member {
		if p.column[id] < 0 {
			continue
		}
		if w := row.Of(q); w.Sign() != 0 {
			m[p.s.Train.Members[id].Name] = frac(exact.FromRat(new(big.Rat).SetFrac(w, unit)))
		}
	}
	return m
}

func same(a, b certify.Form) bool {
	if len(a) != len(b) {
		return false
	}
	for name, x := range a {
		if y := b[name]; y == nil || x.Cmp(&y.Rat) != 0 {
			return false
		}
	}
	return true
}

func frac(f exact.Frac) *certify.Frac { return certify.Exactly(f.Rat()) }

// Outcome proves everything of the outcome of the state.
func (p *Prover) Outcome() {
	t, st := p.s.Train, p.st
	one, f := exact.Int(1), exact.Int(int64(t.Forward))
	in, out, back := linear{st.Input: one}, linear{st.Output: f}, linear{st.Output: f.Neg()}
	for _, s := range []struct {
		field    string
		given    condition
		quantity linear
	}{
		{"pull", condition{in, one}, out},
		{"coast.forward", condition{out, one}, in},
		{"coast.backward", condition{back, one}, in},
		{"rest", condition{in, exact.Int(0)}, out},
		{"input_backward", condition{linear{st.Input: one.Neg()}, one}, linear{}},
	} {
		p.Certificate.Slices = append(p.Certificate.Slices, p.slice(s.field, []condition{s.given}, s.quantity))
	}
	p.Certificate.Covers = append(p.Certificate.Covers, "verdict", "ratio", "pull", "coast", "input_backward")
}

// Members proves the speeds of all members at the operating point of m, a motion of
// the state.
func (p *Prover) Members(m *Motion) {
	one := exact.Int(1)
	given := []condition{{linear{p.st.Input: one}, exact.Int(int64(m.At.Input))}}
	values := []*certify.Frac{frac(given[0].value)}
	if !m.At.OutputFree {
		given = append(given, condition{linear{p.st.Output: one}, m.At.Output})
		values = append(values, frac(m.At.Output))
	}
	x := p.under(given)
	for id := range p.s.Train.Members {
		if member := &p.s.Train.Members[id]; p.column[id] >= 0 && member.Kind != kinematics.JointHub {
			least, most := x.ends(linear{kinematics.MemberID(id): one})
			p.Certificate.Slices = append(p.Certificate.Slices, certify.Slice{
				Field: "members." + member.Name, Given: values, Min: least, Max: most,
			})
		}
	}
	p.Certificate.Covers = append(p.Certificate.Covers, "members")
}

// An echelon solves for the combination of rows that gives a target.
type echelon struct {
	n     int // rows there are
	rows  [][]exact.Frac
	from  [][]exact.Frac // each as a combination of the rows there are
	pivot []int
}

func newEchelon(rows [][]exact.Frac) *echelon {
	e := &echelon{}
	for _, row := range rows {
		e = e.with(row)
	}
	return e
}

// with returns an echelon with one row more.
func (e *echelon) with(row []exact.Frac) *echelon {
	rest, combination := e.reduce(row)
	next := &echelon{n: e.n + 1, rows: slices.Clip(e.rows), from: slices.Clip(e.from), pivot: slices.Clip(e.pivot)}
	pivot := slices.IndexFunc(rest, func(x exact.Frac) bool { return x.Sign() != 0 })
	if pivot < 0 {
		return next
	}
	for i := range combination {
		combination[i] = combination[i].Neg()
	}
	next.rows, next.pivot = append(next.rows, rest), append(next.pivot, pivot)
	next.from = append(next.from, append(combination, exact.Int(1)))
	return next
}

// reduce takes rows off a target, and returns what is left and what was taken.
func (e *echelon) reduce(target []exact.Frac) (rest, taken []exact.Frac) {
	rest, taken = slices.Clone(target), zeros(e.n)
	for k, row := range e.rows {
		at := e.pivot[k]
		if rest[at].Sign() == 0 {
			continue
		}
		f := rest[at].Mul(row[at].Inv())
		subtract(rest, f, row)
		subtract(taken, f.Neg(), e.from[k])
	}
	return rest, taken
}

// subtract takes f times row from x.
func subtract(x []exact.Frac, f exact.Frac, row []exact.Frac) {
	for j, v := range row {
		if v.Sign() != 0 {
			x[j] = x[j].Sub(f.Mul(v))
		}
	}
}

// solve returns the multipliers of all rows that add up to a target.
func (e *echelon) solve(target []exact.Frac) []exact.Frac {
	rest, taken := e.reduce(target)
	if slices.ContainsFunc(rest, func(x exact.Frac) bool { return x.Sign() != 0 }) {
		panic("solve: the rows do not add up to what they prove")
	}
	return taken
}

// fieldOf is the slice that is empty where a demand is impossible.
func fieldOf(m Demand) string {
	return [...]string{
		InputForward: "pull", InputBackward: "input_backward", OutputForward: "coast.forward", OutputBackward: "coast.backward",
	}[m]
}

// asked returns the one condition of a demand.
func (s *System) asked(st kinematics.State, m Demand) condition {
	one, f := exact.Int(1), exact.Int(int64(s.Train.Forward))
	switch m {
	case InputForward:
		return condition{linear{st.Input: one}, one}
	case InputBackward:
		return condition{linear{st.Input: one.Neg()}, one}
	case OutputForward:
		return condition{linear{st.Output: f}, one}
	}
	return condition{linear{st.Output: f.Neg()}, one}
}

// Conflict proves that parts, sets of couplings of the state, together make a motion
// impossible, and that without any one of them the others allow it.
func (p *Prover) Conflict(m Demand, parts [][]int) {
	t := p.s.Train
	given := []condition{p.s.asked(p.st, m)}
	without := func(left int) *sliced {
		st := p.st.Clone()
		for i := range st.Modes {
			st.Modes[i] = kinematics.Open
		}
		for n, part := range parts {
			for _, i := range part {
				if n != left {
					st.Modes[i] = p.st.Modes[i]
				}
			}
		}
		return p.s.Prover(st).under(given)
	}
	c := certify.Conflict{Field: fieldOf(m), Proof: *without(-1).contradiction()}
	for n, part := range parts {
		x := without(n)
		q := x.points[0]
		c.Parts = append(c.Parts, t.CouplingNames(part))
		c.Without = append(c.Without, x.speeds(q[:len(q)-1], q[len(q)-1]))
	}
	p.Certificate.Conflicts = append(p.Certificate.Conflicts, c)
}

// balance proves an equilibrium of torques outside and of couplings, at a motion.
func (p *Prover) balance(field string, outside map[kinematics.MemberID]exact.Frac, torque map[int]exact.Frac,
	motion int) *certify.Balance {
	b := certify.Balance{
		Field: field, Motion: motion, Outside: certify.Form{},
		Proof: certify.Proof{Meshes: map[int]*certify.Frac{}, Couplings: certify.Form{}},
	}
	target := p.row()
	for m, x := range outside {
		p.at(target, m, x.Neg())
		if x.Sign() != 0 {
			b.Outside[p.s.Train.Members[m].Name] = frac(x)
		}
	}
	for i, x := range torque {
		p.addSlip(target, i, x.Neg())
	}
	p.write(&b.Proof, p.base.solve(target), 0)
	for i, x := range torque {
		if x.Sign() != 0 {
			b.Proof.Couplings.Plus(p.s.Train.Couplings[i].Name, frac(x))
		}
	}
	p.Certificate.Balances = append(p.Certificate.Balances, b)
	return &p.Certificate.Balances[len(p.Certificate.Balances)-1]
}

// Load proves the ways without losses of a load of the state.
func (p *Prover) Load(l *Load) {
	one := exact.Int(1)
	x := p.under([]condition{
		{linear{p.st.Input: one}, one}, {linear{p.st.Output: one}, l.Motion.At.Output},
	})
	motion := x.motion(x.points[0])
	meshes := p.s.Prover(opened(p.st, func(int) bool { return true }))
	for i := range l.Ways {
		w := &l.Ways[i]
		torque := map[int]exact.Frac{}
		for _, c := range w.Carry {
			torque[c] = w.Torque[c]
		}
		meshes.balance("ways", map[kinematics.MemberID]exact.Frac{p.st.Input: w.Input, p.st.Output: w.Output},
			torque, motion)
	}
	p.Certificate.Balances = append(p.Certificate.Balances, meshes.Certificate.Balances...)
	p.Certificate.Covers = append(p.Certificate.Covers, "ways")
}

// opened is a state in which some couplings are open.
func opened(st kinematics.State, open func(i int) bool) kinematics.State {
	st = st.Clone()
	for i := range st.Modes {
		if open(i) {
			st.Modes[i] = kinematics.Open
		}
	}
	return st
}

// Resistance is the name under which the resistance of the vehicle stands among the
// couplings of a proof: a brake of the output.
const Resistance = "resistance"

// ProverOf returns a prover of mechanisms: what can slip is open in its state.
func (s *System) ProverOf(g *Capacities) *Prover {
	p := s.Prover(opened(g.State, func(i int) bool { return g.Capacity[i] != nil }))
	p.Certificate.Capacities = certify.Form{}
	for i, c := range g.Capacity {
		if c != nil {
			p.Certificate.Capacities[s.Train.Couplings[i].Name] = frac(exact.FromRat(c))
		}
	}
	return p
}

// Mechanism proves what a forced motion of the vehicle standing, or rolling, costs, or
// that it is impossible. It says nothing of what runs away.
func (p *Prover) Mechanism(field string, g *Capacities, m *Mechanism, standing bool, demand Demand) {
	switch m.End {
	case Jams:
		x := p.under([]condition{p.s.asked(p.st, demand)})
		p.Certificate.Slices = append(p.Certificate.Slices, certify.Slice{Field: fieldOf(demand),
			Empty: x.contradiction()})
		return
	case RunsAway:
		return
	}
	best, one := &m.Optima[0], exact.Int(1)
	given := []condition{{linear{p.st.Input: one}, best.Input}, {linear{p.st.Output: one}, best.Output}}
	torque := map[int]exact.Frac{}
	for i, c := range g.Capacity {
		if c != nil {
			x := p.s.Train.Couplings[i]
			slip := linear{}
			slip.add(x.A, one)
			slip.add(x.B, one.Neg())
			given, torque[i] = append(given, condition{slip, best.Slip[i]}), m.Dual[i]
		}
	}
	for _, i := range p.ways {
		torque[i] = m.Dual[i]
	}
	x := p.under(given)
	outside := map[kinematics.MemberID]exact.Frac{p.st.Input: m.InputTorque, p.st.Output: m.OutputTorque}
	b := p.balance(field, outside, torque, x.motion(x.points[0]))
	if standing {
		out := p.s.Train.Members[p.st.Output].Name
		delete(b.Outside, out)
		b.Proof.Couplings[Resistance] = frac(m.OutputTorque)
	}
}

func (f linear) add(m kinematics.MemberID, x exact.Frac) {
	if y, ok := f[m]; ok {
		x = x.Add(y)
	}
	f[m] = x
}
