package stage

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// A Scene is what the stage shows of a state: numbers for a [Figure], and words.
type Scene struct {
	// Base is the state as it is; Frames are those of its story, of which Rest is
	// the one that shows the state as it is, -1 for none.
	Base    Frame       `json:"base"`
	Frames  List[Frame] `json:"frames"`
	Rest    int         `json:"rest"`
	Lines   List[Line]  `json:"lines"`   // ways to move of a conflict
	Rolling bool        `json:"rolling"` // they are ways to roll, for frames that are rolled
	Healthy *Frame      `json:"healthy"` // the healthy range; null where it is the same
	Ringed  int         `json:"ringed"`  // a body, -1 for none
	Ring    string      `json:"ring"`    // "one output, asked for three speeds"
	Course  *Course     `json:"course"`  // of a shift in time; null for none
}

// A List is written as [] when it is empty.
type List[T any] = analysis.List[T]

// Text is a word or a number as it is written.
type Text = string

// A Speed is the speed of a body in turns per turn of the input; null where it is free.
type Speed = *float64

// A Line is a way to move.
type Line struct {
	Letter string  `json:"letter"`
	Aside  int     `json:"aside"` // the element that is set aside
	Speeds []Speed `json:"speeds"`
}

// A Frame is one picture.
type Frame struct {
	Head     string             `json:"head"` // in place of the headline, "" for that
	Text     string             `json:"text"` // in place of the reason
	Calm     bool               `json:"calm"`
	Hidden   bool               `json:"hidden"`  // what moves is not told: a class is asked
	Speeds   List[Speed]        `json:"speeds"`  // by body
	Free     List[Text]         `json:"free"`    // by body: "free", "free, 0 or more"; "" where the speed is settled
	Torques  List[Text]         `json:"torques"` // by body: "front.ring +1.000"; "" for none
	Pinions  List[Speed]        `json:"pinions"` // by pinion, seen from the housing
	Elements List[ElementState] `json:"elements"`
	Line     int                `json:"line"` // the line shown alone, -1 for all
	Ring     bool               `json:"ring"`
	Healthy  bool               `json:"healthy"` // it shows the healthy range
	Stands   bool               `json:"stands"`
	Rolled   bool               `json:"rolled"`   // speeds are per turn of the output; the lines are those of rolling
	Lacks    List[int]          `json:"lacks"`    // bodies that nothing holds or drives
	Undriven List[int]          `json:"undriven"` // of those, the ones that nothing drives
	Catches  List[int]          `json:"catches"`  // bodies at which something begins to take the load
	Beside   List[Speed]        `json:"beside"`   // by body: the motion that it is told beside; none
	Besides  string             `json:"besides"`  // what that is
	Same     string             `json:"same"`     // another range with the same line
	ByHand   bool               `json:"byHand"`
	Missed   List[string]       `json:"missed"` // ranges
	Loaded   List[int]          `json:"loaded"` // bodies that carry the load
	Inputs   List[Tie]          `json:"inputs"` // bodies that turn with the input, and by what
	Held     List[Tie]          `json:"held"`   // bodies held at the housing, and by what
}

// A Tie says by which elements a body is driven or held; none if it is for good.
type Tie struct {
	Body int       `json:"body"`
	By   List[int] `json:"by"`
}

// An ElementState is what is shown of an element.
type ElementState struct {
	Word     string `json:"word"` // "applied", "holds", "stuck on"; "" for released
	Closed   bool   `json:"closed"`
	Faulty   bool   `json:"faulty"`
	Loaded   bool   `json:"loaded"`
	Conflict bool   `json:"conflict"`
	Aside    bool   `json:"aside"`
	Gone     bool   `json:"gone"`    // its fault is that it does not hold, which the frame shows
	Catches  bool   `json:"catches"` // it begins to take the load
}

