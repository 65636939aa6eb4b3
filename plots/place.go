package plots

import (
	"cmp"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Place is a body on the line of a group of gearsets.
type Place struct {
	Body kinematics.MemberID // the lowest member of the body
	// At is the place of the body: any motion of the gearsets gives it a speed
	// that is linear in At. The first place is 0 and the last is 1.
	At exact.Frac
	// X is where the axis is drawn, 0 to 1, and Moved says that it is not to scale.
	X     float64
	Moved bool
}

// A Group is a set of gearsets that turn together on one line: each shares two
// bodies with the rest.
type Group struct {
	Gearsets []int // indices into Train.Gearsets
	Places   []Place
}

// title is the names of its gearsets.
func (g *Group) title(t *kinematics.Train) string {
	return strings.Join(t.GearsetNames(g.Gearsets), " + ")
}

// groupsOf puts the gearsets of a train into groups.
func groupsOf(b *kinematics.Bodies, pinions bool) []Group {
	var groups []Group
	for i := range b.Train.Gearsets {
		groups = append(groups, Group{Gearsets: []int{i}, Places: placesOf(b, i, pinions)})
	}
	for joined := true; joined; {
		joined = false
		for i := 0; i < len(groups); i++ {
			for k := i + 1; k < len(groups); k++ {
				if g, ok := merge(&groups[i], &groups[k]); ok {
					groups[i] = g
					groups = slices.Delete(groups, k, k+1)
					joined = true
					k = i
				}
			}
		}
	}
	for i := range groups {
		groups[i].order()
		groups[i].spread()
	}
	return groups
}

// placesOf places the bodies of one gearset: the carrier at 0, every gear at its
// speed seen from the carrier when the first gear there turns with -1, so that
// for a simple set the sun stands at -1 and the ring at zs/zr.
func placesOf(b *kinematics.Bodies, g int, pinions bool) []Place {
	t := b.Train
	set := &t.Gearsets[g]
	seen := map[kinematics.MemberID]exact.Frac{set.Gears[0].Member: exact.NewFrac(-1, 1)}
	for range set.Meshes { // a tree of meshes: each round reaches one gear more
		for _, i := range set.Meshes {
			m := &t.Meshes[i]
			// ZA kA + sign ZB kB = 0
			if k, ok := seen[m.A]; ok {
				seen[m.B] = k.Mul(exact.NewFrac(-m.Kind.Sign()*m.ZA, m.ZB))
			} else if k, ok := seen[m.B]; ok {
				seen[m.A] = k.Mul(exact.NewFrac(-m.Kind.Sign()*m.ZB, m.ZA))
			}
		}
	}
	var places []Place
	put := func(id kinematics.MemberID, at exact.Frac) {
		body := b.Of[id]
		if !slices.ContainsFunc(places, func(p Place) bool { return p.Body == body }) {
			places = append(places, Place{Body: body, At: at})
		}
	}
	put(set.Carrier, exact.NewFrac(0, 1))
	for _, gear := range set.Gears {
		put(gear.Member, seen[gear.Member])
	}
	for _, p := range set.Pinions {
		k, known := seen[p.Member]
		if known && !t.Members[p.Member].Unknown && (pinions || used(b.Train, p.Member)) {
			put(p.Member, k)
		}
	}
	return places
}

// used says whether a pinion is joined or coupled to something, or carries a
// train of its own.
func used(t *kinematics.Train, pinion kinematics.MemberID) bool {
	touches := func(c kinematics.Coupling) bool { return c.A == pinion || c.B == pinion }
	carries := func(g kinematics.Gearset) bool { return g.Carrier == pinion }
	return slices.ContainsFunc(t.Couplings, touches) || slices.ContainsFunc(t.Gearsets, carries)
}

// merge puts the places of h onto the line of g, if they share two bodies that
// stand apart on both: at' = g1 + (at - h1) (g2 - g1) / (h2 - h1).
func merge(g, h *Group) (Group, bool) {
	var shared [][2]exact.Frac
	for _, p := range g.Places {
		for _, q := range h.Places {
			if p.Body == q.Body {
				shared = append(shared, [2]exact.Frac{p.At, q.At})
			}
		}
	}
	if len(shared) < 2 {
		return Group{}, false
	}
	first, second := shared[0], shared[1]
	dg, dh := second[0].Sub(first[0]), second[1].Sub(first[1])
	if dg.Sign() == 0 || dh.Sign() == 0 {
		return Group{}, false
	}
	moved := func(at exact.Frac) exact.Frac { return first[0].Add(at.Sub(first[1]).Mul(dg).Mul(dh.Inv())) }
	for _, s := range shared[2:] {
		if moved(s[1]).Cmp(s[0]) != 0 {
			return Group{}, false
		}
	}
	m := Group{Gearsets: append(slices.Clone(g.Gearsets), h.Gearsets...), Places: slices.Clone(g.Places)}
	slices.Sort(m.Gearsets)
	for _, q := range h.Places {
		if slices.ContainsFunc(g.Places, func(p Place) bool { return p.Body == q.Body }) {
			continue
		}
		m.Places = append(m.Places, Place{Body: q.Body, At: moved(q.At)})
	}
	return m, true
}

// order sorts the places and stretches the line to 0 .. 1.
func (g *Group) order() {
	kinematics.Sort(g.Places, func(p, q Place) int { return p.At.Cmp(q.At) })
	low, high := g.Places[0].At, g.Places[len(g.Places)-1].At
	span := high.Sub(low)
	if span.Sign() == 0 {
		return
	}
	for i := range g.Places {
		g.Places[i].At = g.Places[i].At.Sub(low).Mul(span.Inv())
	}
}

// The least distance of two axes that are drawn to scale, and what closer ones
// are spread to, as shares of the line.
const (
	closest  = 0.03
	spreadTo = 0.1
)

// spread says where the places are drawn: those too close to be told apart further apart.
func (g *Group) spread() {
	x := 0.0
	for i := 1; i < len(g.Places); i++ {
		last, p := &g.Places[i-1], &g.Places[i]
		step := p.At.Sub(last.At).Float()
		if step < closest {
			step, last.Moved, p.Moved = spreadTo, true, true
		}
		x += step
		p.X = x
	}
	for i := range g.Places {
		if x > 0 {
			g.Places[i].X /= x
		}
	}
}

// ascending are the places of values in their order.
func ascending(values []float64) []int {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	return order
}

// apart moves values as little as needed so that neighbours are at least a gap
// apart and all lie within low and high if there is room. The order stays.
func apart(values []float64, gap, low, high float64) []float64 {
	order := ascending(values)
	// A block of n values that touch starts where the mean of what they want,
	// each less its distance from the start, would have it.
	type block struct {
		start, sum float64
		n          int
	}
	settle := func(b *block) {
		b.start = min(max(b.sum/float64(b.n), low), max(high-gap*float64(b.n-1), low))
	}
	var blocks []block
	for _, i := range order {
		b := block{sum: values[i], n: 1}
		settle(&b)
		for len(blocks) > 0 {
			last := blocks[len(blocks)-1]
			if last.start+gap*float64(last.n) <= b.start {
				break
			}
			b = block{sum: last.sum + b.sum - gap*float64(last.n*b.n), n: last.n + b.n}
			settle(&b)
			blocks = blocks[:len(blocks)-1]
		}
		blocks = append(blocks, b)
	}
	out := make([]float64, len(values))
	k := 0
	for _, b := range blocks {
		for j := range b.n {
			out[order[k]] = b.start + gap*float64(j)
			k++
		}
	}
	return out
}
