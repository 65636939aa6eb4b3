package stage

import (
	"math"
	"slices"

	"tieup/kinematics"
)

// A layout is where the gears of a planetary set lie, and how large they are.
type layout struct {
	gears    []wheelSize   // parallel to the set's gears
	pinions  []pinionPlace // parallel to the set's pinions
	contacts []contact
}

type wheelSize struct {
	teeth  int64 // 0 if not known
	radius float64
}

// A pinionPlace is where the first pinion of a kind sits on the carrier.
type pinionPlace struct {
	orbit, angle float64     // distance from the middle, and angle in radians
	steps        []wheelSize // its gears: one, but for a stepped pinion
}

// A contact is where two gears mesh: a central gear (A) and a step of a pinion
// (B), or steps of two pinions.
type contact struct {
	gearA          int // -1 for a pinion
	pinionA, stepA int
	pinionB, stepB int
	zA, zB         int64
	internal       bool // A is a ring
}

// newLayout lays out a set. Gears of the same module have radii in proportion
// to their teeth; where teeth and distances do not agree, as on stepped pinions
// and with shifted profiles, each mesh has the module that makes it fit.
func newLayout(t *kinematics.Train, set *kinematics.Gearset) *layout {
	l := &layout{gears: make([]wheelSize, len(set.Gears)), pinions: make([]pinionPlace, len(set.Pinions))}
	for i, g := range set.Gears {
		l.gears[i] = wheelSize{g.Teeth, float64(g.Teeth)}
	}
	for p := range set.Pinions {
		l.place(set, p)
	}
	for i, g := range set.Gears {
		l.touch(i, &g)
	}
	l.spread(t, set)
	return l
}

// place finds the orbit of a pinion: from a sun and its own teeth, from a ring,
// or halfway between sun and ring.
func (l *layout) place(set *kinematics.Gearset, p int) {
	at := &l.pinions[p]
	var sun, ring *kinematics.Gear
	for i := range set.Gears {
		g := &set.Gears[i]
		switch {
		case g.Pinion != p:
		case g.Internal && ring == nil:
			ring = g
		case !g.Internal && sun == nil:
			sun = g
		}
	}
	teeth := func(g *kinematics.Gear) float64 {
		if g.PinionTeeth > 0 {
			return float64(g.PinionTeeth)
		}
		return float64(set.Pinions[p].Teeth)
	}
	switch {
	case sun != nil && teeth(sun) > 0:
		at.orbit = float64(sun.Teeth) + teeth(sun)
	case ring != nil && teeth(ring) > 0:
		at.orbit = float64(ring.Teeth) - teeth(ring)
	default:
		inner, outer := extent(set)
		if sun != nil {
			inner = float64(sun.Teeth)
		}
		radius := (outer - inner) / 2 // sun and ring about one axis leave just this
		if sun == nil || ring == nil && len(set.Pinions) > 1 {
			radius = (outer - inner) * 0.29
		}
		at.orbit = inner + radius
		if ring != nil && sun == nil {
			at.orbit = outer - radius
		}
		at.steps = []wheelSize{{0, radius}}
	}
}

// extent returns the radii of the largest sun and the smallest ring; where there
// is only one of them, the other is what leaves room for pinions.
func extent(set *kinematics.Gearset) (inner, outer float64) {
	for _, g := range set.Gears {
		z := float64(g.Teeth)
		switch {
		case g.Internal && (outer == 0 || z < outer):
			outer = z
		case !g.Internal:
			inner = max(inner, z)
		}
	}
	if outer <= inner {
		outer = inner * 2.2
	}
	if inner == 0 {
		inner = outer / 3
	}
	return inner, outer
}