// NewScene puts an answer into numbers for a figure.
func NewScene(f *Figure, t *kinematics.Train, a *analysis.Stage) *Scene {
	s := &Scene{Rest: a.Story.Rest, Ringed: -1, Rolling: a.Rolling()}
	b := sceneBuilder{f: f, t: t, a: a}
	m := a.Why.Motion
	s.Base = b.frame(m.Members, m.States, nil, true)
	s.Base.Line, s.Base.Text = -1, TrueMinus(a.Reason)
	for i := range a.Story.Frames {
		s.Frames = append(s.Frames, b.told(&a.Story.Frames[i], i == s.Rest))
	}
	for k, l := range a.Story.Lines {
		speeds, _ := b.speeds(l.Members)
		s.Lines = append(s.Lines, Line{Letter: string(rune('A' + k)), Aside: l.Element, Speeds: speeds})
	}
	if a.Story.Rest >= 0 {
		s.Base.Ring = a.Story.Frames[a.Story.Rest].Ring
		s.Base.Lacks, s.Base.Undriven = s.Frames[a.Story.Rest].Lacks, s.Frames[a.Story.Rest].Undriven
	}
	if r := a.Story.Ringed; r >= 0 && f.byMember[r] >= 0 {
		s.Ringed = f.byMember[r]
		s.Ring = ring(f, s.Ringed, s.Lines)
	}
	if len(a.Why.Faults) > 0 {
		h := b.frame(a.HealthyMotion.Members, a.HealthyMotion.States, nil, false)
		b.asHealthy(&h, a.HealthyMotion.States)
		head, text := a.HealthySays()
		h.Head, h.Text, h.Calm, h.Line = TrueMinus(head), text, true, -1
		s.Healthy = &h
		for i := range s.Frames {
			if a.Story.Frames[i].Gone {
				b.gone(&s.Frames[i], &h)
			}
		}
	}
	return s
}

// told is a frame of the story; rest is the one that shows the state as it is.
func (b *sceneBuilder) told(x *reading.Frame, rest bool) Frame {
	own := rest || !x.Healthy && !x.Stands && !x.Rolled && len(x.Aside) == 0 && len(x.Catches) == 0
	fr := b.frame(x.Members, x.States, x.Aside, own)
	fr.Head, fr.Text = TrueMinus(x.Head), TrueMinus(x.Text)
	fr.Calm, fr.Line, fr.Ring = x.Calm, x.Line, x.Ring
	fr.Stands, fr.Rolled, fr.ByHand = x.Stands, x.Rolled, x.ByHand
	fr.Missed = b.t.NamesOfRanges(x.Missed)
	for _, id := range x.Lacks {
		fr.Lacks = append(fr.Lacks, b.f.byMember[id])
		for _, m := range b.a.Why.Missing {
			if m.Member == id && !m.Reaction {
				fr.Undriven = append(fr.Undriven, b.f.byMember[id])
			}
		}
	}
	b.catches(&fr, x.Catches)
	if fr.Besides, fr.Same = x.Besides, x.Same; x.Beside != nil {
		fr.Beside, _ = b.speeds(x.Beside)
	}
	if x.Healthy {
		b.asHealthy(&fr, x.States)
	}
	if x.ByHand {
		b.byHand(&fr)
	}
	for _, l := range b.a.Story.Lines {
		if e := &fr.Elements[l.Element]; x.Rolled {
			e.Conflict, e.Closed = true, !e.Aside
		}
	}
	return fr
}

// TrueMinus writes the minus of the numbers in a text as the pictures do: one before a
// digit that no letter, digit or sign stands before.
func TrueMinus(text string) string {
	var b strings.Builder
	from := 0
	for i := range len(text) - 1 {
		if text[i] != '-' || text[i+1] < '0' || text[i+1] > '9' {
			continue
		}
		before, _ := utf8.DecodeLastRuneInString(text[:i])
		if i > 0 && (unicode.IsLetter(before) || unicode.IsNumber(before) || strings.ContainsRune("._-", before)) {
			continue
		}
		b.WriteString(text[from:i] + "−")
		from = i + 1
	}
	return b.String() + text[from:]
}

// ring says of the ringed body how many speeds it is asked for.
func ring(f *Figure, body int, lines []Line) string {
	var speeds []float64
	for _, l := range lines {
		if v := l.Speeds[body]; v != nil {
			speeds = append(speeds, *v)
		}
	}
	name := f.Bodies[body].Name
	switch body {
	case f.Input:
		name = "input"
	case f.Output:
		name = "output"
	}
	return reading.AskedFor(name, speeds)
}

type sceneBuilder struct {
	f *Figure
	t *kinematics.Train
	a *analysis.Stage
}

