package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
	"tieup/plots/table"
)

// An EndOn is a gearset seen along its axis, from the input end: its gears as
// large as their teeth make them, and how fast each of them turns. A positive
// speed turns clockwise.
type EndOn struct {
	Name  string
	About string // "front: simple set, 4 pinions"
	// Width and Height are those of the picture; its origin is the middle.
	Width, Height float64
	Wheels        []Wheel // from back to front
	Marks         []Mark  // the members' numbers, in front of all wheels
	Members       []EndOnMember
	Notes         []string
	Turns         bool // something in it turns
}

// A Motion says how a shape moves: round a point with the speed Orbit, and about
// its own middle (X, Y), seen from there, with the speed Spin. Both are in turns
// per turn of the input.
type Motion struct {
	RoundX, RoundY float64
	Orbit          float64
	X, Y           float64
	Spin           float64
}

// A Wheel is a shape that can turn.
type Wheel struct {
	Motion
	Class string  // sun, ring, pinion, arms, chain: how it is painted
	State string  // held, turns, free, or "" if nothing is known of it
	Angle float64 // in degrees, at the start
	Path  string  // about the origin
}

// A Mark is the number of a member, on its wheel.
type Mark struct {
	Motion
	Number   int
	AtX, AtY float64 // where on the wheel
	R        float64
}

// Upright is the speed, seen from the wheel, at which the number stays upright.
func (m Mark) Upright() float64 { return -(m.Orbit + m.Spin) }

// TextSize is the size of the number's letters.
func (m Mark) TextSize() float64 { return 1.45 * m.R }

// An EndOnMember is a member in the list beside the picture.
type EndOnMember struct {
	Number int
	Name   string
	Teeth  string
	State  string // held, turns, free, or ""
	Words  string // how it turns: "forward +0.4032"
	Pull   string // where the input cannot turn: "forward +0.4569" of the input torque, by what is outside the set
	Arrow  string // a curve along which it turns or, with a Pull, is pulled
}

// Pulls says whether anything in the view is pulled.
func (v EndOn) Pulls() bool {
	return slices.ContainsFunc(v.Members, func(m EndOnMember) bool { return m.Pull != "" })
}

// NewEndOn draws every gearset of a train in the state of why.
func NewEndOn(why *reading.Why) []EndOn {
	var pulls []exact.Frac
	if c := why.Pulling(); c != nil {
		pulls = why.Pulls(c)
	}
	var views []EndOn
	for g := range why.Train.Gearsets {
		d := &drawer{train: why.Train, set: &why.Train.Gearsets[g], m: why.Motion, pulls: pulls}
		d.draw()
		if d.view.Pulls() {
			d.view.Notes = append(d.view.Notes, why.PulledBy(why.Pulling()))
		}
		views = append(views, d.view)
	}
	return views
}

// A drawer makes one view.
type drawer struct {
	train *kinematics.Train
	set   *kinematics.Gearset
	m     *solve.Motion
	pulls []exact.Frac // by member; nil if the input can turn
	view  EndOn
}

func (d *drawer) draw() {
	d.view.Name, d.view.About = d.set.Name, d.about()
	switch d.set.Layout() {
	case kinematics.Axles:
		d.pair()
	case kinematics.Facing:
		d.bevel()
	default:
		d.planetary()
	}
	if d.set.RatioOnly {
		d.view.Notes = append(d.view.Notes, "Only the ratio is known, so no teeth are drawn.")
	}
}

func (d *drawer) about() string {
	words := d.set.Kind.Facts().Noun
	if !d.set.Planetary() && d.mesh().Kind == kinematics.Chain {
		words = "two wheels and a chain"
	}
	if n := d.set.PinionCount; n > 0 {
		words += fmt.Sprintf(", %d pinions", n)
		if len(d.set.Pinions) > 1 {
			words += " of each kind"
		}
	}
	return d.set.Name + ": " + words
}

// mesh is the only mesh of a pair.
func (d *drawer) mesh() *kinematics.Mesh { return &d.train.Meshes[d.set.Meshes[0]] }

// speed returns the speed of a member, and whether the state fixes it.
func (d *drawer) speed(id kinematics.MemberID) (exact.Frac, bool) {
	if w := d.m.Members[id]; !w.Empty {
		return w.Point()
	}
	return exact.Frac{}, false
}