// touch gives a central gear the radius with which it meshes its pinion at the
// pinion's orbit, adds that step to the pinion, and notes the contact.
func (l *layout) touch(i int, g *kinematics.Gear) {
	at := &l.pinions[g.Pinion]
	z, zp := float64(g.Teeth), float64(g.PinionTeeth)
	if zp == 0 {
		return // the pinion is a ghost of one step
	}
	whole := z + zp
	if g.Internal {
		whole = z - zp
	}
	radius := at.orbit * zp / whole
	l.gears[i].radius = at.orbit * z / whole
	s := -1
	for k, st := range at.steps {
		if st.teeth == g.PinionTeeth && math.Abs(st.radius-radius) < 0.12*radius {
			s = k
		}
	}
	if s < 0 {
		at.steps = append(at.steps, wheelSize{g.PinionTeeth, radius})
		s = len(at.steps) - 1
	}
	l.contacts = append(l.contacts, contact{gearA: i, pinionB: g.Pinion, stepB: s, zA: g.Teeth, zB: g.PinionTeeth,
		internal: g.Internal})
}

// spread turns the second kind of pinion round the middle until it meshes with
// the first: the orbits and the distance of their middles are the sides of a
// triangle.
func (l *layout) spread(t *kinematics.Train, set *kinematics.Gearset) {
	if len(l.pinions) < 2 {
		return
	}
	a, b := &l.pinions[0], &l.pinions[1]
	for p := range l.pinions {
		if at := &l.pinions[p]; len(at.steps) == 0 {
			at.steps = []wheelSize{{set.Pinions[p].Teeth, float64(set.Pinions[p].Teeth)}}
		}
	}
	distance := a.steps[0].radius + b.steps[0].radius
	cos := (a.orbit*a.orbit + b.orbit*b.orbit - distance*distance) / (2 * a.orbit * b.orbit)
	b.angle = math.Acos(max(-1, min(1, cos)))
	for _, i := range set.Meshes {
		m := &t.Meshes[i]
		if m.A == set.Pinions[0].Member && m.B == set.Pinions[1].Member ||
			m.B == set.Pinions[0].Member && m.A == set.Pinions[1].Member {
			l.contacts = append(l.contacts, contact{gearA: -1, pinionA: 0, pinionB: 1, zA: a.steps[0].teeth,
				zB: b.steps[0].teeth})
		}
	}
}

// scale makes the whole fit into a circle of radius 1, with room for the rim of a
// ring outside its teeth.
func (l *layout) scale(rim float64) {
	most := 0.0
	for i := range l.gears {
		most = max(most, l.gears[i].radius)
	}
	for _, p := range l.pinions {
		for _, s := range p.steps {
			most = max(most, p.orbit+s.radius)
		}
	}
	k := (1 - rim) / most
	for i := range l.gears {
		l.gears[i].radius *= k
	}
	for p := range l.pinions {
		l.pinions[p].orbit *= k
		for s := range l.pinions[p].steps {
			l.pinions[p].steps[s].radius *= k
		}
	}
}

// phases are the angles, in radians, by which gears are turned so that teeth
// meet gaps.
type phases struct {
	gears []float64
	steps [][]float64 // by pinion and step
}

// phases turns the gears round the k-th of count pinions. Those of the central
// gears are given but for the first pinion, with which they are found.
func (l *layout) phases(k, count int, gears []float64) phases {
	ph := phases{gears: gears}
	known := slices.Repeat([]bool{gears != nil}, len(l.gears))
	if gears == nil {
		ph.gears, known[0] = make([]float64, len(l.gears)), true
	}
	done := make([][]bool, len(l.pinions))
	for p := range l.pinions {
		ph.steps = append(ph.steps, make([]float64, len(l.pinions[p].steps)))
		done[p] = make([]bool, len(l.pinions[p].steps))
	}
	for range l.contacts { // each round reaches one gear more
		for _, c := range l.contacts {
			l.mesh(c, k, count, &ph, known, done)
		}
	}
	// Gears on a step of their own mesh nothing that was reached: they may stand
	// as they like.
	for _, c := range l.contacts {
		if c.gearA >= 0 && !known[c.gearA] {
			known[c.gearA] = true
			l.mesh(c, k, count, &ph, known, done)
		}
	}
	return ph
}