// speeds gives every body its speed, and what is said of those that are free.
func (b *sceneBuilder) speeds(members []analysis.Speed) (speeds []Speed, free []Text) {
	for i := range b.f.Bodies {
		w := exact.Interval{Empty: true}
		for _, m := range b.f.Bodies[i].members {
			if w = members[m].Interval; !w.Empty {
				break
			}
		}
		speed, text := number(w)
		speeds, free = append(speeds, speed), append(free, text)
	}
	return speeds, free
}

// number is a settled speed, or what is said of one that is not.
func number(w exact.Interval) (Speed, Text) {
	if w.Empty {
		return nil, "not given"
	}
	f, one := w.Point()
	if !one {
		return nil, "free"
	}
	x := f.Float()
	if math.Abs(x) < 1e-12 {
		x = 0
	}
	return &x, ""
}

// frame shows a motion. With story, what carries load and what contradicts is marked.
func (b *sceneBuilder) frame(members []analysis.Speed, states []analysis.CouplingState, aside []int,
	story bool) Frame {
	var fr Frame
	fr.Speeds, fr.Free = b.speeds(members)
	for _, m := range b.f.pinionMembers {
		speed, _ := number(members[m].Interval)
		fr.Pinions = append(fr.Pinions, speed)
	}
	why := b.a.Why
	for i := range b.t.ElementCount {
		e := ElementState{Closed: states[i].Holds(), Faulty: b.faulty(i), Aside: slices.Contains(aside, i)}
		e.Word = b.word(i, states[i], e)
		fr.Elements = append(fr.Elements, e)
	}
	if story {
		for _, p := range why.Paths {
			b.load(&fr, p.Loaded)
		}
		fr.Torques = b.torques()
		if c := why.FirstConflict(); c != nil {
			for _, i := range c.Elements {
				fr.Elements[i].Conflict = true
			}
		}
	}
	b.ties(&fr)
	return fr
}

func (b *sceneBuilder) faulty(i int) bool {
	return slices.ContainsFunc(b.a.Why.Faults, func(f kinematics.Fault) bool { return f.Coupling == i })
}

// word is the state of an element in a word or two.
func (b *sceneBuilder) word(i int, state analysis.CouplingState, e ElementState) string {
	// What does not hold by its fault needs not be set aside.
	if e.Aside && (!e.Faulty || b.a.Why.Motion.State.Modes[i] != kinematics.Open) {
		return "set aside"
	}
	if e.Faulty {
		for _, f := range b.a.Why.Faults {
			if f.Coupling == i {
				return analysis.FaultState(f.Kind)
			}
		}
	}
	return string(reading.StateWord(state))
}

// load marks the bodies and elements through which the load goes.
func (b *sceneBuilder) load(fr *Frame, couplings []int) {
	add := func(body int) {
		if body >= 0 && !slices.Contains(fr.Loaded, body) {
			fr.Loaded = append(fr.Loaded, body)
		}
	}
	add(b.f.Input)
	add(b.f.Output)
	for _, i := range couplings {
		c := &b.t.Couplings[i]
		add(b.f.byMember[c.A])
		add(b.f.byMember[c.B])
		if i < b.t.ElementCount {
			fr.Elements[i].Loaded = true
		}
	}
}

// torques says of every body what its gears and carriers feel from outside, per unit of
// input torque: nothing where the load can be shared in more ways than one.
func (b *sceneBuilder) torques() List[Text] {
	paths := b.a.Why.Paths
	list := make(List[Text], len(b.f.Bodies))
	switch len(paths) {
	case 0:
		return list
	case 1:
	default:
		for i := range list {
			list[i] = reading.SharedTorque
		}
		return list
	}
	for _, x := range paths[0].Torques {
		body := b.f.byMember[x.Member]
		if body < 0 {
			continue
		}
		if list[body] != "" {
			list[body] += ", "
		}
		list[body] += fmt.Sprintf("%s %s", b.t.Members[x.Member].Name, signed(x.Torque.Float()))
	}
	return list
}

// signed writes a number with its sign and three places.
func signed(v float64) string {
	return strings.Replace(fmt.Sprintf("%+.3f", v), "-", "−", 1)
}

