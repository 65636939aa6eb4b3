package stage

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/plots"
)

// A Figure is a train as the stage draws it: once, whatever state it is in. What
// moves, and how fast, is told by a [Scene].
type Figure struct {
	// Key is the same for figures that are the same: a fault that shears a joint
	// makes another one.
	Key           string            `json:"key"`
	Bodies        []Body            `json:"bodies"`
	Pinions       List[Pinion]      `json:"pinions"` // in the order of the gearsets
	Elements      []Element         `json:"elements"`
	Input         int               `json:"input"`
	Output        int               `json:"output"`
	Sets          []Gearset         `json:"sets"`
	Assumed       string            `json:"assumed"` // what is drawn though it is not given
	Section       plots.SectionPlan `json:"section"`
	Levers        []plots.LeverPlan `json:"levers"`
	byMember      []int             // index into Bodies, -1 for the housing, -2 for a pinion or hub
	pinionMembers []kinematics.MemberID
}

// A Body is what is joined for good: one colour in every picture. Its second sign
// is the name, or the tag where there is no room for it.
type Body struct {
	Name    string   `json:"name"`
	Tag     string   `json:"tag"`   // two letters, unique in the train
	Hue     int      `json:"hue"`   // 1 to 10, given out in order
	Hatch   int      `json:"hatch"` // 0 to 8: none, /, \, dots, x, -, |, o, ..
	Members []string `json:"members"`
	Teeth   []int64  `json:"teeth"` // of each member, 0 for what has none
	Set     int      `json:"set"`   // the gearset whose member gives the name, -1 for a shaft

	members []kinematics.MemberID
}

// A Pinion is a planet pinion, drawn in a tint of its carrier's colour.
type Pinion struct {
	Name  string `json:"name"`
	Teeth int64  `json:"teeth"`
}

// An Element is what joins two bodies, or a body and the housing, while it holds.
type Element struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
	A    int    `json:"a"`
	B    int    `json:"b"` // -1 for the housing
}

// A Gearset is a set seen along its axis, from the input end. All lengths are
// shares of the radius of its picture; angles are in radians, clockwise from the
// right, and positive speeds turn clockwise.
type Gearset struct {
	Name    string            `json:"name"`
	Kind    string            `json:"kind"` // "planetary", "pair", "crossed" or "bevel"
	About   string            `json:"about"`
	Carrier int               `json:"carrier"` // body, -1 for the housing
	Count   int               `json:"count"`   // pinions of each kind
	Rings   List[Wheel]       `json:"rings"`
	Suns    List[Wheel]       `json:"suns"`
	Pinions List[PinionWheel] `json:"pinions"`
	Chain   bool              `json:"chain"`
	Plain   bool              `json:"plain"` // only the ratio is known: no teeth are drawn
	X       float64           `json:"x"`     // of the carrier of a bevel set
}

// A Wheel is a gear about an axis at (X, 0): the middle, but for pairs and bevels.
type Wheel struct {
	Part  string  `json:"part"`
	Body  int     `json:"body"`
	Teeth int64   `json:"z"`
	R     float64 `json:"r"`
	Phase float64 `json:"phase"`
	X     float64 `json:"x"`
	// Edge is how wide a bevel is that is seen from its side, 0 for what is seen end-on.
	Edge float64 `json:"edge,omitempty"`
}

// A PinionWheel is a kind of pinion: the first of Count stands at Angle, and each
// step of the k-th is turned by Phases[k].
type PinionWheel struct {
	Pinion int     `json:"pinion"` // index into Figure.Pinions
	Orbit  float64 `json:"orbit"`
	Angle  float64 `json:"angle"`
	Steps  []Step  `json:"steps"`
}

// A Step is a gear of a pinion: one, but for a stepped pinion.
type Step struct {
	Teeth  int64     `json:"z"`
	R      float64   `json:"r"`
	Phases []float64 `json:"phases"`
}

// rim is the width of a ring outside its teeth.
const rim = 0.14

// NewFigure draws a train whose joints some faults have sheared, for ranges with
// this input and output.
func NewFigure(t *kinematics.Train, faults []kinematics.Fault, input, output kinematics.MemberID) *Figure {
	plan := plots.NewPlan(t, faults, input, output)
	f := &Figure{Input: plan.Input, Output: plan.Output, Section: plan.Section, Levers: plan.Levers,
		Key: Key(t, faults, input, output)}
	f.bodies(t, plan)
	for i, c := range t.Couplings[:t.ElementCount] {
		f.Elements = append(f.Elements, Element{Name: t.Couplings[i].Name, Kind: c.Kind.String(), A: f.byMember[c.A],
			B: f.byMember[c.B]})
	}
	var assumed []string
	for g := range t.Gearsets {
		set, guess := f.gearset(t, &t.Gearsets[g])
		if guess {
			assumed = append(assumed, fmt.Sprintf("%s %d", set.Name, set.Count))
		}
		f.Sets = append(f.Sets, set)
	}
	f.Assumed = reading.AssumedPinions(assumed, kinematics.Map(f.Sets, func(g Gearset) int { return g.Count }))
	return f
}

