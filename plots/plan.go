package plots

import (
	"slices"
	"strconv"

	"tieup/kinematics"
)

// A Body is what is joined for good: members that turn as one whatever is applied.
type Body struct {
	Name    string
	Hue     int                   // of its colour, from 0
	Members []kinematics.MemberID // those that a user can name, in the order of the file
}

// A Plan is where the parts of a train lie in its pictures, for writers that draw
// them at a size of their own. Bodies are named by their index; the housing is -1.
type Plan struct {
	Bodies        []Body // those with a member that is no pinion; the housing is left out
	Input, Output int
	Section       SectionPlan
	Levers        []LeverPlan
}

// A LeverPlan is one lever: the gearsets that share two bodies with each other.
type LeverPlan struct {
	Title string     `json:"title"`
	Nodes []NodePlan `json:"nodes"` // ascending in At
	Bars  [][]int    `json:"bars"`  // by gearset: its nodes, indices into Nodes
}

// A NodePlan is a body on a lever, At 0 to 1 along it. Moved says that it stands
// further from its neighbour than its teeth say.
type NodePlan struct {
	Body  int     `json:"body"`
	At    float64 `json:"at"`
	Moved bool    `json:"moved"`
}

// A SectionPlan is a half-section laid out, in points from the upper left corner.
type SectionPlan struct {
	Width    float64       `json:"width"`
	Height   float64       `json:"height"`
	Housing  float64       `json:"housing"` // heights of the housing, the gearsets' edges, the centre line
	Top      float64       `json:"top"`
	Bottom   float64       `json:"bottom"`
	Axis     float64       `json:"axis"`
	Levels   []LevelPlan   `json:"levels"` // parallel to Plan.Bodies; To is below From for a body without a line
	Taps     []TapPlan     `json:"taps"`
	Sets     []SetPlan     `json:"sets"` // by gearset
	Elements []ElementPlan `json:"elements"`
}

