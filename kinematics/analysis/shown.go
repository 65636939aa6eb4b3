package analysis

import (
	"cmp"
	"context"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Shown is a train and what its healthy ranges do.
type Shown struct {
	Schema    string              `json:"schema"`
	Units     Named[string]       `json:"units"`
	Name      string              `json:"name"`
	Title     string              `json:"title"`
	Sources   []string            `json:"sources"`
	Note      string              `json:"note"`
	Input     string              `json:"input"`
	Output    string              `json:"output"`
	Drive     kinematics.Drive    `json:"drive"`
	Use       kinematics.Use      `json:"use"`
	Taps      []string            `json:"taps"`    // elements with a pressure tap of their own; null if that is not known
	Forward   string              `json:"forward"` // same, or opposite: how the output turns then
	Rated     *float64            `json:"rated_torque"`
	Gearsets  List[Named[any]]    `json:"gearsets"`
	Joined    Named[List[string]] `json:"joined"`
	Elements  List[ShownElement]  `json:"elements"`
	Ranges    List[*ShownRange]   `json:"ranges"`
	Spread    Ratio               `json:"spread"` // the largest forward ratio over the smallest
	Positions List[ShownPosition] `json:"positions"`
	Controls  *controls.Spec      `json:"controls"` // as in the file; null if it says nothing of them

	Train *kinematics.Train `json:"-"`
}

// Ends say what turns the input, and which way the output turns.
func (s *Shown) Ends() (input, output string) {
	input, output = s.Input+", driven directly", s.Output
	if s.Drive == kinematics.Converter {
		input = s.Input + ", behind a torque converter"
	}
	if s.Train.Forward < 0 {
		output += "; the vehicle moves forward when it turns against the input"
	}
	return input, output
}

// A ShownElement is an element and what it does.
type ShownElement struct {
	Name     string                  `json:"name"`
	Kind     kinematics.CouplingKind `json:"kind"`
	Between  [2]string               `json:"between"`
	Switched bool                    `json:"switched"`
	Capacity *float64                `json:"capacity"`
	Also     string                  `json:"also"`
	Does     string                  `json:"does"`
}

// A ShownRange is what a healthy range does.
type ShownRange struct {
	Name    string        `json:"name"`
	Apply   List[string]  `json:"apply"`
	Input   string        `json:"input"`
	Output  string        `json:"output"`
	Gear    string        `json:"gear,omitempty"` // what trouble codes call it
	Verdict solve.Verdict `json:"verdict"`
	Ratio
	Published *string     `json:"published"`
	Step      *ShownRatio `json:"step"` // to the next ratio forward

	Reading reading.RangeReading `json:"-"`
	Motion  *Motion              `json:"-"`
}

// A ShownRatio is the quotient of two ratios, and the range of the second.
type ShownRatio struct {
	To string `json:"to"`
	Ratio
}

// A ShownPosition is a position of the selector with its ranges.
type ShownPosition struct {
	Name   string       `json:"name"`
	Ranges List[string] `json:"ranges"`
}

// Show shows the train.
func (a *Analysis) Show(ctx context.Context) (*Shown, error) {
	t := a.Train
	s := &Shown{
		Schema: "tieup.show/1",
		Units:  document.Texts("ratio", "input speed / output speed", "rated_torque, capacity", "N m"),
		Name:   t.Name, Title: t.Title, Sources: t.Sources, Note: t.Note, Input: t.Members[t.Input].Name,
		Output: t.Members[t.Output].Name, Drive: t.Drive, Use: t.Use, Taps: tapsOf(t), Forward: "same",
		Rated: document.If(t.RatedTorque, t.RatedTorque > 0), Gearsets: named(t, t.Gearsets, shownGearset),
		Elements: named(t, t.Couplings[:t.ElementCount], shownElement), Train: t,
	}
	if t.Forward < 0 {
		s.Forward = "opposite"
	}
	for _, j := range t.Joints {
		s.Joined.Add(j.Name, t.NamesOf(j.Members))
	}
	if n := controls.Of(t); n != nil {
		s.Controls = n.Spec
	}
	s.Positions = kinematics.Map(t.Positions, func(p kinematics.Position) ShownPosition {
		return ShownPosition{p.Name, t.NamesOfRanges(p.Ranges)}
	})
	w := a.workers.take()
	defer a.workers.put(w)
	w.showRanges(s)
	s.steps()
	return s, ctx.Err()
}

func shownElement(t *kinematics.Train, c *kinematics.Coupling) ShownElement {
	return ShownElement{
		c.Name, c.Kind, [2]string{t.Members[c.A].Name, t.Members[c.B].Name}, c.Switched,
		document.If(c.Capacity, c.Capacity > 0), c.Also, reading.Element(t, c),
	}
}

// shownGearset is a gearset with its teeth, null where they are not given. "ratios" are by
// their keys, such as "ring/sun": those that may stand in place of teeth.
func shownGearset(t *kinematics.Train, g *kinematics.Gearset) Named[any] {
	var ratio Ratio
	if len(g.Gears) == 2 {
		ratio = document.RatioOf(exact.NewFrac(g.Gears[1].Teeth, g.Gears[0].Teeth), true)
	}
	ratios := map[string]Ratio{}
	for key, f := range g.Ratios() {
		ratios[key] = document.RatioOf(exact.NewFrac(f[0], f[1]), true)
	}
	gears := kinematics.Map(g.Gears, func(gear kinematics.Gear) Named[any] {
		x := document.Object("part", gear.Part, "teeth", document.If(gear.Teeth, !g.RatioOnly))
		if g.Steps() {
			x.Add("pinion_teeth", gear.PinionTeeth) // of the step it meshes with
		}
		return x
	})
	pinions := kinematics.Map(g.Pinions, func(p kinematics.Pinion) Named[any] {
		return document.Object("part", p.Part, "teeth", document.If(p.Teeth, p.Teeth > 0))
	})
	var mesh Name
	if !g.Planetary() {
		mesh = Name(t.Meshes[g.Meshes[0]].Kind.String())
	}
	return document.Object(
		"name", g.Name, "kind", g.Kind, "ratio_only", g.RatioOnly, "last_gear_over_first", ratio, "ratios", ratios,
		"gears", List[Named[any]](gears), "pinions", List[Named[any]](pinions),
		"pinion_count", document.If(g.PinionCount, g.PinionCount > 0), "profile_shifted", g.ProfileShifted,
		"mesh", mesh, "carrier", t.Members[g.Carrier].Name,
	)
}

// showRanges reads the healthy ranges.
func (w *worker) showRanges(s *Shown) {
	t := s.Train
	for i := range t.Ranges {
		r := &t.Ranges[i]
		x := &ShownRange{
			Name: r.Name, Apply: t.CouplingNames(r.Apply), Input: t.Members[r.Input].Name, Output: t.Members[r.Output].Name,
			Gear: r.Gear, Reading: w.reader.Healthy(i), Motion: w.system.Motion(t.In(r)),
		}
		x.Verdict, x.Ratio = x.Motion.Verdict, document.RatioOf(x.Motion.Ratio())
		if r.Published != nil {
			x.Published = &r.Published.Text
		}
		s.Ranges = append(s.Ranges, x)
	}
}

// steps fills in the steps between the forward ratios, and their spread. Ranges with
// an input or output of their own are no neighbours of the others.
func (s *Shown) steps() {
	var forward []*ShownRange
	for _, x := range s.Ranges {
		same := func(o *ShownRange) bool { return o.Ratio.Ratio.Cmp(*x.Ratio.Ratio) == 0 }
		if x.Verdict != solve.Forward || x.Input != s.Input || x.Output != s.Output || slices.ContainsFunc(forward, same) {
			continue
		}
		forward = append(forward, x)
	}
	kinematics.Sort(forward, func(x, y *ShownRange) int { return largerFirst(*x.Ratio.Ratio, *y.Ratio.Ratio) })
	quotient := func(x, y *ShownRange) Ratio { return document.RatioOf(x.Ratio.Ratio.Mul(y.Ratio.Ratio.Inv()), true) }
	for k := 1; k < len(forward); k++ {
		forward[k-1].Step = &ShownRatio{forward[k].Name, quotient(forward[k-1], forward[k])}
		s.Spread = quotient(forward[0], forward[k])
	}
}

// largerFirst orders ratios by their size.
func largerFirst(a, b exact.Frac) int {
	size := func(f exact.Frac) float64 { return max(f.Float(), -f.Float()) }
	return cmp.Compare(size(b), size(a))
}

// Trains is what a library of trains holds.
type Trains struct {
	Schema string              `json:"schema"`
	Units  Named[string]       `json:"units"`
	Trains List[*TrainSummary] `json:"trains"`
}

// A TrainSummary is a train in a line: the distinct ratios of its healthy ranges, the
// shortest gear (largest ratio) first.
type TrainSummary struct {
	Name         string           `json:"name"`
	Title        string           `json:"title"`
	Gearsets     []string         `json:"gearsets"`
	Forward      List[exact.Frac] `json:"forward"`
	ForwardExact List[exact.Text] `json:"forward_exact"`
	Reverse      List[exact.Frac] `json:"reverse"`
	ReverseExact List[exact.Text] `json:"reverse_exact"`
	Invented     bool             `json:"invented"`
	Sources      []string         `json:"sources"`

	Train *kinematics.Train `json:"-"`
}

// Summarize sums up trains, by arrangement: few gearsets before many, then by kind
// and name.
func Summarize(trains []*kinematics.Train) *Trains {
	x := &Trains{Schema: "tieup.trains/1", Units: document.Texts("forward, reverse", "input speed / output speed")}
	x.Trains = kinematics.Map(trains, summary)
	kinematics.Sort(x.Trains, func(a, b *TrainSummary) int {
		return cmp.Or(
			cmp.Compare(len(a.Gearsets), len(b.Gearsets)),
			slices.Compare(kindOrder(a.Train), kindOrder(b.Train)),
			cmp.Compare(a.Name, b.Name))
	})
	return x
}

// kindOrder lists the kinds of a train's gearsets as places in [kinematics.Kinds].
func kindOrder(t *kinematics.Train) []int {
	order := kinematics.Map(t.Gearsets, func(g kinematics.Gearset) int { return slices.Index(kinematics.Kinds, g.Kind) })
	slices.Sort(order)
	return order
}

func summary(t *kinematics.Train) *TrainSummary {
	s := &TrainSummary{Name: t.Name, Title: t.Title, Invented: t.Invented(), Sources: t.Sources, Train: t}
	s.Gearsets = kinematics.Map(t.Gearsets, func(g kinematics.Gearset) string { return string(g.Kind) })
	k := solve.Compile(t).Kernel()
	for i := range t.Ranges {
		o := k.Outcome(t.In(&t.Ranges[i]))
		ratio, drives := o.Ratio()
		switch {
		case !drives:
		case o.Verdict == solve.Forward:
			s.Forward = addRatio(s.Forward, ratio)
		default:
			s.Reverse = addRatio(s.Reverse, ratio)
		}
	}
	s.ForwardExact, s.ReverseExact = texts(s.Forward), texts(s.Reverse)
	return s
}

// addRatio adds a ratio that is not yet there, the largest in front.
func addRatio(ratios []exact.Frac, r exact.Frac) []exact.Frac {
	if slices.ContainsFunc(ratios, func(o exact.Frac) bool { return o.Cmp(r) == 0 }) {
		return ratios
	}
	ratios = append(ratios, r)
	kinematics.Sort(ratios, largerFirst)
	return ratios
}

func texts(list []exact.Frac) []exact.Text {
	return kinematics.Map(list, func(f exact.Frac) exact.Text { return exact.Text{Frac: f} })
}

// tapsOf names the elements that have a pressure tap, nil if that is not known.
func tapsOf(t *kinematics.Train) []string {
	if !t.TapsKnown {
		return nil
	}
	return append([]string{}, t.CouplingNames(t.Taps)...)
}