// Key tells figures apart by what they are made from.
func Key(t *kinematics.Train, faults []kinematics.Fault, input, output kinematics.MemberID) string {
	k := fmt.Sprintf("%s-%d-%d", t.Name, input, output)
	for _, f := range faults {
		if f.Kind == kinematics.Sheared {
			k += fmt.Sprintf("-%d", f.Coupling)
		}
	}
	return k
}

// bodies tells of each body its names, teeth, colour and tag.
func (f *Figure) bodies(t *kinematics.Train, plan *plots.Plan) {
	f.byMember = slices.Repeat([]int{-2}, len(t.Members))
	f.byMember[kinematics.Housing] = -1
	for _, j := range t.Joints {
		for _, m := range append(slices.Clone(j.Members), j.Hub) {
			if j.Hub == kinematics.Housing {
				f.byMember[m] = -1
			}
		}
	}
	tags := map[string]bool{}
	for i, b := range plan.Bodies {
		x := Body{Name: b.Name, Hue: b.Hue%10 + 1, Hatch: b.Hue % 9, Set: -1, members: b.Members}
		switch i {
		case plan.Input:
			x.Tag = "in"
		case plan.Output:
			x.Tag = "ou"
		}
		tags[x.Tag] = true
		for _, m := range b.Members {
			f.byMember[m] = i
			x.Members, x.Teeth = append(x.Members, t.Members[m].Name), append(x.Teeth, teethOf(t, m))
			if t.Members[m].Name == b.Name {
				x.Set = t.Members[m].Gearset
			}
		}
		f.Bodies = append(f.Bodies, x)
	}
	for i := range f.Bodies {
		if b := &f.Bodies[i]; b.Tag == "" {
			b.Tag = tag(b.Name, tags)
			tags[b.Tag] = true
		}
	}
	for g := range t.Gearsets {
		for _, p := range t.Gearsets[g].Pinions {
			f.Pinions = append(f.Pinions, Pinion{Name: t.Members[p.Member].Name, Teeth: p.Teeth})
			f.pinionMembers = append(f.pinionMembers, p.Member)
		}
	}
}

// teethOf is how many teeth a central gear has, 0 for what is none.
func teethOf(t *kinematics.Train, m kinematics.MemberID) int64 {
	if g := t.Members[m].Gearset; g >= 0 && !t.Gearsets[g].RatioOnly {
		for _, gear := range t.Gearsets[g].Gears {
			if gear.Member == m {
				return gear.Teeth
			}
		}
	}
	return 0
}

// tag is two letters of a name that no other body has: of "front.ring" the first
// of both words, of "sun-shell" the first two of the last.
func tag(name string, taken map[string]bool) string {
	words := strings.FieldsFunc(name, func(r rune) bool { return r == '.' || r == '-' || r == ' ' })
	letters := []rune(strings.Join(words, ""))
	last := []rune(words[len(words)-1])
	var list []string
	if set, part, dotted := strings.Cut(name, "."); dotted {
		list = append(list, string([]rune(set)[0])+string([]rune(part)[0]))
	}
	if len(last) > 1 {
		list = append(list, string(last[:2]))
	}
	for _, a := range letters {
		for _, b := range letters[1:] {
			list = append(list, string(a)+string(b))
		}
	}
	for a := 'a'; a <= 'z'; a++ {
		list = append(list, string(letters[0])+string(a))
	}
	for _, digits := range []bool{false, true} { // digits would seem to be a speed
		for _, t := range list {
			if t = strings.ToLower(t); !taken[t] && strings.ContainsAny(t, "0123456789") == digits {
				return t
			}
		}
	}
	return name
}

// gearset draws a set, and says whether its pinions are not the file's.
func (f *Figure) gearset(t *kinematics.Train, set *kinematics.Gearset) (g Gearset, assumed bool) {
	g = Gearset{Name: set.Name, Kind: "planetary", About: reading.AboutGearset(t, set), Carrier: f.byMember[set.Carrier],
		Plain: set.RatioOnly}
	switch set.Layout() {
	case kinematics.Axles:
		if set.Bevels {
			f.crossed(&g, set)
			return g, false
		}
		f.pair(&g, t, set)
		return g, false
	case kinematics.Facing:
		f.bevel(&g, set)
		return g, false
	}
	l := newLayout(t, set)
	g.Count, assumed = l.pinionCount(set)
	around := 0.05 // room for the teeth of what stands outermost
	if slices.ContainsFunc(set.Gears, func(g kinematics.Gear) bool { return g.Internal }) {
		around = rim
	}
	l.scale(around)
	first := l.phases(0, g.Count, nil)
	for i, gear := range set.Gears {
		w := Wheel{Part: gear.Part, Body: f.byMember[gear.Member], Teeth: gear.Teeth, R: l.gears[i].radius,
			Phase: first.gears[i]}
		if gear.Internal {
			g.Rings = append(g.Rings, w)
		} else {
			g.Suns = append(g.Suns, w)
		}
	}
	larger := func(a, b Wheel) int { return cmp.Compare(b.R, a.R) } // the large ones behind
	kinematics.Sort(g.Rings, larger)
	kinematics.Sort(g.Suns, larger)
	for p, pinion := range set.Pinions {
		at := l.pinions[p]
		w := PinionWheel{Pinion: slices.Index(f.pinionMembers, pinion.Member), Orbit: at.orbit, Angle: at.angle}
		for s, st := range at.steps {
			step := Step{Teeth: st.teeth, R: st.radius}
			for k := range g.Count {
				step.Phases = append(step.Phases, l.phases(k, g.Count, first.gears).steps[p][s])
			}
			w.Steps = append(w.Steps, step)
		}
		g.Pinions = append(g.Pinions, w)
	}
	return g, assumed
}

