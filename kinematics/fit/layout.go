package fit

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A BasicRatio is one unknown of a layout: the teeth of a central gear over those of
// another on the same carrier, as ring/sun. On stepped pinions both count in teeth per
// tooth of their step.
type BasicRatio struct {
	Gearset     int // index into Train.Gearsets
	Over, Under int // indices into Gearset.Gears
	Name        string
	Value       exact.Frac // in the train that the layout comes from
	Low, High   float64    // what can be built
}

// A gearRow is the equation of two central gears, ratio (wOver - wC) + sign (wUnder - wC) = 0.
type gearRow struct {
	ratio                int
	over, under, carrier int // bodies
	sign                 int64
}

// A Layout is what is joined to what in a train, its basic ratios left open. It remembers
// what it was asked, and is for one goroutine at a time.
type Layout struct {
	Train  *kinematics.Train
	Ratios []BasicRatio
	// Plain says that one-way clutches of the train were left out, and what stands
	// beside them is applied in their place.
	Plain bool

	base    string // the name of the train that it comes from
	body    []int  // of each member; the housing is 0, -1 for pinions
	bodies  int
	rows    []gearRow
	columns []int // elements that a chart can list, indices into Train.Couplings
	ranges  []gear
	system  *solve.System

	quotients map[string]lookup // of states, by what is locked and the ports
	drives    map[string]drive  // by what is applied and the ports
}

// A gear is a range of a layout that drives.
type gear struct {
	index  int
	ratio  exact.Frac // in the vehicle's sense, at the values of the train
	locked []int      // couplings without slip
	marks  []mark     // parallel to Layout.columns
}

// A mark is what a range asks of an element.
type mark uint8

const (
	off mark = iota
	on
	either // it makes no difference
)

// Layouts returns the layouts of some trains: each as it is and, where it has one-way
// clutches that something else can stand for, without them.
func Layouts(trains []*kinematics.Train) []*Layout {
	var list []*Layout
	for _, t := range trains {
		l := newLayout(t)
		if l == nil {
			continue
		}
		list = append(list, l)
		if p := l.plain(); p != nil {
			list = append(list, p)
		}
	}
	return list
}

// newLayout returns nil for a train that has no basic ratio to fit, or in which a
// pinion carries something, so that its own teeth count.
func newLayout(t *kinematics.Train) *Layout {
	l := &Layout{Train: t, base: t.Name, system: solve.Compile(t), quotients: map[string]lookup{},
		drives: map[string]drive{}}
	l.findBodies()
	for i := range t.Gearsets {
		if !l.addGearset(i) {
			return nil
		}
	}
	for i := range t.Couplings[:t.ElementCount] {
		if t.Couplings[i].Kind != kinematics.Pawl {
			l.columns = append(l.columns, i)
		}
	}
	for i := range t.Ranges {
		if g, ok := l.gear(i); ok {
			l.ranges = append(l.ranges, g)
		}
	}
	if len(l.Ratios) == 0 || len(l.ranges) == 0 {
		return nil
	}
	return l
}

// hasMember says whether the layout has a member whose speed can be told.
func (l *Layout) hasMember(name string) bool {
	m, ok := l.Train.Member(name)
	return ok && l.body[m] >= 0
}

// HasGear says whether the layout has a gear of that name.
func (l *Layout) HasGear(name string) bool {
	m, ok := l.Train.Member(name)
	return ok && slices.ContainsFunc(l.Train.Gearsets, func(g kinematics.Gearset) bool {
		return slices.ContainsFunc(g.Gears, func(x kinematics.Gear) bool { return x.Member == m })
	})
}

// findBodies numbers what turns as one for good.
func (l *Layout) findBodies() {
	t := l.Train
	u := newUnion(len(t.Members))
	for _, c := range t.Couplings {
		if c.Kind == kinematics.Spline {
			u.join(int(c.A), int(c.B))
		}
	}
	l.body, l.bodies = u.number(func(i int) bool {
		return t.Members[i].Kind == kinematics.PinionMember && u.find(i) == i
	})
}

// addGearset adds the basic ratios of a gearset and their rows.
func (l *Layout) addGearset(i int) bool {
	t := l.Train
	g := &t.Gearsets[i]
	if len(g.Gears) < 2 || l.body[g.Carrier] < 0 {
		return false
	}
	for _, p := range g.Pinions {
		if l.body[p.Member] >= 0 {
			return false
		}
	}
	base := baseGear(g)
	for k := range g.Gears {
		if k == base {
			continue
		}
		over, under := k, base
		if g.Gears[base].Internal {
			over, under = base, k
		}
		r := BasicRatio{Gearset: i, Over: over, Under: under, Value: teethOf(g, over, under),
			Name: fmt.Sprintf("%s %s/%s", g.Name, g.Gears[over].Part, g.Gears[under].Part)}
		r.Low, r.High = buildable(t, g, over, under)
		l.rows = append(l.rows, gearRow{ratio: len(l.Ratios), over: l.body[g.Gears[over].Member],
			under: l.body[g.Gears[under].Member], carrier: l.body[g.Carrier], sign: senseOf(t, g, over, under)})
		l.Ratios = append(l.Ratios, r)
	}
	return true
}

