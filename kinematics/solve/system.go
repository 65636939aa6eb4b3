package solve

import (
	"math/big"
	"sync"
	"sync/atomic"

	"tieup/kinematics"
	"tieup/kinematics/internal/polyhedra"
)

// A System is a compiled train. It is not changed after [Compile], so any
// number of goroutines may share it.
type System struct {
	Train *kinematics.Train
	// tight has all joints sound; loose has none of them, so that each spline
	// is a coupling like the others. Loose is made when a state first needs it.
	tight *basis
	loose func() *basis
	peaks atomic.Pointer[[]Peak] // of the healthy ranges, found when first needed
}

// A basis holds the free motions of a train: every member's speed, and every
// coupling's slip, as a row over the coordinates q of the free motions.
type basis struct {
	k      int             // number of free motions
	member []polyhedra.Row // wM = member[M] q; zero for the housing and for Unknown members
	slip   []polyhedra.Row // wA - wB of each coupling
	lock   []polyhedra.Row // slip without common factors: the same zero set and sign
	back   []polyhedra.Row // -lock
}

// Compile eliminates the meshes and joints of a train.
func Compile(t *kinematics.Train) *System {
	s := &System{
		Train: t,
		tight: newBasis(t, true),
		loose: sync.OnceValue(func() *basis { return newBasis(t, false) }),
	}
	return s
}

// newBasis finds the motions that satisfy all meshes, and all joints if joined.
func newBasis(t *kinematics.Train, joined bool) *basis {
	body := bodies(t, func(int) bool { return joined })
	columns := map[kinematics.MemberID]int{}
	for m, b := range body {
		if b == kinematics.Housing || t.Members[m].Unknown {
			continue
		}
		if _, seen := columns[b]; !seen {
			columns[b] = len(columns)
		}
	}
	rows := make([]polyhedra.Row, 0, len(t.Meshes))
	for _, m := range t.Meshes {
		c := make([]int64, len(columns))
		add := func(id kinematics.MemberID, z int64) {
			if col, ok := columns[body[id]]; ok {
				c[col] += z
			}
		}
		zb := m.Kind.Sign() * m.ZB
		add(m.A, m.ZA)
		add(m.B, zb)
		add(m.Carrier, -m.ZA-zb)
		rows = append(rows, polyhedra.RowOf(c...))
	}
	motions := polyhedra.NullSpace(rows, len(columns))

	n := len(t.Couplings)
	b := &basis{k: len(motions), member: make([]polyhedra.Row, 0, len(t.Members)),
		slip: make([]polyhedra.Row, 0, n), lock: make([]polyhedra.Row, 0, n), back: make([]polyhedra.Row, 0, n)}
	zero := polyhedra.RowOf(make([]int64, b.k)...)
	for m := range t.Members {
		col, ok := columns[body[m]]
		if !ok || t.Members[m].Unknown {
			b.member = append(b.member, zero)
			continue
		}
		c := make([]*big.Int, b.k)
		for j, v := range motions {
			c[j] = v[col]
		}
		b.member = append(b.member, polyhedra.NewRow(c))
	}
	one, minus := big.NewInt(1), big.NewInt(-1)
	for _, c := range t.Couplings {
		slip := polyhedra.Combine(one, b.member[c.A], minus, b.member[c.B])
		b.slip = append(b.slip, slip)
		lock := slip.Primitive()
		b.lock = append(b.lock, lock)
		b.back = append(b.back, polyhedra.Combine(minus, lock, minus, zero))
	}
	return b
}

// bodies returns for each member one that stands for all it is joined with by
// the splines that hold: the hub of a joint, or the housing for whatever is
// joined to it.
func bodies(t *kinematics.Train, holds func(spline int) bool) []kinematics.MemberID {
	body := make([]kinematics.MemberID, len(t.Members))
	for i := range body {
		body[i] = kinematics.MemberID(i)
	}
	find := func(m kinematics.MemberID) kinematics.MemberID {
		for body[m] != m {
			m = body[m]
		}
		return m
	}
	for i := t.ElementCount; i < len(t.Couplings); i++ {
		if !holds(i) {
			continue
		}
		member, hub := find(t.Couplings[i].A), find(t.Couplings[i].B)
		if member == kinematics.Housing {
			member, hub = hub, member
		}
		body[member] = hub
	}
	for i := range body {
		body[i] = find(kinematics.MemberID(i))
	}
	return body
}

// basisOf returns the basis that serves the modes: the tight one if all
// splines are locked.
func (s *System) basisOf(modes []kinematics.Mode) *basis {
	for _, m := range modes[s.Train.ElementCount:] {
		if m != kinematics.Locked {
			return s.loose()
		}
	}
	return s.tight
}

// Same says whether two members turn as one for good, all joints being sound.
func (s *System) Same(a, b kinematics.MemberID) bool {
	return s.tight.member[a].Equal(s.tight.member[b])
}
