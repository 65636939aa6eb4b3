package analysis

import (
	"context"
	"errors"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/document"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A ControlsQuestion asks what the controls do in some ranges under faults of them.
type ControlsQuestion struct {
	Ranges []int // indices; nil for all
	Faults []controls.Fault
}

// Controlled is what the controls do, healthy beside faulty, and what the train does
// with it. Its document is tieup.controls/1.
type Controlled struct {
	Schema   string                `json:"schema"`
	Units    Named[string]         `json:"units"`
	Train    *kinematics.Train     `json:"train"`
	Faults   List[string]          `json:"faults"`
	Ranges   List[ControlledRange] `json:"ranges"`
	Cautions List[string]          `json:"cautions"`

	Question ControlsQuestion `json:"-"`
	// Known says that the control knows of the failure and commands something else.
	Known bool `json:"fail_safe"`
}

// A ControlledRange is one range with the lever in one position.
type ControlledRange struct {
	Position Name         `json:"position"`
	Range    string       `json:"range"`
	Healthy  ControlState `json:"healthy"`
	// Faulty are the outcomes under the faults, before any fail-safe and then after it;
	// none where there are no faults.
	Faulty List[ControlState] `json:"faulty"`
}

// A ControlState is how the controls stand, and what the train does.
type ControlState struct {
	AfterFailSafe bool                  `json:"after_fail_safe"`
	Commanded     List[string]          `json:"commanded"` // solenoids switched on
	On            List[string]          `json:"on"`        // solenoids that are on
	Valves        Named[string]         `json:"valves"`    // up, down, unknown
	Circuits      Named[controls.Level] `json:"circuits"`
	Elements      Named[controls.Level] `json:"elements"` // what each gets
	Hunts         bool                  `json:"hunts"`
	AfterRestart  bool                  `json:"after_restart"`
	Depends       string                `json:"depends"` // on what this outcome depends, "" if there is one
	Verdict       solve.Verdict         `json:"verdict"`
	Reads         string                `json:"reads"`
	Changes       List[string]          `json:"changes"`
	Because       List[string]          `json:"because"` // how the fault reaches each element that changes
	cell          reading.RangeReading
}

// FailSafeNote says which outcomes hold before the control knows of a failure, and which after.
const FailSafeNote = "The control knows of the failure: what stands behind \"before\" holds until it does, " +
	"what stands behind \"after\" from then on."

// When says of which time, and on what condition, a faulty outcome is.
func (c *Controlled) When(s ControlState) string {
	word := "faulty"
	switch {
	case s.AfterFailSafe:
		word = "after"
	case c.Known:
		word = "before"
	}
	if s.Depends != "" {
		word += ", " + s.Depends
		if s.AfterRestart && !s.Hunts {
			word += " (so after a restart)"
		}
	}
	return word
}

// Fed are the elements that get pressure, a low or unknown one said behind it.
func (s ControlState) Fed() []string {
	var list []string
	for name, l := range s.Elements.All() {
		switch l {
		case controls.None:
		case controls.Full:
			list = append(list, name)
		default:
			list = append(list, name+" "+l.String())
		}
	}
	return list
}

// ErrNoControls is the error of a train whose file says nothing of its controls.
var ErrNoControls = errors.New("the train file says nothing of the controls: " +
	"write controls: with solenoids, valves and circuits, or a table")

// Controls answers what the controls do.
func (a *Analysis) Controls(_ context.Context, q ControlsQuestion) (*Controlled, error) {
	n := controls.Of(a.Train)
	if n == nil {
		return nil, ErrNoControls
	}
	for _, r := range q.Ranges {
		if _, err := a.rangeAt(r); err != nil {
			return nil, err
		}
	}
	var err error
	if q.Faults, err = n.Check(q.Faults); err != nil {
		return nil, err
	}
	c := &Controlled{Schema: "tieup.controls/1", Units: document.Texts("ratio", "input speed / output speed"),
		Train: a.Train, Question: q}
	c.Faults = kinematics.Map(q.Faults, controls.Fault.String)
	healthy, _ := n.Evaluate()
	var faulty []*controls.Answer
	if len(q.Faults) > 0 {
		before, after := n.Evaluate(q.Faults...)
		faulty, c.Known = append(faulty, before), after != nil
		if after != nil {
			faulty = append(faulty, after)
		}
	}
	w := a.workers.take()
	defer a.workers.put(w)
	var hazards []reading.Hazard
	for _, at := range w.places(n, q.Ranges) {
		hazards = append(hazards, c.add(w, at, healthy, faulty)...)
	}
	c.Cautions = reading.Cautions(a.Train.Use, hazards)
	return c, nil
}

// A place is a range with the lever in a position.
type place struct{ position, rng int }

// places are the places of some ranges, of all where ranges is nil.
func (w *worker) places(n *controls.Network, ranges []int) []place {
	var list []place
	for _, x := range n.Nodes() {
		at := place{x.Position, x.Range}
		if (ranges == nil || slices.Contains(ranges, x.Range)) && !slices.Contains(list, at) {
			list = append(list, at)
		}
	}
	return list
}

// add answers one place and returns what is dangerous in it.
func (c *Controlled) add(w *worker, at place, healthy *controls.Answer, faulty []*controls.Answer) []reading.Hazard {
	n := healthy.Network
	row := ControlledRange{Position: Name(n.PositionName(at.position)), Range: c.Train.Ranges[at.rng].Name}
	row.Healthy = w.controlStates(healthy, at)[0]
	var hazards []reading.Hazard
	for _, a := range faulty {
		for _, s := range w.controlStates(a, at) {
			row.Faulty = append(row.Faulty, s)
			hazards = append(hazards, reading.Hazards(row.Healthy.cell, s.cell)...)
		}
	}
	c.Ranges = append(c.Ranges, row)
	return hazards
}

// controlStates reads the outcomes of one place.
func (w *worker) controlStates(a *controls.Answer, at place) []ControlState {
	n := a.Network
	out := a.Of(at.position, at.rng)
	var list []ControlState
	for _, o := range out.List {
		for _, set := range o.Sets {
			for _, faults := range n.Causes(at.rng, set, a.Faults) {
				s := ControlState{AfterFailSafe: a.Known, Hunts: o.Hunts(), AfterRestart: o.Restart}
				s.Commanded, s.On = onNames(n, out.Node.On), onNames(n, out.On)
				s.stand(n, o, set)
				s.does(w, at.rng, faults)
				s.Because = because(n, out.Node, o, faults, a.Faults)
				list = append(list, s)
			}
		}
	}
	for i := range list {
		switch {
		case list[i].Hunts:
			list[i].Depends = reading.Hunting
		case len(list) > 1:
			list[i].Depends = reading.Depends(max(out.Depends, controls.OnOrder))
			if out.Depends == controls.Settled {
				list[i].Depends = reading.Depends(controls.OnUnknown)
			}
		}
	}
	return list
}

func onNames(n *controls.Network, on uint64) []string {
	var list []string
	for i, s := range n.Solenoids() {
		if on>>i&1 != 0 {
			list = append(list, s)
		}
	}
	return list
}

// stand says how valves and circuits stand and what the elements get.
func (s *ControlState) stand(n *controls.Network, o controls.Outcome, set controls.Set) {
	for i, name := range n.Valves() {
		word := map[controls.Level]string{controls.Full: "up", controls.None: "down"}[o.Valves[i]]
		if word == "" {
			word = "unknown"
		}
		s.Valves.Add(name, word)
	}
	for i, name := range n.Circuits() {
		s.Circuits.Add(name, o.Circuits[i])
	}
	for _, e := range n.Fed() {
		s.Elements.Add(n.Train.Couplings[e].Name, set.Level(e))
	}
}

// does reads what the train does with what is fed.
func (s *ControlState) does(w *worker, rng int, faults []kinematics.Fault) {
	s.cell = w.reader.Read(&w.system.Train.Ranges[rng], faults...)
	s.Verdict, s.Reads = s.cell.Outcome.Verdict, s.cell.Text()
	s.Changes = reading.Changes(w.reader.Read(&w.system.Train.Ranges[rng]), s.cell)
}

// because says how the faults reach each of the elements that change.
func because(n *controls.Network, node controls.Node, o controls.Outcome, changed []kinematics.Fault,
	faults []controls.Fault) []string {
	var list []string
	for _, f := range changed {
		if links := n.Chain(node, o, f.Coupling, faults); links != nil {
			text := reading.Chain(links)
			if !slices.ContainsFunc(faults, func(f controls.Fault) bool {
				return f.Part == links[0].Name || f.With == links[0].Name
			}) {
				text = causes(faults) + " -> " + text
			}
			list = append(list, text)
		}
	}
	return list
}

func causes(faults []controls.Fault) string {
	words := kinematics.Map(faults, reading.ControlFault)
	return strings.Join(words, "; ")
}

// ControlChart is what every single fault of the controls does in every range. Its
// document is tieup.control-chart/1.
type ControlChart struct {
	Schema   string            `json:"schema"`
	Train    *kinematics.Train `json:"train"`
	Ranges   []string          `json:"ranges"`
	Healthy  []string          `json:"healthy"` // what each range does, parallel to ranges
	Rows     List[ControlRow]  `json:"rows"`
	Cautions List[string]      `json:"cautions"`
}

// A ControlRow is one fault, before any fail-safe or after it.
type ControlRow struct {
	Fault         string          `json:"fault"`
	Words         string          `json:"words"`
	AfterFailSafe bool            `json:"after_fail_safe"`
	Cells         [][]ControlCell `json:"cells"` // by range: each thing that it can come to
}

// A ControlCell is one thing that a range can come to.
type ControlCell struct {
	Verdict solve.Verdict `json:"verdict"`
	Reads   string        `json:"reads"`
	Short   string        `json:"-"` // "" if as when healthy
}

// ControlChart charts every single fault of the controls in every range.
func (a *Analysis) ControlChart(_ context.Context) (*ControlChart, error) {
	n := controls.Of(a.Train)
	if n == nil {
		return nil, ErrNoControls
	}
	c := &ControlChart{Schema: "tieup.control-chart/1", Train: a.Train}
	c.Ranges = a.Train.RangeNames()
	w := a.workers.take()
	defer a.workers.put(w)
	var hazards []reading.Hazard
	c.Healthy = kinematics.Map(a.Train.Ranges, func(r kinematics.Range) string { return w.reader.Read(&r).Text() })
	for _, f := range n.SingleFaults() {
		before, after := n.Evaluate(f)
		c.Rows = append(c.Rows, w.controlRow(before, f, &hazards))
		if after != nil {
			c.Rows = append(c.Rows, w.controlRow(after, f, &hazards))
		}
	}
	c.Cautions = reading.Cautions(a.Train.Use, hazards)
	return c, nil
}

func (w *worker) controlRow(a *controls.Answer, f controls.Fault, hazards *[]reading.Hazard) ControlRow {
	row := ControlRow{Fault: f.String(), Words: reading.ControlFault(f), AfterFailSafe: a.Known}
	t := w.system.Train
	for r := range t.Ranges {
		healthy := w.reader.Read(&w.system.Train.Ranges[r])
		var cells []ControlCell
		for _, o := range a.Of(-1, r).List {
			for _, set := range o.Sets {
				for _, faults := range a.Network.Causes(r, set, a.Faults) {
					cell := w.reader.Read(&w.system.Train.Ranges[r], faults...)
					*hazards = append(*hazards, reading.Hazards(healthy, cell)...)
					x := ControlCell{Verdict: cell.Outcome.Verdict, Reads: cell.Text(), Short: reading.Short(healthy, cell)}
					cells = kinematics.Union(cells, x)
				}
			}
		}
		row.Cells = append(row.Cells, cells)
	}
	return row
}

// Chains say by which steps faults of the controls reach the elements that a range gets
// otherwise than when healthy.
func (c Condition) Chains(r *kinematics.Range) []string {
	b := c.brought
	if b == nil {
		return nil
	}
	n := b.Answer.Network
	rng, named := n.Train.Range(r.Name)
	if !named {
		return nil
	}
	x := b.Answer.Of(-1, rng)
	if len(x.List) == 0 {
		return nil
	}
	o := x.List[max(0, slices.IndexFunc(x.List, func(o controls.Outcome) bool { return o.Restart }))]
	return because(n, x.Node, o, kinematics.Acting(b.Elements, r), b.Faults)
}