// state is the word for how a member moves.
func (d *drawer) state(id kinematics.MemberID) string {
	switch w, fixed := d.speed(id); {
	case !fixed && d.train.Members[id].Unknown:
		return ""
	case !fixed:
		return "free"
	case w.Sign() == 0:
		return "held"
	}
	return "turns"
}

// drawnAs is the state in which a wheel is drawn: a pinion whose carrier is free
// stands like a free one, even if its own speed is settled.
func (d *drawer) drawnAs(id kinematics.MemberID) string {
	if d.train.Members[id].Kind == kinematics.PinionMember && d.state(d.set.Carrier) == "free" {
		return "free"
	}
	return d.state(id)
}

// spin is the speed of a member for the animation, 0 where it is not fixed.
func (d *drawer) spin(id kinematics.MemberID) float64 {
	if w, fixed := d.speed(id); fixed {
		return w.Float()
	}
	return 0
}

// spinOn is the speed of a pinion seen from its carrier.
func (d *drawer) spinOn(pinion, carrier kinematics.MemberID) float64 {
	w, fixed := d.speed(pinion)
	wc, fixedCarrier := d.speed(carrier)
	if !fixed || !fixedCarrier {
		return 0
	}
	return w.Sub(wc).Float()
}

// teeth returns the teeth with which to draw a gear of a member, 0 for none:
// where they are not known, and where the member is free, so that a gear which
// stands in the picture does not seem to stand in the train.
func (d *drawer) teeth(id kinematics.MemberID, z int64) int64 {
	if s := d.drawnAs(id); d.set.RatioOnly || s == "free" || s == "" {
		return 0
	}
	return z
}

// A curve is where the arrow of a member lies: at an angle on a circle. The zero
// curve stands for no arrow.
type curve struct{ x, y, radius, angle float64 }

// member adds a member to the list and returns its number.
func (d *drawer) member(id kinematics.MemberID, teeth int64, at curve) int {
	m := EndOnMember{Number: len(d.view.Members) + 1, Name: d.train.Members[id].Name, State: d.state(id)}
	if teeth > 0 && !d.set.RatioOnly {
		m.Teeth = fmt.Sprint(teeth)
	}
	w, _ := d.speed(id)
	sign := 0
	switch m.State {
	case "held":
		m.Words = "at rest"
	case "free":
		m.Words = reading.Bounds(d.m.Members[id].Interval)
	case "":
		m.Words = "not given"
	default:
		sign = w.Sign()
		m.Words = way(sign) + " " + signed(w)
		d.view.Turns = true
	}
	if d.pulls != nil && m.State == "held" && d.pulls[id].Sign() != 0 {
		sign = d.pulls[id].Sign()
		m.Pull = way(sign) + " " + signed(d.pulls[id])
	}
	if sign != 0 && at.radius > 0 {
		m.Arrow = arrow(at.x, at.y, at.radius, at.angle, sign)
	}
	d.view.Members = append(d.view.Members, m)
	return m.Number
}

func way(sign int) string {
	if sign < 0 {
		return "backward"
	}
	return "forward"
}

// signed writes a number with its sign.
func signed(f exact.Frac) string {
	if f.Sign() > 0 {
		return "+" + table.Decimal(f)
	}
	return table.Decimal(f)
}

func (d *drawer) wheel(class string, id kinematics.MemberID, m Motion, angle float64, path string) {
	d.view.Wheels = append(d.view.Wheels, Wheel{
		Motion: m, Class: class, State: d.drawnAs(id), Angle: angle * 180 / math.Pi, Path: path,
	})
}

// mark puts the number of a member on a wheel.
func (d *drawer) mark(n int, m Motion, x, y, r float64) {
	d.view.Marks = append(d.view.Marks, Mark{Motion: m, Number: n, AtX: x, AtY: y, R: r})
}

// The radius of the picture of a planetary set, and of a number's disc.
const (
	pictureRadius = 100
	markRadius    = 6.5
)

