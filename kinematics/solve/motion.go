package solve

import (
	"math"
	"math/big"
	"slices"

	"gonum.org/v1/gonum/mat"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// Motion decides what the train does in state st and describes the motion at
// its operating point.
//
// Pawl and torque are left out: package reading's Reader.Read adds what both change, as in
// a range such as P, whose pawl holds the vehicle.
func (s *System) Motion(st kinematics.State) *Motion {
	b := s.basisOf(st.Modes)
	var c polyhedra.BigCone
	b.shadow(&c, st)
	m := &Motion{Outcome: outcome(&c, s.Train.Forward), State: st.Clone()}
	m.Groups = b.groups(s.Train, &c)
	turnSolid(s.Train, func(a, b kinematics.MemberID) bool { return m.Groups[a] == m.Groups[b] },
		func(pinion, carrier kinematics.MemberID) { m.Groups[pinion] = m.Groups[carrier] })

	in, out := b.member[st.Input], b.member[st.Output]
	switch m.Verdict {
	case TieUp, InputHeld:
		c.Zero(in)
		m.At.OutputFree = m.Verdict == InputHeld
	case Neutral:
		m.At.Input, m.At.OutputFree = 1, true
	default:
		m.At.Input, m.At.Output = 1, m.OutputSpeed()
		c.Zero(difference(out, in, m.At.Output))
	}
	if !m.At.OutputFree {
		m.At.Output = m.OutputSpeed()
	}
	q := b.sample(&c, in, m.At.Input)
	m.Members, m.Slips = b.describe(s.Train, &c, in, m.At.Input, q)
	m.Residual = b.residual(s.Train, st.Modes, q)
	m.States = s.states(st, m, m.drivesAs)
	return m
}

// turnSolid finds the pinions of unknown teeth that turn with their carrier all the
// same, as all gears of their set turn with it: nothing rolls on them, whatever
// their teeth. The pinions of a bevel set turn about an axis of their own.
func turnSolid(t *kinematics.Train, alike func(a, b kinematics.MemberID) bool,
	found func(pinion, carrier kinematics.MemberID)) {
	for i := range t.Gearsets {
		set := &t.Gearsets[i]
		apart := func(g kinematics.Gear) bool { return !alike(g.Member, set.Carrier) }
		for _, p := range set.Pinions {
			if t.Members[p.Member].Unknown && !set.Across() && !slices.ContainsFunc(set.Gears, apart) {
				found(p.Member, set.Carrier)
			}
		}
	}
}

// difference returns a row that is zero where x = f y.
func difference(x, y polyhedra.Row, f exact.Frac) polyhedra.Row {
	r := f.Rat()
	return polyhedra.Combine(r.Denom(), x, new(big.Int).Neg(r.Num()), y)
}

// describe gives every member's speed and every coupling's slip on the part of
// the cone where the row unit has the value at (1 or 0). q is a motion of that
// part, the source of the floats.
func (b *basis) describe(t *kinematics.Train, c *polyhedra.BigCone, unit polyhedra.Row, at int,
	q *mat.VecDense) (members, slips []Speed) {
	speed := func(row polyhedra.Row, float float64) Speed {
		c.Project(unit, row)
		var s Speed
		if at == 0 {
			s.Interval = c.Range()
		} else {
			s.Interval = c.Slice(at)
		}
		s.Float = float
		if s.Free() {
			s.Float = math.NaN()
		}
		return s
	}
	members, slips = make([]Speed, 0, len(b.member)), make([]Speed, 0, len(b.slip))
	w := b.floats(b.member, q)
	for i, row := range b.member {
		if t.Members[i].Unknown {
			members = append(members, Speed{Interval: exact.None, Float: math.NaN()})
			continue
		}
		members = append(members, speed(row, w.AtVec(i)))
	}
	turnSolid(t, func(x, y kinematics.MemberID) bool {
		s := speed(difference(b.member[x], b.member[y], exact.NewFrac(1, 1)), 0)
		return s.IsZero()
	}, func(pinion, carrier kinematics.MemberID) { members[pinion] = members[carrier] })
	slip := b.floats(b.slip, q)
	for i, row := range b.slip {
		slips = append(slips, speed(row, slip.AtVec(i)))
	}
	return members, slips
}

// sample returns one motion of the cone with unit = at, or rest if at is 0.
func (b *basis) sample(c *polyhedra.BigCone, unit polyhedra.Row, at int) *mat.VecDense {
	q := mat.NewVecDense(max(b.k, 1), nil)
	if at == 0 {
		return q
	}
	lines, rays := c.Generators()
	for i, v := range append(lines, rays...) {
		s := unit.Of(v)
		if s.Sign() == 0 || s.Sign() < 0 && i >= len(lines) {
			continue
		}
		for j, x := range v {
			f, _ := new(big.Rat).SetFrac(x, s).Float64()
			q.SetVec(j, f)
		}
		return q
	}
	panic("solve: no motion at the operating point")
}

// floats returns rows q.
func (b *basis) floats(rows []polyhedra.Row, q *mat.VecDense) *mat.VecDense {
	a := mat.NewDense(max(len(rows), 1), q.Len(), nil)
	for i, r := range rows {
		for j, x := range r.Big {
			f, _ := x.Float64()
			a.Set(i, j, f)
		}
	}
	var w mat.VecDense
	w.MulVec(a, q)
	return &w
}

// residual returns the largest error of a mesh, or of a joint or lock, in the
// float speeds of motion q; the row of a mesh is scaled by its larger gear.
func (b *basis) residual(t *kinematics.Train, modes []kinematics.Mode, q *mat.VecDense) float64 {
	w := b.floats(b.member, q)
	worst := 0.0
	for _, m := range t.Meshes {
		za, zb := float64(m.ZA), float64(m.Kind.Sign())*float64(m.ZB)
		wc := w.AtVec(int(m.Carrier))
		e := za*(w.AtVec(int(m.A))-wc) + zb*(w.AtVec(int(m.B))-wc)
		worst = max(worst, math.Abs(e)/max(za, math.Abs(zb)))
	}
	for i, c := range t.Couplings {
		if modes[i] == kinematics.Locked {
			worst = max(worst, math.Abs(w.AtVec(int(c.A))-w.AtVec(int(c.B))))
		}
	}
	return worst
}

// groups numbers the members that turn as one in every motion of the cone.
func (b *basis) groups(t *kinematics.Train, c *polyhedra.BigCone) []int {
	lines, rays := c.Generators()
	group := make([]int, len(b.member))
	first := map[string]int{}
	for i, row := range b.member {
		if t.Members[i].Unknown {
			group[i] = -1
			continue
		}
		var key []byte
		for _, v := range append(lines[:len(lines):len(lines)], rays...) {
			key = append(row.Of(v).Append(key, 62), ',')
		}
		g, seen := first[string(key)]
		if !seen {
			g = len(first)
			first[string(key)] = g
		}
		group[i] = g
		if t.Members[i].Kind == kinematics.JointHub {
			group[i] = -1
		}
	}
	return group
}

// states says what each coupling does at the operating point of m. A one-way
// clutch holds if without it the outcome is not the same.
func (s *System) states(st kinematics.State, m *Motion, same func(Outcome) bool) []CouplingState {
	k := s.Kernel()
	without := st.Clone()
	states := make([]CouplingState, len(st.Modes))
	for i, mode := range st.Modes {
		slip := m.Slips[i]
		switch {
		case mode == kinematics.Open:
			states[i] = StateOpen
		case mode == kinematics.Locked:
			states[i] = StateLocked
		case slip.Min.Sign() > 0 || slip.Max.Sign() < 0:
			states[i] = StateOverrunning
		case !slip.IsZero():
			states[i] = StateFree
		default:
			without.Modes[i] = kinematics.Open
			states[i] = StateIdle
			if !same(k.Outcome(without)) {
				states[i] = StateHolding
			}
			without.Modes[i] = mode
		}
	}
	return states
}