// mesh turns one gear of a contact to mesh with the other, if just that one is
// known.
func (l *layout) mesh(c contact, k, count int, ph *phases, known []bool, done [][]bool) {
	if c.zA == 0 || c.zB == 0 {
		return
	}
	angle, knownA := &ph.gears[max(c.gearA, 0)], &known[max(c.gearA, 0)]
	toward := l.pinions[c.pinionB].angle + turn(k, count)
	if c.gearA < 0 {
		angle, knownA = &ph.steps[c.pinionA][c.stepA], &done[c.pinionA][c.stepA]
		xa, ya := polar(l.pinions[c.pinionA].orbit, l.pinions[c.pinionA].angle+turn(k, count))
		xb, yb := polar(l.pinions[c.pinionB].orbit, toward)
		toward = math.Atan2(yb-ya, xb-xa)
	}
	other, knownB := &ph.steps[c.pinionB][c.stepB], &done[c.pinionB][c.stepB]
	switch {
	case *knownA && !*knownB:
		*other, *knownB = meshing(c, *angle, toward), true
	case *knownB && !*knownA:
		back := contact{zA: c.zB, zB: c.zA, internal: c.internal}
		if !c.internal {
			toward += math.Pi
		}
		*angle, *knownA = meshing(back, *other, toward), true
	}
}

// meshing returns the angle of gear B that meshes with gear A, which is turned
// by angle and touches B in a direction seen from its middle. Where a tooth of A
// points at the contact, B must have a gap.
func meshing(c contact, angle, toward float64) float64 {
	pitchA, pitchB := 2*math.Pi/float64(c.zA), 2*math.Pi/float64(c.zB)
	part := (toward - angle) / pitchA // pitches from a tooth of A to the contact
	if c.internal {
		return toward - (part-0.5)*pitchB
	}
	return toward + math.Pi - (0.5-part)*pitchB
}

// turn is the angle of the k-th of n equal parts of a circle.
func turn(k, n int) float64 { return 2 * math.Pi * float64(k) / float64(n) }

func polar(r, angle float64) (x, y float64) { return r * math.Cos(angle), r * math.Sin(angle) }

// fits says whether count pinions of a kind, spaced equally, mesh with every gear
// that they touch, and do not touch each other.
func (l *layout) fits(count int) bool {
	first := l.phases(0, count, nil)
	for k := 1; k < count; k++ {
		ph := l.phases(k, count, first.gears)
		for _, c := range l.contacts {
			if c.gearA < 0 || c.zA == 0 || c.zB == 0 {
				continue
			}
			toward := l.pinions[c.pinionB].angle + turn(k, count)
			off := (ph.steps[c.pinionB][c.stepB] - meshing(c, first.gears[c.gearA], toward)) * float64(c.zB) / (2 * math.Pi)
			if math.Abs(off-math.Round(off)) > 1e-6 {
				return false
			}
		}
	}
	return !l.crowded(count)
}

// crowded says whether pinions of count equal sets would touch.
func (l *layout) crowded(count int) bool {
	type disc struct{ x, y, r float64 }
	var discs []disc
	for k := range count {
		for p, at := range l.pinions {
			x, y := polar(at.orbit, at.angle+turn(k, count))
			r := 0.0
			for _, s := range at.steps {
				r = max(r, s.radius)
			}
			for _, d := range discs {
				own := len(discs)%len(l.pinions) == p && p > 0 && d == discs[len(discs)-1] // they mesh
				if !own && math.Hypot(d.x-x, d.y-y) < 1.04*(d.r+r) {
					return true
				}
			}
			discs = append(discs, disc{x, y, r})
		}
	}
	return false
}

// pinionCount is how many pinions of a kind to draw: as many as the file says, or
// the least of 3, 4 and 5 that can be assembled, else one. assumed says that it
// is not the file's.
func (l *layout) pinionCount(set *kinematics.Gearset) (count int, assumed bool) {
	if set.PinionCount > 0 {
		return set.PinionCount, false
	}
	for count := 3; count <= 5; count++ {
		if l.fits(count) {
			return count, true
		}
	}
	return 1, true
}