// planetary draws a set whose pinions turn on a carrier about the middle.
func (d *drawer) planetary() {
	set := d.set
	l := newLayout(d.train, set)
	l.scale(pictureRadius)
	count := max(set.PinionCount, 1)
	if set.PinionCount == 0 {
		d.view.Notes = append(d.view.Notes, "The number of pinions is not given: one is drawn.")
	}
	d.view.Width, d.view.Height = 2*pictureRadius+14, 2*pictureRadius+14

	order := make([]int, len(set.Gears)) // the large ones behind
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(l.gears[b].radius, l.gears[a].radius) })
	phases := l.phases(0, count, nil)
	for rank, i := range order {
		if g := set.Gears[i]; g.Internal {
			r, m := l.gears[i].radius, Motion{Spin: d.spin(g.Member)}
			d.wheel("ring", g.Member, m, phases.gears[i], ringPath(r, d.teeth(g.Member, g.Teeth)))
			x, y := polar(r+ringWidth*0.55, math.Pi/2+0.4*float64(rank))
			d.mark(d.member(g.Member, g.Teeth, curve{radius: r + ringWidth/2, angle: -1.1 - 0.9*float64(rank)}), m, x, y, markRadius)
		}
	}
	d.carrier(l, count)
	for k := range count {
		d.pinions(l, l.phases(k, count, phases.gears), k, count)
	}
	for rank, i := range order {
		g := set.Gears[i]
		if g.Internal {
			continue
		}
		r, below := l.gears[i].radius, 0.0 // the sun in front of it
		if rank+1 < len(order) && !set.Gears[order[rank+1]].Internal {
			below = l.gears[order[rank+1]].radius
		}
		m := Motion{Spin: d.spin(g.Member)}
		d.wheel("sun", g.Member, m, phases.gears[i], gearPath(r, d.teeth(g.Member, g.Teeth)))
		size := max(5, min(markRadius, (r-below)*0.42))
		at := r - size*1.5
		if below > 0 {
			at = (r + below) / 2
		}
		if r < 2.2*markRadius && below == 0 {
			at = 0
		}
		angle := float64(rank) * 2.4 // so that the numbers of suns in front of each other stand apart
		x, y := polar(at, angle)
		d.mark(d.member(g.Member, g.Teeth, curve{radius: r * 0.86, angle: angle + 1.5}), m, x, y, size)
	}
}

// carrier draws the arms that hold the pinions, and one that shows its number.
func (d *drawer) carrier(l *layout, count int) {
	id := d.set.Carrier
	var b pathBuilder
	far := 0.0
	for _, p := range l.pinions {
		far = max(far, p.orbit)
		for k := range count {
			x, y := polar(p.orbit, p.angle+turn(k, count))
			b.line(0, 0, x, y)
		}
	}
	angle := l.pinions[0].angle + math.Pi/float64(max(count, 2))
	if count == 1 {
		angle += math.Pi / 2
	}
	x, y := polar(far, angle)
	b.line(0, 0, x, y)
	m := Motion{Spin: d.spin(id)}
	d.wheel("arms", id, m, 0, b.String())
	d.mark(d.member(id, 0, curve{radius: far, angle: angle + 2*math.Pi/float64(max(count, 3))}), m, x, y, markRadius)
}

// pinions draws the k-th pinion of each kind.
func (d *drawer) pinions(l *layout, ph phases, k, count int) {
	for p, pinion := range d.set.Pinions {
		at := l.pinions[p]
		x, y := polar(at.orbit, at.angle+turn(k, count))
		m := Motion{Orbit: d.spin(d.set.Carrier), X: x, Y: y, Spin: d.spinOn(pinion.Member, d.set.Carrier)}
		largest := 0.0
		for s, st := range at.steps {
			largest = max(largest, st.radius)
			d.wheel("pinion", pinion.Member, m, ph.steps[p][s], gearPath(st.radius, d.teeth(pinion.Member, st.teeth)))
		}
		if k > 0 {
			continue
		}
		size := max(3.5, min(markRadius, largest*0.45))
		d.mark(d.member(pinion.Member, pinion.Teeth, curve{}), m, max(0, largest-size*1.6), 0, size)
	}
}

