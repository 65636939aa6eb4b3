package solve

import (
	"maps"
	"math/big"
	"slices"
	"strconv"

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
	Capacities  certify.Form // of the couplings that can slip
	Resistances certify.Form // of the vehicle, by the field of a balance

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
	for i := range s.Train.Meshes {
		rows = append(rows, p.meshRow(i))
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

// meshRow is the equation of a mesh.
func (p *Prover) meshRow(i int) []exact.Frac {
	m := &p.s.Train.Meshes[i]
	row, za, zb := p.row(), exact.Int(m.ZA), exact.Int(m.Kind.Sign()*m.ZB)
	p.at(row, m.A, za)
	p.at(row, m.B, zb)
	p.at(row, m.Carrier, za.Add(zb).Neg())
	return row
}

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

// forms writes down conditions.
func (p *Prover) forms(given []condition) (forms []certify.Form, values []certify.Frac) {
	for _, g := range given {
		forms, values = append(forms, p.form(g.form)), append(values, frac(g.value))
	}
	return forms, values
}

func (p *Prover) form(f linear) certify.Form {
	form := certify.Form{}
	for m, x := range f {
		if x.Sign() != 0 {
			form[p.s.Train.Members[m].Name] = frac(x)
		}
	}
	return form
}

// slice proves the values of a quantity in the motions of x.
func (x *sliced) slice(field string, quantity linear) {
	s := certify.Slice{Field: field, Quantity: x.form(quantity)}
	s.Given, s.Is = x.forms(x.given)
	if len(x.points) == 0 {
		s.Empty = x.contradiction()
	} else {
		s.Min, s.Max = x.ends(quantity)
	}
	x.Certificate.Slices = append(x.Certificate.Slices, s)
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

// ends proves the least and the largest value of a quantity.
func (x *sliced) ends(quantity linear) (least, most *certify.End) {
	least = x.end(quantity, 1)
	oneWay := func(i int) bool { return has(least.Rows, x.s.Train.Couplings[i].Name) }
	if least.Value == nil || slices.ContainsFunc(x.Prover.ways, oneWay) {
		return least, x.end(quantity, -1)
	}
	// It is proved by rows that are 0: they can be turned over.
	most = &certify.End{Value: least.Value, Motion: least.Motion, Rows: certify.Form{}.Add(big.NewRat(-1, 1), least.Rows)}
	for _, a := range least.At {
		most.At = append(most.At, frac(exact.FromRat(&a.Rat).Neg()))
	}
	return least, most
}

func has(f certify.Form, name string) bool {
	_, ok := f[name]
	return ok
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
	e, v := x.prove(target, row, value(best)), frac(reached)
	e.Value, e.Motion = &v, x.motion(best)
	return e
}

// contradiction proves that there is no motion.
func (x *sliced) contradiction() *certify.End {
	target := x.row()
	target[x.width] = exact.Int(-1)
	t := make([]int64, x.basis.k+1)
	t[x.basis.k] = -1
	return x.prove(target, polyhedra.RowOf(t...), nil)
}

// prove finds the multipliers of target, a function of members' speeds and t that is
// nowhere negative. row less value t is the same over (q, t), but for a factor; value
// is nil for 0.
func (x *sliced) prove(target []exact.Frac, row polyhedra.Row, value *big.Rat) *certify.End {
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
	proof := &certify.End{Rows: certify.Form{}}
	for n, i := range x.Prover.ways {
		if lambda := sol.NonNegativeDual[n].Mul(scale); lambda.Sign() != 0 {
			if x.st.Modes[i] == kinematics.Reversed {
				lambda = lambda.Neg()
			}
			proof.Rows[x.s.Train.Couplings[i].Name] = frac(lambda)
			x.addSlip(target, i, lambda.Neg())
		}
	}
	if t := sol.NonNegativeDual[len(x.ways)].Mul(scale); t.Sign() != 0 {
		target[x.width] = target[x.width].Sub(t)
	}
	multipliers := x.solver.solve(target)
	x.write(proof.Rows, multipliers)
	for _, a := range multipliers[len(multipliers)-len(x.given):] {
		proof.At = append(proof.At, frac(a.Neg()))
	}
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

// MeshRow is the name of the row of a mesh, by its index into Train.Meshes, in a certificate.
func MeshRow(i int) string { return "mesh " + strconv.Itoa(i) }

// write puts the multipliers of meshes and locked couplings into a form.
func (p *Prover) write(rows certify.Form, x []exact.Frac) {
	meshes := len(p.s.Train.Meshes)
	for i, v := range x[:meshes] {
		if v.Sign() != 0 {
			rows[MeshRow(i)] = frac(v)
		}
	}
	for i, v := range x[meshes : meshes+len(p.st.Modes)] {
		if v.Sign() != 0 {
			rows[p.s.Train.Couplings[i].Name] = frac(v)
		}
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
	return maps.EqualFunc(a, b, func(x, y certify.Frac) bool { return x.Cmp(&y.Rat) == 0 })
}

func frac(f exact.Frac) certify.Frac { return certify.Frac{Rat: *f.Rat()} }

// Outcome proves everything of the outcome of the state.
func (p *Prover) Outcome() {
	in, out := linear{p.st.Input: exact.Int(1)}, linear{p.st.Output: exact.Int(int64(p.s.Train.Forward))}
	for _, m := range []Demand{InputForward, OutputForward, OutputBackward, InputBackward} {
		quantity := map[Demand]linear{InputForward: out, OutputForward: in, OutputBackward: in}[m]
		p.under([]condition{p.s.asked(p.st, m)}).slice(fieldOf(m), quantity)
	}
	p.under([]condition{{in, exact.Int(0)}}).slice("rest", out)
}

// Members proves the speeds of all members at the operating point of m, a motion of
// the state.
func (p *Prover) Members(m *Motion) {
	one := exact.Int(1)
	given := []condition{{linear{p.st.Input: one}, exact.Int(int64(m.At.Input))}}
	if !m.At.OutputFree {
		given = append(given, condition{linear{p.st.Output: one}, m.At.Output})
	}
	x := p.under(given)
	for id := range p.s.Train.Members {
		if member := &p.s.Train.Members[id]; p.column[id] >= 0 && member.Kind != kinematics.JointHub {
			x.slice("members."+member.Name, linear{kinematics.MemberID(id): one})
		}
	}
}

// fieldOf is the slice that is empty where a demand is impossible.
func fieldOf(m Demand) string {
	return [...]string{
		InputForward: "pull", InputBackward: "input_backward", OutputForward: "coast.forward",
		OutputBackward: "coast.backward",
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
	c := certify.Slice{Field: fieldOf(m), Empty: without(-1).contradiction()}
	c.Given, c.Is = p.forms(given)
	for n, part := range parts {
		x := without(n)
		q := x.points[0]
		c.Parts = append(c.Parts, t.CouplingNames(part))
		c.Without = append(c.Without, x.speeds(q[:len(q)-1], q[len(q)-1]))
	}
	p.Certificate.Slices = append(p.Certificate.Slices, c)
}