// ties finds the bodies that closed elements join to the input or the housing,
// also over bodies between, but not over the input or the housing.
func (b *sceneBuilder) ties(fr *Frame) {
	reach := func(from int) map[int][]int {
		by := map[int][]int{from: nil}
		for again := true; again; {
			again = false
			for i, e := range b.f.Elements {
				if !fr.Elements[i].Closed || fr.Elements[i].Aside {
					continue
				}
				for _, way := range [][2]int{{e.A, e.B}, {e.B, e.A}} {
					if path, there := by[way[0]]; there && (way[0] == from || way[0] != -1 && way[0] != b.f.Input) {
						if _, known := by[way[1]]; !known {
							by[way[1]], again = append(slices.Clone(path), i), true
						}
					}
				}
			}
		}
		return by
	}
	for body, by := range reach(b.f.Input) {
		if body >= 0 && body != b.f.Input {
			fr.Inputs = append(fr.Inputs, Tie{body, by})
		}
	}
	for body, by := range reach(-1) {
		if body >= 0 {
			fr.Held = append(fr.Held, Tie{body, by})
		}
	}
	order := func(a, b Tie) int { return a.Body - b.Body }
	kinematics.Sort(fr.Inputs, order)
	kinematics.Sort(fr.Held, order)
}

// asHealthy takes the faults out of a frame of states.
func (b *sceneBuilder) asHealthy(fr *Frame, states []analysis.CouplingState) {
	for i := range fr.Elements {
		fr.Elements[i] = ElementState{Word: string(reading.StateWord(states[i])), Closed: fr.Elements[i].Closed}
	}
	fr.Loaded, fr.Healthy = nil, true
}

// catches marks where something begins to take the load, and what takes it.
func (b *sceneBuilder) catches(fr *Frame, members []kinematics.MemberID) {
	for _, id := range members {
		body := b.f.byMember[id]
		if body < 0 || slices.Contains(fr.Catches, body) {
			continue
		}
		fr.Catches = append(fr.Catches, body)
		for _, t := range fr.Held {
			if t.Body == body {
				for _, i := range t.By {
					fr.Elements[i].Catches = true
				}
			}
		}
	}
}

// gone empties the frames of elements whose fault is that they do not hold, and marks the
// bodies that only they hold when healthy.
func (b *sceneBuilder) gone(fr, healthy *Frame) {
	for i := range fr.Elements {
		fr.Elements[i].Gone = fr.Elements[i].Aside && fr.Elements[i].Faulty
	}
	if len(fr.Missed) > 0 { // where it is missed is told by then
		return
	}
	for _, t := range healthy.Held {
		dead := slices.ContainsFunc(t.By, func(i int) bool { return fr.Elements[i].Gone })
		held := slices.ContainsFunc(fr.Held, func(o Tie) bool { return o.Body == t.Body })
		if dead && !held && !slices.Contains(fr.Lacks, t.Body) {
			fr.Lacks = append(fr.Lacks, t.Body)
		}
	}
}

// byHand opens what a hand stands in for: it is the hand that holds, or joins.
func (b *sceneBuilder) byHand(fr *Frame) {
	for _, m := range b.a.Why.Missing {
		if m.Coupling < b.t.ElementCount {
			e := &fr.Elements[m.Coupling]
			if e.Closed = false; !e.Faulty {
				e.Word = ""
			}
		}
	}
	fr.Inputs, fr.Held = nil, nil
	b.ties(fr)
}

// Hide takes what a class is asked for out of a scene: what moves, and which one-way
// clutches hold. The elements that are told to be applied stay, and what is faulty.
func (s *Scene) Hide(applied []int) {
	f := &s.Base
	f.Hidden, f.Ring, f.Text = true, false, ""
	f.Torques, f.Loaded, f.Inputs, f.Held, f.Lacks, f.Undriven = nil, nil, nil, nil, nil, nil
	for i := range f.Speeds {
		f.Speeds[i], f.Free[i] = nil, ""
	}
	for i := range f.Pinions {
		f.Pinions[i] = nil
	}
	for i := range f.Elements {
		e := &f.Elements[i]
		e.Loaded, e.Conflict = false, false
		if !slices.Contains(applied, i) && !e.Faulty {
			e.Closed, e.Word = false, ""
		}
	}
	s.Frames, s.Lines, s.Rolling, s.Healthy, s.Rest, s.Ringed, s.Ring = nil, nil, false, nil, -1, -1, ""
}
