package solve

import (
	"math/big"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// A Given is the speed that a member is made to turn at; 0 holds it.
type Given struct {
	Member kinematics.MemberID
	Speed  exact.Frac
}

// A Turned is the answer of [System.Turn].
type Turned struct {
	// Locks says that the given speeds and the state contradict each other.
	// Fight and FightCouplings are then a smallest set of what contradicts:
	// indices of given speeds and of elements. Meshes and sound joints, which
	// always act, are not listed.
	Locks          bool
	Fight          []int
	FightCouplings []int
	Members        []Speed // parallel to Train.Members, as in Motion; nil if it locks
	Slips          []Speed // parallel to Train.Couplings; nil if it locks
	Residual       float64
}

// Turn gives the speeds of all members when some are turned or held, with the
// couplings in the given modes (parallel to Train.Couplings).
//
// The given speeds are made homogeneous by one more coordinate t that stands
// for 1: the row of a given speed v is wM - v t, and the answers are the slice
// of the cone at t = 1.
func (s *System) Turn(modes []kinematics.Mode, given []Given) *Turned {
	b := s.basisOf(modes).lifted()
	c, ok := b.turn(modes, given, nil)
	if !ok {
		r := &Turned{Locks: true}
		r.Fight, r.FightCouplings = b.fight(s.Train, modes, given)
		return r
	}
	unit := b.unit()
	q := b.sample(c, unit, 1)
	r := &Turned{Residual: b.residual(s.Train, modes, q)}
	r.Members, r.Slips = b.describe(s.Train, c, unit, 1, q)
	return r
}

// lifted returns b with one more coordinate, on which no speed depends.
func (b *basis) lifted() *basis {
	lift := func(rows []polyhedra.Row) []polyhedra.Row {
		out := make([]polyhedra.Row, len(rows))
		for i, r := range rows {
			out[i] = polyhedra.NewRow(append(r.Big[:b.k:b.k], new(big.Int)))
		}
		return out
	}
	return &basis{b.k + 1, lift(b.member), lift(b.slip), lift(b.lock), lift(b.back)}
}

// unit returns the row of the last coordinate.
func (b *basis) unit() polyhedra.Row {
	c := make([]int64, b.k)
	c[b.k-1] = 1
	return polyhedra.RowOf(c...)
}

// turn returns the cone of the modes and the given speeds but those skipped,
// and whether it has a motion with t = 1.
func (b *basis) turn(modes []kinematics.Mode, given []Given, skip []bool) (*polyhedra.BigCone, bool) {
	var c polyhedra.BigCone
	b.constrain(&c, modes)
	for i, g := range given {
		if skip == nil || !skip[i] {
			c.Zero(difference(b.member[g.Member], b.unit(), g.Speed))
		}
	}
	c.Project(b.unit(), b.unit())
	return &c, !c.Slice(1).Empty
}

// fight returns a smallest set of given speeds and elements that contradict
// each other: whatever can be left out without lifting the contradiction is.
// Elements are tried first, so that a member that fights is named before them.
func (b *basis) fight(t *kinematics.Train, modes []kinematics.Mode, given []Given) (speeds, elements []int) {
	modes = append([]kinematics.Mode(nil), modes...)
	skip := make([]bool, len(given))
	for i := range t.ElementCount {
		if modes[i] == kinematics.Open {
			continue
		}
		mode := modes[i]
		modes[i] = kinematics.Open
		if _, ok := b.turn(modes, given, skip); ok {
			modes[i] = mode
			elements = append(elements, i)
		}
	}
	for i := range given {
		skip[i] = true
		if _, ok := b.turn(modes, given, skip); ok {
			skip[i] = false
			speeds = append(speeds, i)
		}
	}
	return speeds, elements
}
