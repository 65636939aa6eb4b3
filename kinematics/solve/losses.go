package solve

import (
	"context"
	"fmt"
	"math/bits"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// Losses say what the gears lose while they roll under load. Gears that turn
// with their carrier as one lose nothing; bearings, churning and the drag of
// released clutches are not counted.
type Losses struct {
	// External, Internal and Chain are efficiencies of one mesh: what the driven
	// gear gets, of what the driving one gives, as seen from the carrier.
	External, Internal, Chain exact.Frac
	// Basic are efficiencies of whole gearsets with the carrier held, parallel to
	// Train.Gearsets: what the driven central gears get of what the driving ones
	// give, as seen from the carrier. Where it is not nil it is used in place of
	// those of the meshes.
	Basic []exact.Frac
}

// NoLosses are efficiencies of 1.
func NoLosses() Losses {
	one := exact.NewFrac(1, 1)
	return Losses{External: one, Internal: one, Chain: one}
}

// DefaultLosses are 0.985 for an external mesh or a chain and 0.99 for an
// internal mesh: assumptions, of the size that is usual for ground and well
// lubricated gears (common practice, no source).
func DefaultLosses() Losses {
	return Losses{External: exact.NewFrac(197, 200), Internal: exact.NewFrac(99, 100), Chain: exact.NewFrac(197, 200)}
}

// of returns the efficiency that counts for contact c.
func (l *Losses) of(c *contact) exact.Frac {
	switch {
	case l.Basic != nil:
		return l.Basic[c.gearset]
	case c.kind == kinematics.Internal:
		return l.Internal
	case c.kind == kinematics.Chain:
		return l.Chain
	}
	return l.External
}

// mostDirections is how many combinations of directions of power flow are tried.
const mostDirections = 4096

// A flow is a choice of the direction of power through every contact, as seen
// from its carrier: 1 if gear a drives, -1 if gear b does, 0 where it does not
// matter.
type flow []int8

// onPinion says whether either gear is a pinion.
func (c *contact) onPinion(t *kinematics.Train) bool {
	return t.Members[c.a].Kind == kinematics.PinionMember || t.Members[c.b].Kind == kinematics.PinionMember
}

// open marks the contacts whose direction matters: those that roll and lose something.
func (b *freeBodies) open(l *Losses, r []roll) []bool {
	one := exact.Int(1)
	open := make([]bool, len(b.contacts))
	for i := range b.contacts {
		c := &b.contacts[i]
		open[i] = r[i].a.Sign() != 0 && l.of(c).Cmp(one) != 0 && (l.Basic == nil || c.central || !c.onPinion(b.t))
	}
	return open
}

// A tracer finds the directions of power flow that one way to carry a load allows. It
// goes outward from the input: a body at which one load alone is not known gives
// that load, and its sign gives the direction of the power and so what is lost; the
// next body then has one unknown less. Only where power runs in a circle no body
// has one unknown alone: there both directions are tried.
type tracer struct {
	b        *freeBodies
	l        *Losses
	r        []roll
	open     []bool
	contacts []int       // that the way loads
	at       [][]unknown // by body, what the way loads there
	yield    func(flow) bool
	left     *int // how many combinations may still be tried
}

// A trace is what is known so far. A load that is not known has the zero Frac.
type trace struct {
	f      flow
	load   []exact.Frac // of contacts
	torque []exact.Frac // of classes
	output exact.Frac
	known  [3][]bool // contact, class, output
}

func (b *freeBodies) newTrace() *trace {
	return &trace{
		f: make(flow, len(b.contacts)), load: zeros(len(b.contacts)), torque: zeros(len(b.classes.classes)),
		output: exact.Int(0),
		known:  [3][]bool{make([]bool, len(b.contacts)), make([]bool, len(b.classes.classes)), make([]bool, 1)},
	}
}

func (x *trace) clone() *trace {
	y := *x
	y.f, y.load, y.torque = slices.Clone(x.f), slices.Clone(x.load), slices.Clone(x.torque)
	for i := range y.known {
		y.known[i] = slices.Clone(x.known[i])
	}
	return &y
}

// An unknown is a contact, a class or the output, as the sorts of trace.known.
type unknown struct{ sort, index int }

// loads notes what the way loads: contacts, classes of couplings and the output.
func (t *tracer) loads(w *loading) {
	b := t.b
	t.at = make([][]unknown, b.size)
	add := func(u unknown, members ...kinematics.MemberID) {
		for _, m := range members {
			if row := b.row[m]; row >= 0 && !slices.Contains(t.at[row], u) {
				t.at[row] = append(t.at[row], u)
			}
		}
	}
	for i := range b.contacts {
		if c := &b.contacts[i]; w.contact[i].Sign() != 0 {
			t.contacts = append(t.contacts, i)
			add(unknown{0, i}, c.a, c.b, c.carrier)
		}
	}
	for k, c := range b.classes.classes {
		if slices.ContainsFunc(c.couplings, func(i int) bool { return w.torque[i].Sign() != 0 }) {
			x := &b.t.Couplings[c.couplings[0]]
			add(unknown{1, k}, x.A, x.B)
		}
	}
	add(unknown{2, 0}, b.st.Output)
}

// coefficient is that of an unknown in the equation of a body, for the flow so far.
func (t *tracer) coefficient(x *trace, u unknown, body int) exact.Frac {
	b := t.b
	switch u.sort {
	case 1:
		return intFrac(b.classes.classes[u.index].column.Big[body])
	case 2:
		return exact.Int(1)
	}
	c := &b.contacts[u.index]
	ta, tb := c.torques(exact.Int(1), b.factorsOf(t.l, x.f, u.index))
	sum := exact.Int(0)
	if b.row[c.a] == body {
		sum = sum.Add(ta)
	}
	if b.row[c.b] == body {
		sum = sum.Add(tb)
	}
	if b.row[c.carrier] == body {
		sum = sum.Sub(ta.Add(tb))
	}
	return sum
}

// rest is what the known loads, and the torque at the input, do to a body.
func (t *tracer) rest(x *trace, body int) exact.Frac {
	sum := exact.Int(0)
	if t.b.row[t.b.st.Input] == body {
		sum = exact.Int(t.b.input)
	}
	for _, u := range t.at[body] {
		if x.known[u.sort][u.index] {
			sum = sum.Add(t.coefficient(x, u, body).Mul(*x.value(u)))
		}
	}
	return sum
}

func (x *trace) value(u unknown) *exact.Frac {
	switch u.sort {
	case 0:
		return &x.load[u.index]
	case 1:
		return &x.torque[u.index]
	}
	return &x.output
}

// follow goes on from what is known. It returns false to end the search.
func (t *tracer) follow(x *trace) bool {
	for body := range t.b.size {
		var one unknown
		n := 0
		for _, u := range t.at[body] {
			if !x.known[u.sort][u.index] {
				one = u
				n++
			}
		}
		if n == 1 && !(one.sort == 0 && t.undecided(x, one.index)) && t.coefficient(x, one, body).Sign() == 0 {
			n = 0 // it does nothing here
		}
		if n != 1 {
			continue
		}
		return t.settle(x, body, one)
	}
	// No body settles anything: try a direction.
	for _, i := range t.contacts {
		if t.undecided(x, i) {
			for _, d := range []int8{1, -1} {
				y := x.clone()
				y.f[i] = d
				if !t.follow(y) {
					return false
				}
			}
			return true
		}
	}
	if *t.left--; *t.left < 0 {
		return false
	}
	return t.yield(x.f)
}

// undecided says whether the direction through contact i is still to be found.
func (t *tracer) undecided(x *trace, i int) bool { return t.open[i] && x.f[i] == 0 }

// settle finds the one unknown of a body, for each direction that agrees with its
// sign.
func (t *tracer) settle(x *trace, body int, u unknown) bool {
	directions := []int8{0}
	if u.sort == 0 {
		if directions[0] = x.f[u.index]; t.undecided(x, u.index) {
			directions = []int8{1, -1}
		}
	}
	for _, d := range directions {
		y := x.clone()
		if u.sort == 0 {
			y.f[u.index] = d
		}
		c := t.coefficient(y, u, body)
		if c.Sign() == 0 {
			continue
		}
		*y.value(u) = t.rest(y, body).Neg().Mul(c.Inv())
		y.known[u.sort][u.index] = true
		if u.sort == 0 && d != 0 && !t.b.drives(y.load[u.index], u.index, t.b.factorsOf(t.l, y.f, u.index), t.r, d) {
			continue
		}
		if !t.follow(y) {
			return false
		}
	}
	return true
}

// factors returns the loss factors of a flow: the driven gear gets the
// efficiency. In a basic train that is a driven central gear only.
func (b *freeBodies) factors(l *Losses, f flow) []factors {
	list := make([]factors, len(b.contacts))
	for i := range b.contacts {
		list[i] = b.factorsOf(l, f, i)
	}
	return list
}

func (b *freeBodies) factorsOf(l *Losses, f flow, i int) factors {
	c, x := &b.contacts[i], factors{exact.Int(1), exact.Int(1)}
	switch {
	case f[i] < 0:
		x.a = l.of(c)
	case f[i] > 0 && (l.Basic == nil || !c.central):
		x.b = l.of(c)
	}
	return x
}

// drives says whether a load sends power through contact i in direction d, if at all.
func (b *freeBodies) drives(load exact.Frac, i int, f factors, r []roll, d int8) bool {
	ta, _ := b.contacts[i].torques(load, f)
	// The mesh takes power from gear a where it pushes against its motion.
	return load.Sign() == 0 || -ta.Sign()*r[i].a.Sign() == int(d)
}

// agrees says whether a loading sends power the way the flow says through every
// contact that rolls, and loads only contacts that it has a direction for.
func (b *freeBodies) agrees(x *loading, f flow, loss []factors, known []bool, r []roll) bool {
	for i := range b.contacts {
		if x.contact[i].Sign() == 0 || r[i].known && r[i].a.Sign() == 0 {
			continue
		}
		if !known[i] {
			return false
		}
		if f[i] != 0 && !b.drives(x.contact[i], i, loss[i], r, f[i]) {
			return false
		}
	}
	return true
}

// A lossy loading is one with the factors that belong to it.
type lossy struct {
	loading
	loss []factors
}

// withLosses finds every loading whose own directions of power flow agree with
// its losses and whose efficiency is above 0 and at most 1. Where they agree no
// mesh gains power, so that it is at most 1; but it can be below 0, with power
// drawn in at both ends. speed is the output speed per turn of the input. Directions
// are traced through each of the ways without losses. all says whether the list is
// whole, ok whether all directions could be tried.
func (b *freeBodies) withLosses(l *Losses, ways []loading, r []roll, speed exact.Frac,
	limit search) (list []lossy, all, ok bool) {
	all = true
	seen, tried := map[string]bool{}, map[string]bool{}
	open, left := b.open(l, r), mostDirections
	for _, w := range ways {
		t := &tracer{b: b, l: l, r: r, open: open, left: &left}
		t.loads(&w)
		use := make([]bool, len(b.contacts))
		for _, i := range t.contacts {
			use[i] = true
		}
		t.yield = func(f flow) bool {
			key := fmt.Sprint(use, f)
			if tried[key] {
				return true
			}
			tried[key] = true
			loss := b.factors(l, f)
			found, whole := b.solve(loss, use, limit)
			all = all && whole
			for _, x := range found {
				if b.agrees(&x, f, loss, use, r) && b.efficient(&x, speed) && !seen[x.key()] {
					seen[x.key()] = true
					list = append(list, lossy{x, loss})
				}
			}
			return true
		}
		if !t.follow(b.newTrace()) {
			return list, all, false
		}
	}
	return list, all, true
}

// efficient says whether a loading has an efficiency above 0 and at most 1.
func (b *freeBodies) efficient(x *loading, speed exact.Frac) bool {
	e := b.efficiency(x, speed)
	return e.Sign() > 0 && e.Cmp(exact.NewFrac(1, 1)) <= 0
}

// efficiency returns power out / power in; 0 if the output takes no power, or
// the end that should drive does not.
func (b *freeBodies) efficiency(x *loading, speed exact.Frac) exact.Frac {
	input, output := exact.NewFrac(b.input, 1), x.output.Mul(speed) // powers into the train
	if b.input < 0 {
		input, output = output, input
	}
	if input.Sign() <= 0 || output.Sign() >= 0 {
		return exact.NewFrac(0, 1)
	}
	return output.Neg().Mul(input.Inv())
}

// key tells loadings apart.
func (x *loading) key() string {
	var s []byte
	for _, list := range [][]exact.Frac{x.contact, x.torque} {
		for _, f := range list {
			s = append(append(s, f.String()...), ' ')
		}
	}
	return string(s)
}

// OverallLosses returns the basic efficiency, the same for every gearset, with
// which a state that drives has the given overall efficiency: many textbooks
// state only that. ok is false if there is none: nothing rolls, or the train locks itself
// before it gets so bad.
func (s *System) OverallLosses(ctx context.Context, st kinematics.State, overall exact.Frac) (losses Losses, ok bool) {
	const parts = 1_000_000_000_000
	basic := func(n int64) Losses {
		l := NoLosses()
		for range s.Train.Gearsets {
			l.Basic = append(l.Basic, exact.NewFrac(n, parts))
		}
		return l
	}
	efficiency := func(n int64) exact.Frac {
		best := exact.NewFrac(0, 1)
		if load := s.Pulling(ctx, st, basic(n), Usual); load != nil {
			for i := range load.Lossy {
				if e := load.Lossy[i].Power.Efficiency; e.Cmp(best) > 0 {
					best = e
				}
			}
		}
		return best
	}
	// It grows with the basic efficiency: halve the interval.
	low, high := int64(1), int64(parts)
	halvings := bits.Len64(parts)
	for n := 0; high-low > 1; n++ {
		if ctx.Err() != nil {
			return Losses{}, false
		}
		Report(ctx, "efficiencies tried", n, halvings)
		if middle := low + (high-low)/2; efficiency(middle).Cmp(overall) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	Report(ctx, "efficiencies tried", halvings, halvings)
	if efficiency(high).Sub(overall).Abs().Cmp(exact.NewFrac(1, 1_000_000_000)) > 0 {
		return Losses{}, false
	}
	return basic(high), true
}