// A LevelPlan is the level line of a body.
type LevelPlan struct {
	Y    float64 `json:"y"`
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

// A TapPlan leads from a gearset to the line of a body, or to the housing.
type TapPlan struct {
	Body   int          `json:"body"`
	Points [][2]float64 `json:"points"`
}

// A SetPlan is a gearset: boxes for gears and pinions, and the arms of the carrier
// behind them. Carrier is -1 where there is none to draw.
type SetPlan struct {
	Name    string         `json:"name"`
	Carrier int            `json:"carrier"`
	Boxes   []BoxPlan      `json:"boxes"`
	Arms    [][][2]float64 `json:"arms"` // lines
}

// A BoxPlan is a gear or pinion. Body is the body that it belongs to, the carrier's
// for a pinion.
type BoxPlan struct {
	Body   int     `json:"body"`
	Pinion bool    `json:"pinion"`
	Teeth  string  `json:"teeth"` // "" where they are not known
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	W      float64 `json:"w"`
	H      float64 `json:"h"`
	Slant  float64 `json:"slant"` // rise to the right of the upper edge of a bevel, below 0 of the lower
}

// An ElementPlan is an element between two bodies, on an upright line at X.
type ElementPlan struct {
	Element int     `json:"element"`
	A       int     `json:"a"` // upper and lower body, -1 for the housing
	B       int     `json:"b"`
	X       float64 `json:"x"`
	Low     float64 `json:"low"` // ends of its line
	High    float64 `json:"high"`
	Y       float64 `json:"y"` // of its sign
}

// The width of an element's column where whoever draws it places its words: that of its
// sign, and a part of that of the words, on the stage or on a slide.
const (
	stageElement = 28
	stageWords   = 1
	slideWords   = 0.45
)

// NewPlan lays out a train whose joints some faults have sheared, for ranges with
// this input and output.
func NewPlan(t *kinematics.Train, faults []kinematics.Fault, input, output kinematics.MemberID) *Plan {
	b := t.Bodies(faults)
	p := &Plan{}
	index := map[kinematics.MemberID]int{b.Of[kinematics.Housing]: -1}
	hue := hues(b, input, output)
	for i, body := range linedBodies(b) {
		index[body] = i
		p.Bodies = append(p.Bodies, Body{Name: b.Name(body), Hue: hue[body], Members: b.Members(body)})
	}
	p.Input, p.Output = index[b.Of[input]], index[b.Of[output]]
	for _, g := range groupsOf(b, false) {
		p.Levers = append(p.Levers, newLeverPlan(b, g, index))
	}
	r := newRuler()
	a := newAnatomy(b, r, input, output)
	a.narrow(r, stageWords)
	p.Section = newSectionPlan(a, a.place(a.arrange()), index, len(p.Bodies))
	return p
}

// narrow gives each element only a part of the width of its name.
func (a *anatomy) narrow(r *ruler, words float64) {
	for i := range a.elements {
		e := &a.elements[i]
		e.width = stageElement + words*r.width(elementScript, a.bodies.Train.Couplings[i].Name)
	}
}

// slim is the anatomy with narrow elements, and gearsets that are as wide as their
// numbers of teeth.
func (a *anatomy) slim(r *ruler) *anatomy {
	b := *a
	b.sets, b.elements = slices.Clone(a.sets), slices.Clone(a.elements)
	b.narrow(r, slideWords)
	for i := range b.sets {
		s := &b.sets[i]
		s.boxes, s.column = slices.Clone(s.boxes), slimColumn
		for k := range s.boxes {
			s.boxes[k].lines = nil
			if z := teethIn(&a.bodies.Train.Gearsets[i], s.boxes[k]); z != "" {
				s.boxes[k].lines = []string{z}
				// At its narrowest a box has room beside its number.
				s.column = max(s.column, (r.width(boxScript, z)+4)/leastWide+6)
			}
		}
	}
	return &b
}

const slimColumn = 26 // width of a gearset's column on a slide

func newLeverPlan(b *kinematics.Bodies, g Group, index map[kinematics.MemberID]int) LeverPlan {
	l := LeverPlan{Title: g.title(b.Train)}
	for _, p := range g.Places {
		body, known := index[p.Body]
		if !known {
			body = -1 // a pinion that is joined to nothing but pinions
		}
		l.Nodes = append(l.Nodes, NodePlan{Body: body, At: p.X, Moved: p.Moved})
	}
	for _, i := range g.Gearsets {
		set := &b.Train.Gearsets[i]
		var bar []int
		for n, place := range g.Places {
			if partOf(b, set, place.Body) != "" {
				bar = append(bar, n)
			}
		}
		l.Bars = append(l.Bars, bar)
	}
	return l
}

func newSectionPlan(a *anatomy, p *placement, index map[kinematics.MemberID]int, bodies int) SectionPlan {
	s := SectionPlan{Width: p.width, Height: p.height, Housing: p.housing, Top: p.top, Bottom: p.bottom, Axis: p.axis}
	at := func(own int) int { // index into Plan.Bodies of one of the anatomy's list
		if own < 0 {
			return -1
		}
		return index[a.list[own]]
	}
	s.Levels = slices.Repeat([]LevelPlan{{To: -1}}, bodies)
	for own := range a.list {
		s.Levels[at(own)] = LevelPlan{p.level[own], p.from[own], p.to[own]}
	}
	for _, t := range p.taps {
		s.Taps = append(s.Taps, TapPlan{at(t.body), pairs(t.points)})
	}
	for i := range a.sets {
		s.Sets = append(s.Sets, newSetPlan(a, p, i, at))
	}
	for i, e := range a.elements {
		low, high := a.ends(p, e)
		top, bottom := a.upright(p, e)
		s.Elements = append(s.Elements, ElementPlan{Element: i, A: at(top), B: at(bottom), X: p.elementX[i],
			Low: low, High: high, Y: a.signY(p, e, 17)})
	}
	return s
}

func pairs(points []point) [][2]float64 {
	return kinematics.Map(points, func(q point) [2]float64 { return [2]float64{q.x, q.y} })
}

// teethIn is the number of teeth of a box.
func teethIn(set *kinematics.Gearset, g gearBox) string {
	if g.teeth == 0 || set.RatioOnly {
		return ""
	}
	return strconv.FormatInt(g.teeth, 10)
}

// newSetPlan is the gearset i of an anatomy.
func newSetPlan(a *anatomy, p *placement, i int, at func(int) int) SetPlan {
	shape := &a.sets[i]
	set := &a.bodies.Train.Gearsets[i]
	s := SetPlan{Name: set.Name, Carrier: -1}
	if k := slices.IndexFunc(shape.exits, func(e terminal) bool { return e.box < 0 }); k >= 0 {
		s.Carrier = at(shape.exits[k].body)
		left, right := p.setX[i]+3, p.setX[i]+float64(shape.columns)*shape.column-3
		for _, t := range p.taps {
			if t.set != i || t.exit != k {
				continue
			}
			left, right = min(left, t.points[0].x), max(right, t.points[0].x) // to the side where it leaves
		}
		s.Arms = kinematics.Map(a.armsOf(p, i, left, right), pairs)
	}
	for k, g := range shape.boxes {
		q := box{p.setX[i] + float64(g.column)*shape.column + 3, p.y(float64(g.high)) + boxGap/2, g.width(shape.column),
			float64(g.high-g.low)*rowStep - boxGap}
		body := s.Carrier
		if e := slices.IndexFunc(shape.exits, func(e terminal) bool { return e.box == k }); e >= 0 {
			body = at(shape.exits[e].body)
		}
		s.Boxes = append(s.Boxes, BoxPlan{Body: body, Pinion: g.pinion, Teeth: teethIn(set, g), X: q.x,
			Y: q.y, W: q.w, H: q.h, Slant: slantHigh * float64(g.slant)})
	}
	return s
}