// pair draws two gears, or two wheels with a chain. The second goes round the
// first if their carrier turns.
func (d *drawer) pair() {
	mesh := d.mesh()
	a, b := &d.set.Gears[0], &d.set.Gears[1]
	ra, rb := float64(a.Teeth), float64(b.Teeth)
	distance, left, right := ra+rb, ra, rb
	switch mesh.Kind {
	case kinematics.Internal:
		distance = math.Abs(ra - rb)
		left, right = max(ra, rb-distance), max(rb, ra-distance)
	case kinematics.Chain:
		distance = 1.35 * (ra + rb)
	}
	k := 2 * pictureRadius / (left + distance + right)
	if high := 2 * max(ra, rb) * k; high > 2*pictureRadius {
		k *= 2 * pictureRadius / high
	}
	ra, rb, distance, left, right = ra*k, rb*k, distance*k, left*k, right*k
	d.view.Width, d.view.Height = left+distance+right+4*ringWidth, 2*max(ra, rb)+4*ringWidth

	x := (left - right - distance) / 2
	ma := Motion{X: x, Spin: d.spin(a.Member)}
	mb := Motion{RoundX: x, Orbit: d.spin(d.set.Carrier), X: distance, Spin: d.spinOn(b.Member, d.set.Carrier)}
	angle := 0.0
	shape := [2]func(r float64, z int64) string{gearPath, gearPath}
	class := [2]string{"sun", "sun"}
	switch mesh.Kind {
	case kinematics.Internal:
		if large := 1; ra > rb {
			large = 0
			shape[large], class[large] = ringPath, "ring"
			angle = meshing(contact{zA: a.Teeth, zB: b.Teeth, internal: true}, 0, 0)
		} else {
			shape[large], class[large] = ringPath, "ring"
			angle = meshing(contact{zA: a.Teeth, zB: b.Teeth, internal: true}, 0, math.Pi)
		}
	case kinematics.External:
		angle = meshing(contact{zA: a.Teeth, zB: b.Teeth}, 0, 0)
	case kinematics.Chain:
		var path pathBuilder
		slant := math.Asin((ra - rb) / distance)
		for _, side := range []float64{-1, 1} {
			xa, ya := polar(ra, side*(math.Pi/2-slant))
			xb, yb := polar(rb, side*(math.Pi/2-slant))
			path.line(x+xa, ya, x+distance+xb, yb)
		}
		d.wheel("chain", kinematics.Housing, Motion{}, 0, path.String())
	}
	wheels := []struct {
		gear  *kinematics.Gear
		m     Motion
		angle float64
		r, x  float64
	}{{a, ma, 0, ra, x}, {b, mb, angle, rb, x + distance}}
	if class[0] == "sun" && class[1] == "ring" {
		slices.Reverse(wheels)
		class[0], class[1], shape[0], shape[1] = class[1], class[0], shape[1], shape[0]
	}
	for i, w := range wheels {
		d.wheel(class[i], w.gear.Member, w.m, w.angle, shape[i](w.r, d.teeth(w.gear.Member, w.gear.Teeth)))
		at, size := w.r*0.6, max(3.5, min(markRadius, w.r*0.4))
		if class[i] == "ring" {
			at, size = w.r+ringWidth*0.55, markRadius
		}
		d.mark(d.member(w.gear.Member, w.gear.Teeth, curve{x: w.x, radius: max(14, w.r*0.8), angle: 1}), w.m, 0, -at, size)
	}
	if c := d.set.Carrier; c != kinematics.Housing {
		d.member(c, 0, curve{})
	}
}

// bevel draws the two side gears and the carrier of a bevel set beside each
// other, since they lie in front of each other on one axis.
func (d *drawer) bevel() {
	const r, apart, size = 58.0, 136.0, 9.0
	left, right := d.set.Gear("left"), d.set.Gear("right")
	k := r / float64(max(left.Teeth, right.Teeth))
	d.view.Width, d.view.Height = 2*(apart+r)+14, 2*r+24
	for i, g := range []*kinematics.Gear{left, right} {
		x := float64(2*i-1) * apart
		m := Motion{X: x, Spin: d.spin(g.Member)}
		radius := float64(g.Teeth) * k
		d.wheel("sun", g.Member, m, 0, gearPath(radius, d.teeth(g.Member, g.Teeth)))
		d.mark(d.member(g.Member, g.Teeth, curve{x: x, radius: radius * 0.85, angle: -0.6}), m, 0, -radius*0.6, size)
	}
	c := d.set.Carrier
	m := Motion{Spin: d.spin(c)}
	var b pathBuilder
	b.line(-r, 0, r, 0)
	for _, side := range []float64{-1, 1} { // the pinions, seen from the side
		b.box(side*r*0.72-7, -r*0.28, 14, r*0.56)
	}
	d.wheel("arms thin", c, m, 0, b.String())
	d.mark(d.member(c, 0, curve{radius: r * 0.95, angle: -1.6}), m, 0, 0, size)
	d.view.Notes = append(d.view.Notes, "The side gears and the carrier turn about one axis; they are drawn beside each other.")
}