// baseGear is the gear that the others are compared with: the ring where there is one
// beside several suns, else the first.
func baseGear(g *kinematics.Gearset) int {
	if len(g.Gears) > 2 && !g.Steps() {
		if i := slices.IndexFunc(g.Gears, func(x kinematics.Gear) bool { return x.Internal }); i >= 0 {
			return i
		}
	}
	return 0
}

// teethOf is the basic ratio by the teeth of the train.
func teethOf(g *kinematics.Gearset, over, under int) exact.Frac {
	a, b := g.Gears[over], g.Gears[under]
	r := exact.NewFrac(a.Teeth, b.Teeth)
	if g.Steps() {
		r = r.Mul(exact.NewFrac(b.PinionTeeth, a.PinionTeeth))
	}
	return r
}

// buildable bounds a basic ratio by what gears can be made: common practice, no source.
func buildable(t *kinematics.Train, g *kinematics.Gearset, over, under int) (low, high float64) {
	a, b := g.Gears[over], g.Gears[under]
	switch {
	case g.Steps():
		return 1. / 16, 16
	case a.Internal && !b.Internal:
		return 17. / 16, 12
	case len(g.Pinions) == 0 && t.Meshes[g.Meshes[0]].Kind == kinematics.Internal && a.Teeth > b.Teeth:
		return 17. / 16, 12 // the ring is the one with more teeth
	case len(g.Pinions) == 0 && t.Meshes[g.Meshes[0]].Kind == kinematics.Internal:
		return 1. / 12, 16. / 17
	case g.Kind.Facts().Across:
		return 1. / 4, 4
	}
	return 1. / 8, 8
}

// senseOf is +1 where two central gears turn oppositely seen from the carrier, else -1.
func senseOf(t *kinematics.Train, g *kinematics.Gearset, over, under int) int64 {
	if len(g.Pinions) == 0 {
		return t.Meshes[g.Meshes[0]].Kind.Sign()
	}
	if g.Gears[over].TurnsAs(&g.Gears[under]) {
		return -1
	}
	return 1
}

// gear returns a range that drives, with what holds in it.
func (l *Layout) gear(i int) (gear, bool) {
	t := l.Train
	r := &t.Ranges[i]
	st := t.In(r)
	k := l.system.Kernel()
	o := k.Outcome(st)
	ratio, drives := o.Ratio()
	if !drives {
		return gear{}, false
	}
	g := gear{index: i, ratio: ratio.Mul(exact.Int(int64(t.Forward))), marks: make([]mark, len(l.columns))}
	motion := l.system.Motion(st)
	for c, e := range l.columns {
		coupling := &t.Couplings[e]
		switch {
		case coupling.Kind != kinematics.OneWay:
			if r.Applies(e) {
				g.marks[c] = on
			}
		case coupling.Switched && !r.Applies(e):
		default:
			g.marks[c] = holding(k, st, e, ratio, motion.Slips[e])
		}
	}
	g.locked = lockedOf(t, st, motion)
	return g, true
}

// holding says whether a one-way clutch holds: it is needed for the ratio.
func holding(k *solve.Kernel, st kinematics.State, e int, ratio exact.Frac, slip solve.Speed) mark {
	if v, one := slip.Point(); !one || v.Sign() != 0 {
		return off
	}
	without := st.Clone()
	without.Modes[e] = kinematics.Open
	if r, drives := k.Outcome(without).Ratio(); drives && r.Cmp(ratio) == 0 {
		return either
	}
	return on
}

// lockedOf returns the elements that have no slip in a motion, one-way clutches among them.
func lockedOf(t *kinematics.Train, st kinematics.State, m *solve.Motion) []int {
	var locked []int
	for i := range t.Couplings[:t.ElementCount] {
		switch st.Modes[i] {
		case kinematics.Locked:
			locked = append(locked, i)
		case kinematics.Overruns, kinematics.Reversed:
			if v, one := m.Slips[i].Point(); one && v.Sign() == 0 {
				locked = append(locked, i)
			}
		}
	}
	return locked
}

// A union joins numbers into groups.
type union []int

func newUnion(n int) union {
	u := make(union, n)
	for i := range u {
		u[i] = i
	}
	return u
}

func (u union) find(i int) int {
	for u[i] != i {
		i = u[i]
	}
	return i
}

// join keeps the lower number as the name of the group.
func (u union) join(a, b int) {
	a, b = u.find(a), u.find(b)
	u[max(a, b)] = min(a, b)
}

// number numbers the groups in their order, that of 0 first, and counts them; what is left out
// has -1.
func (u union) number(out func(i int) bool) (of []int, groups int) {
	numbers := map[int]int{u.find(0): 0}
	for i := range u {
		if out(i) {
			of = append(of, -1)
			continue
		}
		root := u.find(i)
		if _, ok := numbers[root]; !ok {
			numbers[root] = len(numbers)
		}
		of = append(of, numbers[root])
	}
	return of, len(numbers)
}