// pair draws two gears beside each other, or two wheels with a chain. The second
// goes round the first if their carrier turns.
func (f *Figure) pair(g *Gearset, t *kinematics.Train, set *kinematics.Gearset) {
	g.Kind = "pair"
	a, b := &set.Gears[0], &set.Gears[1]
	ra, rb := float64(a.Teeth), float64(b.Teeth)
	kind := t.Meshes[set.Meshes[0]].Kind
	distance, phase := ra+rb, 0.0
	left, right := ra, rb
	switch kind {
	case kinematics.External:
		phase = meshing(contact{zA: a.Teeth, zB: b.Teeth}, 0, 0)
	case kinematics.Internal:
		distance = math.Abs(ra - rb)
		left, right = max(ra, rb-distance), max(rb, ra-distance)
		toward := 0.0
		if ra < rb {
			toward = math.Pi
		}
		phase = meshing(contact{zA: a.Teeth, zB: b.Teeth, internal: true}, 0, toward)
	case kinematics.Chain:
		distance, g.Chain = 1.35*(ra+rb), true
	}
	around := 1.0 // what stands outside the teeth
	if kind == kinematics.Internal {
		around += rim
	}
	k := 1.9 / (left + distance + right) / around
	if high := max(ra, rb) * k * around; high > 0.95 {
		k *= 0.95 / high
	}
	x := k * (left - right - distance) / 2
	wa := Wheel{Part: a.Part, Body: f.byMember[a.Member], Teeth: a.Teeth, R: ra * k, X: x}
	wb := Wheel{Part: b.Part, Body: f.byMember[b.Member], Teeth: b.Teeth, R: rb * k, X: x + distance*k, Phase: phase}
	switch {
	case kind == kinematics.Internal && ra > rb:
		g.Rings, g.Suns = []Wheel{wa}, []Wheel{wb}
	case kind == kinematics.Internal:
		g.Rings, g.Suns = []Wheel{wb}, []Wheel{wa}
	default:
		g.Suns = []Wheel{wa, wb}
	}
}

// crossed draws a pair of bevels: the larger end-on, the other from its side with its axis
// to the left. Both cones have their tips where the axes cross, in the middle.
func (f *Figure) crossed(g *Gearset, set *kinematics.Gearset) {
	const radius, at, face = 0.78, 0.14, 0.3 // the share of the cone that has teeth
	g.Kind = "crossed"
	large, small := &set.Gears[0], &set.Gears[1]
	if large.Teeth < small.Teeth {
		large, small = small, large
	}
	wheel := Wheel{Part: large.Part, Body: f.byMember[large.Member], Teeth: large.Teeth, R: radius, X: at}
	cone := Wheel{Part: small.Part, Body: f.byMember[small.Member], Teeth: small.Teeth,
		R: radius * float64(small.Teeth) / float64(large.Teeth), X: at - radius*(1-face/2), Edge: face * radius}
	g.Suns = []Wheel{wheel, cone}
}

// bevel draws the side gears beside each other, those of the left side left of the
// carrier and those of the right side right of it, since they lie in front of each
// other on one axis.
func (f *Figure) bevel(g *Gearset, set *kinematics.Gearset) {
	g.Kind = "bevel"
	const band, high, gap = 0.23, 0.4, 0.02 // half of what the carrier takes, the greatest radius
	sum, most := int64(0), int64(0)
	for _, gear := range set.Gears {
		sum, most = sum+gear.Teeth, max(most, gear.Teeth)
	}
	room := 2*(0.95-band) - gap*float64(len(set.Gears))
	radius := func(teeth int64) float64 { return min(room/2/float64(sum), high/float64(most)) * float64(teeth) }
	wide := [2]float64{band, band} // of each side, from the middle of the carrier
	for _, gear := range set.Gears {
		side := 0
		if gear.Far {
			side = 1
		}
		w := Wheel{Part: gear.Part, Body: f.byMember[gear.Member], Teeth: gear.Teeth, R: radius(gear.Teeth)}
		w.X = float64(2*side-1) * (wide[side] + gap + w.R)
		wide[side] += gap + 2*w.R
		g.Suns = append(g.Suns, w)
	}
	g.X = (wide[0] - wide[1]) / 2
	for i := range g.Suns {
		g.Suns[i].X += g.X
	}
}
