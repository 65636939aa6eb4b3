package plots

import (
	"cmp"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// An anatomy is what a half-section is made of, before it is laid out. Places
// inside a gearset count columns from the left and rows from the axis outwards.
type anatomy struct {
	bodies        *kinematics.Bodies
	list          []kinematics.MemberID // the bodies that lines are drawn for
	index         map[kinematics.MemberID]int
	rows          int            // of the gearsets
	sets          []setShape     // by gearset
	elements      []elementShape // by element
	input, output int            // indices into list, -1 for none
}

// A setShape is a gearset as boxes on a grid.
type setShape struct {
	columns int
	column  float64 // width of a column
	boxes   []gearBox
	meshes  []meshMark
	links   [][2]int // boxes of one pinion
	exits   []terminal
	arms    []float64 // rows at which the carrier passes behind the boxes
	stem    float64   // column at which the arm of a bevel pinion leaves it upwards, 0 for none
}

// A gearBox is a gear or pinion; rows from low to high.
type gearBox struct {
	member    kinematics.MemberID
	teeth     int64 // 0 if not known
	lines     []string
	column    int // the first
	more      int // columns that it reaches over besides
	low, high int
	pinion    bool
	slant     int // 1 where the upper edge is that of a bevel, -1 where the lower is
}

// slantHigh is how far the edge of a bevel rises from one side of its box to the other.
const slantHigh = 12

// slanted are the corners of a box whose upper or lower edge may rise to the right.
func (b box) slanted(slant int, rise float64) []point {
	q := b.corners()
	if slant > 0 {
		q[0].y, q[1].y = q[0].y+rise/2, q[1].y-rise/2
	} else if slant < 0 {
		q[2].y, q[3].y = q[2].y-rise/2, q[3].y+rise/2
	}
	return q
}

// width is how wide the box is, with columns of this width.
func (g *gearBox) width(column float64) float64 { return float64(1+g.more)*column - 6 }

// A meshMark joins two boxes that mesh.
type meshMark struct {
	a, b     int // boxes
	sideways bool
	chain    bool
	bevels   bool
}

// A terminal is where a body takes hold of a gearset.
type terminal struct {
	member kinematics.MemberID
	body   int // index into anatomy.list, -1 for the housing
	// A ring can leave upwards, a sun downwards; a carrier only to a side.
	up, down bool
	column   int
	row      float64 // of the middle of the box or arm
	high     int     // of the box
	box      int     // -1 for a carrier
}

// An elementShape is an element between two bodies.
type elementShape struct {
	a, b  int // indices into anatomy.list, -1 for the housing
	width float64
}

// Sizes of a half-section.
const (
	rowStep     = 27
	boxGap      = 6 // between boxes that mesh
	leastColumn = 46
	laneStep    = 11
	setPad      = 13
	trackStep   = 26
)

var boxScript = script{size: 7.5}

// newAnatomy takes a train apart for ranges with this input and output.
func newAnatomy(b *kinematics.Bodies, r *ruler, input, output kinematics.MemberID) *anatomy {
	t := b.Train
	a := &anatomy{bodies: b, index: map[kinematics.MemberID]int{}, rows: 3}
	for _, g := range t.Gearsets {
		switch g.Layout() {
		case kinematics.Nested:
			a.rows = max(a.rows, 4)
		case kinematics.Facing:
			a.rows = max(a.rows, len(facing(&g))+2)
		}
	}
	for i := range t.Gearsets {
		a.sets = append(a.sets, a.set(r, &t.Gearsets[i]))
	}
	for _, c := range t.Couplings[:t.ElementCount] {
		e := elementShape{a: a.body(c.A), b: a.body(c.B)}
		words := c.Kind.String() + ", " + string(reading.Overruns)
		if c.Kind == kinematics.OneWay {
			words += ", reversed"
		}
		e.width = math.Ceil(max(r.width(elementScript, c.Name), r.width(stateScript, words))) + 26
		a.elements = append(a.elements, e)
	}
	a.input, a.output = a.body(input), a.body(output)
	return a
}

// body returns the index of the body of a member, -1 for the housing.
func (a *anatomy) body(m kinematics.MemberID) int {
	body := a.bodies.Of[m]
	if body == a.bodies.Of[kinematics.Housing] {
		return -1
	}
	i, known := a.index[body]
	if !known {
		i = len(a.list)
		a.index[body] = i
		a.list = append(a.list, body)
	}
	return i
}

// set puts the gears and pinions of a gearset on a grid.
func (a *anatomy) set(r *ruler, set *kinematics.Gearset) setShape {
	var s setShape
	top := a.rows - 1
	box := func(m kinematics.MemberID, part string, z int64, column, low, high int, pinion bool) int {
		s.boxes = append(s.boxes, gearBox{member: m, teeth: z, lines: boxLines(part, z, set.RatioOnly), column: column,
			low: low, high: high, pinion: pinion})
		s.columns = max(s.columns, column+1)
		return len(s.boxes) - 1
	}
	gear := func(gear *kinematics.Gear, column, low, high int) int {
		i := box(gear.Member, gear.Part, gear.Teeth, column, low, high, false)
		s.exits = append(s.exits, terminal{member: gear.Member, body: a.body(gear.Member), up: low > 0, down: low == 0,
			column: column, row: float64(low+high) / 2, high: high, box: i})
		return i
	}
	mesh := func(i, k int, sideways bool) { s.meshes = append(s.meshes, meshMark{a: i, b: k, sideways: sideways}) }
	arm := float64(a.rows) / 2
	switch set.Layout() {
	case kinematics.Axles:
		middle := (a.rows + 1) / 2
		low, high := gear(&set.Gears[0], 0, 0, middle), gear(&set.Gears[1], 0, middle, a.rows)
		mesh(low, high, false)
		if s.meshes[0].bevels = set.Bevels; set.Bevels {
			s.boxes[low].slant, s.boxes[high].slant = 1, -1
		}
		s.meshes[0].chain = a.bodies.Train.Meshes[set.Meshes[0]].Kind == kinematics.Chain
		arm = float64(middle)
	case kinematics.Facing:
		a.facing(set, &s, box, gear, mesh)
		arm = float64(top) + 0.5
	case kinematics.Nested:
		sun, ring := gear(&set.Gears[0], 0, 0, 1), gear(&set.Gears[1], 0, top, top+1)
		inner := box(set.Pinions[0].Member, set.Pinions[0].Part, set.Pinions[0].Teeth, 0, 1, 2, true)
		outer := box(set.Pinions[1].Member, set.Pinions[1].Part, set.Pinions[1].Teeth, 0, 2, 3, true)
		mesh(sun, inner, false)
		mesh(inner, outer, false)
		mesh(outer, ring, false)
		s.arms = append(s.arms, 2.5)
		arm = 1.5
	default:
		a.beside(set, &s, box, gear, mesh)
	}
	s.arms = append(s.arms, arm)
	if set.Carrier != kinematics.Housing || set.Planetary() {
		s.exits = append(s.exits, terminal{member: set.Carrier, body: a.body(set.Carrier), column: s.columns - 1,
			row: arm, box: -1})
	} else {
		s.arms = nil
	}
	s.column = leastColumn
	for _, b := range s.boxes {
		s.column = max(s.column, math.Ceil(r.widest(boxScript, b.lines...))+12)
	}
	return s
}

// A facingStep is a step of a pinion that lies across, with the gears on its sides.
type facingStep struct {
	teeth int64
	sides [2]*kinematics.Gear // near and far
}

// facing returns the steps of a pinion that lies across, the smallest, which is next
// to the axis, first.
func facing(set *kinematics.Gearset) []facingStep {
	var steps []facingStep
	for i := range set.Gears {
		g, side := &set.Gears[i], 0
		if g.Far {
			side = 1
		}
		k := slices.IndexFunc(steps, func(st facingStep) bool { return st.teeth == g.PinionTeeth && st.sides[side] == nil })
		if k < 0 {
			k = len(steps)
			steps = append(steps, facingStep{teeth: g.PinionTeeth})
		}
		steps[k].sides[side] = g
	}
	kinematics.Sort(steps, func(x, y facingStep) int { return cmp.Compare(x.teeth, y.teeth) })
	return steps
}

// facing lays out a pinion that lies across: its steps one above the other, the gears
// on either side. On each side the lowest gear leaves downwards, the highest upwards;
// those between them stand further out.
func (a *anatomy) facing(set *kinematics.Gearset, s *setShape,
	box func(kinematics.MemberID, string, int64, int, int, int, bool) int,
	gear func(*kinematics.Gear, int, int, int) int, mesh func(int, int, bool)) {
	steps := facing(set)
	var between [2][]int // steps of the gears that stand further out
	for side := range between {
		for k := 1; k < len(steps)-1; k++ {
			if steps[k].sides[side] != nil {
				between[side] = append(between[side], k)
			}
		}
	}
	middle := 1 + len(between[0])
	s.stem = float64(middle) + 0.5
	p, below := set.Pinions[0], 0
	for k, st := range steps {
		low, high := k+1, k+2
		if k == len(steps)-1 {
			high = a.rows - 1
		}
		pinion := box(p.Member, p.Part, st.teeth, middle, low, high, true)
		if k > 0 {
			s.links = append(s.links, [2]int{below, pinion})
		}
		below = pinion
		if k == 0 {
			low = 0
		}
		for side, g := range st.sides {
			if g == nil {
				continue
			}
			out := 2*side - 1
			column := middle + out*(1+slices.Index(between[side], k)+1)
			i := gear(g, column, low, high)
			s.boxes[i].column, s.boxes[i].more = min(column, middle+1), max(column-middle, middle-column)-1
			if side == 0 {
				mesh(i, pinion, true)
			} else {
				mesh(pinion, i, true)
			}
		}
	}
}

// beside lays out sets with pinions side by side: a column for each pinion, or
// each step of a pinion, with the suns below and the rings above that mesh it.
func (a *anatomy) beside(set *kinematics.Gearset, s *setShape,
	box func(kinematics.MemberID, string, int64, int, int, int, bool) int,
	gear func(*kinematics.Gear, int, int, int) int, mesh func(int, int, bool)) {
	top := a.rows - 1
	type step struct {
		pinion    int
		teeth     int64
		sun, ring bool
		box       int
	}
	var steps []step
	for i := range set.Gears {
		g := &set.Gears[i]
		fits := func(st step) bool {
			return st.pinion == g.Pinion && (!set.Steps() || st.teeth == g.PinionTeeth) &&
				(g.Internal && !st.ring || !g.Internal && !st.sun)
		}
		k := slices.IndexFunc(steps, fits)
		if k < 0 {
			k = len(steps)
			p := set.Pinions[g.Pinion]
			z := p.Teeth
			if set.Steps() {
				z = g.PinionTeeth
			}
			steps = append(steps, step{pinion: g.Pinion, teeth: g.PinionTeeth, box: box(p.Member, p.Part, z, k, 1, top, true)})
		}
		if g.Internal {
			steps[k].ring = true
			mesh(steps[k].box, gear(g, k, top, top+1), false)
		} else {
			steps[k].sun = true
			mesh(gear(g, k, 0, 1), steps[k].box, false)
		}
	}
	// A pinion that meshes no central gear of this set.
	for i, p := range set.Pinions {
		if !slices.ContainsFunc(steps, func(st step) bool { return st.pinion == i }) {
			steps = append(steps, step{pinion: i, box: box(p.Member, p.Part, p.Teeth, len(steps), 1, top, true)})
		}
	}
	for k := 1; k < len(steps); k++ {
		if steps[k].pinion == steps[k-1].pinion {
			s.links = append(s.links, [2]int{steps[k-1].box, steps[k].box})
		} else {
			mesh(steps[k-1].box, steps[k].box, true)
		}
	}
}

// boxLines is a part with its teeth on one or two lines.
func boxLines(part string, z int64, ratioOnly bool) []string {
	text := teeth(part, z, ratioOnly)
	if len(text) > len(part) && len(part) > 6 {
		return []string{part, text[len(part)+1:]}
	}
	return []string{text}
}
