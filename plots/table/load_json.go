package table

import (
	"io"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

type loadJSON struct {
	Train      string    `json:"train"`
	Range      *string   `json:"range"`
	Apply      []string  `json:"apply"`
	Faults     []string  `json:"faults"`
	Verdict    string    `json:"verdict"`
	Flow       string    `json:"flow"`
	Ratio      float64   `json:"ratio"`
	RatioExact string    `json:"ratio_exact"`
	Input      endJSON   `json:"input"`
	Output     endJSON   `json:"output"`
	Efficiency any       `json:"efficiency"`
	Trouble    *string   `json:"trouble"`
	Loose      []string  `json:"loose_members"`
	Shared     bool      `json:"shared"`
	Couplings  ordered   `json:"couplings"`
	Ways       []wayJSON `json:"ways"`
	WithLosses []wayJSON `json:"ways_with_losses"`
}

// endJSON is the input or output; torques are from outside.
type endJSON struct {
	Member       string  `json:"member"`
	Speed        float64 `json:"speed"`
	Torque       any     `json:"torque"`
	TorqueExact  any     `json:"torque_exact"`
	TorqueLosses any     `json:"torque_with_losses"`
}

type carriedJSON struct {
	State        string  `json:"state"`
	OneWay       *string `json:"one_way"`
	Torque       any     `json:"torque"`
	TorqueExact  any     `json:"torque_exact"`
	TorqueLosses any     `json:"torque_with_losses"`
	Slip         any     `json:"slip"`
}

type wayJSON struct {
	OutputTorque  float64       `json:"output_torque"`
	OutputExact   *string       `json:"output_torque_exact"`
	Couplings     ordered       `json:"couplings"`
	Members       ordered       `json:"members"`
	Meshes        []meshJSON    `json:"meshes"`
	Gearsets      ordered       `json:"gearsets"`
	Power         *powerJSON    `json:"power"`
	LargestBranch *branchJSON   `json:"largest_branch"`
	Recirculates  *bool         `json:"recirculates"`
	Loops         []powerCircle `json:"loops"`
	Residual      float64       `json:"residual"`
	Imbalance     *float64      `json:"imbalance"`
}

type meshJSON struct {
	Gearset string `json:"gearset"`
	First   string `json:"first"`
	Second  string `json:"second"`
	// Null on pinions whose teeth are not given.
	OnFirst  *float64 `json:"torque_on_first"`
	OnSecond *float64 `json:"torque_on_second"`
	Rolls    *float64 `json:"first_rolls"`
	Lost     float64  `json:"lost"`
}

type setPowerJSON struct {
	Rolling  float64 `json:"rolling_power"`
	Coupling float64 `json:"coupling_power"`
	Lost     float64 `json:"lost"`
	Members  ordered `json:"members"`
}

type memberPowerJSON struct {
	Torque   float64 `json:"torque"`
	Power    float64 `json:"power"`
	Rolling  float64 `json:"rolling_power"`
	Coupling float64 `json:"coupling_power"`
}

type powerJSON struct {
	In         float64 `json:"in"`
	Out        float64 `json:"out"`
	Lost       float64 `json:"lost"`
	Efficiency float64 `json:"efficiency"`
}

type branchJSON struct {
	Share   float64 `json:"share"`
	Gearset string  `json:"gearset"`
	Member  string  `json:"member"`
}

type powerCircle struct {
	Share   float64  `json:"share"`
	Rolls   bool     `json:"rolls"`
	Through []string `json:"through"`
}

type spotJSON struct {
	Range string `json:"range"`
	Value any    `json:"value"`
}

type wearJSON struct {
	Pulling  []spotJSON `json:"torque_pulling"`
	Coasting []spotJSON `json:"torque_coasting"`
	Slip     []spotJSON `json:"slip"`
}

func flowWord(l *solve.Load) string {
	if l.Coasting {
		return "coasting"
	}
	return "pulling"
}

// times is f times a factor, or f where the factor is 0.
func times(f exact.Frac, factor float64) float64 {
	if factor == 0 {
		factor = 1
	}
	return scaled(f, factor)
}

// jsonExtent is a number, or its bounds.
func jsonExtent(x extent, factor float64) any {
	if x.one() {
		return times(x.min, factor)
	}
	return minMax{times(x.min, factor), times(x.max, factor)}
}

func jsonExact(x extent) any {
	if x.one() {
		return x.min.String()
	}
	return minMax{x.min.String(), x.max.String()}
}

// JSON writes the schema tieup.load/1.
func (a Loaded) JSON(w io.Writer) error {
	answer := struct {
		Schema   string      `json:"schema"`
		Units    ordered     `json:"units"`
		Losses   ordered     `json:"losses"`
		Torque   *float64    `json:"input_torque"`
		Drag     *float64    `json:"engine_drag"`
		InputRPM *float64    `json:"input_rpm"`
		Loads    []loadJSON  `json:"loads"`
		None     []noLoad    `json:"without_load"`
		Wear     *wearTables `json:"wear"`
		Cautions []string    `json:"cautions"`
	}{
		Schema: "tieup.load/1", Units: a.units(), Losses: a.lossesJSON(),
		Torque: given(a.Torque), Drag: given(a.Drag), InputRPM: given(a.InputRPM),
		Loads: []loadJSON{}, None: []noLoad{}, Cautions: append([]string{}, a.Cautions...),
	}
	for i := range a.Ranges {
		r := &a.Ranges[i]
		for _, l := range r.loads() {
			answer.Loads = append(answer.Loads, a.loadJSON(r, l))
		}
		if r.Pulling == nil {
			answer.None = append(answer.None, noLoad{a.rangeName(r), "pulling", r.Motion.Verdict.String()})
		}
		if r.Coasting == nil {
			answer.None = append(answer.None, noLoad{a.rangeName(r), "coasting", r.Motion.Verdict.String()})
		}
	}
	if !a.Detail {
		answer.Wear = a.wearJSON()
	}
	return WriteJSON(w, answer)
}

// A noLoad is a range in which one end does not drive the other.
type noLoad struct {
	Range   string `json:"range"`
	Flow    string `json:"flow"`
	Verdict string `json:"verdict"`
}

type wearTables struct {
	Elements ordered `json:"elements"`
	Pinions  ordered `json:"pinions"`
}

func given(x float64) *float64 {
	if x == 0 {
		return nil
	}
	return &x
}

func (a *Loaded) units() ordered {
	unit := func(x float64, yes, no string) string {
		if x != 0 {
			return yes
		}
		return no
	}
	speed := unit(a.InputRPM, "rpm", "turns per turn of the input")
	return ordered{
		{"torque, pulling", unit(a.Torque, "N m", "per unit of input torque")},
		{"torque, coasting", unit(a.Drag, "N m", "per unit of engine drag")},
		{"speed, slip, first_rolls", speed + ", + as the input turns"},
		{"power, lost, pulling", unit(scale{a.Torque, a.InputRPM}.kW(), "kW", "per unit of input power")},
		{"power, lost, coasting", unit(scale{a.Drag, a.InputRPM}.kW(), "kW", "per unit of the power that the engine takes")},
		{"couplings", "torque on the first member"},
		{"members", "torque that the meshes exert"},
		{"gearsets", "torque from outside; power with + enters the gearset"},
		{"share", "of the power that drives"},
	}
}

func (a *Loaded) lossesJSON() ordered {
	if a.Losses.Basic == nil {
		return ordered{
			{"convention", "per mesh"}, {"external", a.Losses.External.Float()}, {"internal", a.Losses.Internal.Float()},
			{"chain", a.Losses.Chain.Float()}, {"assumed", a.Assumed},
		}
	}
	var sets ordered
	for g, f := range a.Losses.Basic {
		sets = append(sets, named{a.Train.Gearsets[g].Name, f.Float()})
	}
	o := ordered{{"convention", "per gearset, carrier held"}, {"basic", sets}, {"assumed", a.Assumed}}
	if a.Overall != "" {
		o = append(o, named{"overall", a.Overall})
	}
	return o
}

func (a *Loaded) loadJSON(r *LoadedRange, l *solve.Load) loadJSON {
	t, s, m := a.Train, a.scale(l), l.Motion
	ratio := m.At.Output.Inv()
	j := loadJSON{
		Train: t.Name, Apply: t.CouplingNames(r.Range.Apply), Faults: []string{}, Verdict: m.Verdict.String(), Flow: flowWord(l),
		Ratio: ratio.Float(), RatioExact: ratio.String(), Loose: append([]string{}, bodyNames(t, l.Loose)...), Shared: len(l.Ways) > 1,
		Ways: []wayJSON{}, WithLosses: []wayJSON{},
	}
	if r.Range.Name != "" {
		j.Range = &r.Range.Name
	}
	for _, f := range r.Faults {
		j.Faults = append(j.Faults, t.FaultText(f))
	}
	if word := l.Trouble.String(); word != "" {
		j.Trouble = &word
	}
	if e, ok := over(l.Lossy, func(w *solve.LoadSplit) exact.Frac { return w.Power.Efficiency }); ok {
		j.Efficiency = jsonExtent(e, 0)
	}
	// three returns a torque without losses, exactly, and with them.
	three := func(f func(*solve.LoadSplit) exact.Frac) (torque, exact, lossy any) {
		x, _ := over(l.Ways, f)
		torque, exact = jsonExtent(x, s.torque), jsonExact(x)
		if x, ok := over(l.Lossy, f); ok {
			lossy = jsonExtent(x, s.torque)
		}
		return torque, exact, lossy
	}
	end := func(id kinematics.MemberID, f func(*solve.LoadSplit) exact.Frac) endJSON {
		e := endJSON{Member: t.Members[id].Name, Speed: times(m.Members[id].Min.Frac, s.rpm)}
		e.Torque, e.TorqueExact, e.TorqueLosses = three(f)
		return e
	}
	j.Input = end(m.State.Input, func(w *solve.LoadSplit) exact.Frac { return w.Input })
	j.Output = end(m.State.Output, func(w *solve.LoadSplit) exact.Frac { return w.Output })
	for i := range t.Couplings {
		c := carriedJSON{State: m.States[i].String()}
		c.Torque, c.TorqueExact, c.TorqueLosses = three(func(w *solve.LoadSplit) exact.Frac { return w.Torque[i] })
		if mode := m.State.Modes[i]; mode == kinematics.Overruns || mode == kinematics.Reversed {
			word := l.OneWay(i).String()
			c.OneWay = &word
		}
		if v, one := m.Slips[i].Point(); one {
			c.Slip = times(v, s.rpm)
		} else {
			c.Slip = jsonInterval(m.Slips[i].Interval, max(s.rpm, 1))
		}
		j.Couplings = append(j.Couplings, named{t.Couplings[i].Name, c})
	}
	for i := range l.Ways {
		j.Ways = append(j.Ways, a.wayJSON(&l.Ways[i], s, true))
	}
	for i := range l.Lossy {
		j.WithLosses = append(j.WithLosses, a.wayJSON(&l.Lossy[i], s, false))
	}
	return j
}

func (a *Loaded) wayJSON(w *solve.LoadSplit, s scale, exact bool) wayJSON {
	t := a.Train
	j := wayJSON{OutputTorque: times(w.Output, s.torque), Couplings: ordered{}, Members: ordered{}, Meshes: []meshJSON{}, Gearsets: ordered{}, Loops: []powerCircle{}, Residual: w.Residual}
	if exact {
		text := w.Output.String()
		j.OutputExact = &text
	}
	for _, i := range w.Carry {
		j.Couplings = append(j.Couplings, named{t.Couplings[i].Name, times(w.Torque[i], s.torque)})
	}
	for id, f := range w.Gears {
		if f.Sign() != 0 && !t.Members[id].Unknown {
			j.Members = append(j.Members, named{t.Members[id].Name, times(f, s.torque)})
		}
	}
	for _, ml := range w.Meshes {
		m := meshJSON{
			Gearset: t.Gearsets[ml.Gearset].Name, First: t.Members[ml.A].Name, Second: t.Members[ml.B].Name,
			Lost: times(ml.Loss, s.kW()),
		}
		if ml.GivenA {
			x := times(ml.TorqueA, s.torque)
			m.OnFirst = &x
		}
		if ml.GivenB {
			x := times(ml.TorqueB, s.torque)
			m.OnSecond = &x
		}
		if ml.Known && ml.GivenA {
			x := times(ml.Rolls, s.rpm)
			m.Rolls = &x
		}
		j.Meshes = append(j.Meshes, m)
	}
	p := w.Power
	if p == nil {
		return j
	}
	recirculates := p.Recirculates()
	j.Recirculates, j.Imbalance = &recirculates, &p.Imbalance
	j.Power = &powerJSON{times(p.In, s.kW()), times(p.Out, s.kW()), times(p.Loss, s.kW()), p.Efficiency.Float()}
	if g := p.Largest.Gearset; g >= 0 {
		j.LargestBranch = &branchJSON{p.Largest.Share.Float(), t.Gearsets[g].Name, t.Members[p.Largest.Member].Name}
	}
	for g, set := range p.Sets {
		sj := setPowerJSON{times(set.Rolling, s.kW()), times(set.Coupling, s.kW()), times(set.Loss, s.kW()), ordered{}}
		for _, m := range set.Members {
			sj.Members = append(sj.Members, named{t.Members[m.Member].Name, memberPowerJSON{
				times(m.Torque, s.torque), times(m.Power, s.kW()), times(m.Rolling, s.kW()), times(m.Coupling, s.kW()),
			}})
		}
		j.Gearsets = append(j.Gearsets, named{t.Gearsets[g].Name, sj})
	}
	for _, loop := range p.Loops {
		j.Loops = append(j.Loops, powerCircle{loop.Share.Float(), loop.Rolls, a.steps(loop)})
	}
	return j
}

func (a *Loaded) wearJSON() *wearTables {
	list := func(s spots, factor float64) []spotJSON {
		js := []spotJSON{}
		for _, x := range s {
			js = append(js, spotJSON{x.name, jsonExtent(x.size, factor)})
		}
		return js
	}
	w := &wearTables{Elements: ordered{}, Pinions: ordered{}}
	for _, e := range a.elementWear() {
		w.Elements = append(w.Elements, named{e.name, wearJSON{list(e.pulling, a.Torque), list(e.coasting, a.Drag), list(e.slips, a.InputRPM)}})
	}
	for _, e := range a.pinionWear() {
		w.Pinions = append(w.Pinions, named{e.name, list(e.slips, a.InputRPM)})
	}
	return w
}

// CSV writes a line for each thing that a range may load or wear: elements,
// joints, members of gearsets, meshes, gearsets and pinions.
func (a Loaded) CSV(w io.Writer) error {
	t := a.Train
	g := &Grid{Columns: columns("train", "range", "faults", "flow", "what", "name", "state", "torque_min", "torque_max",
		"torque_with_losses_min", "torque_with_losses_max", "speed", "power", "rolling_power", "coupling_power", "lost")}
	faults := ""
	for i, f := range a.Faults {
		if i > 0 {
			faults += "; "
		}
		faults += reading.Fault(t, f)
	}
	for i := range a.Ranges {
		r := &a.Ranges[i]
		for _, l := range r.loads() {
			a.csvLoad(l, func(cells ...string) {
				g.Add(append([]string{t.Name, a.rangeName(r), faults, flowWord(l)}, cells...)...)
			})
		}
	}
	return g.CSV(w)
}

func (a *Loaded) csvLoad(l *solve.Load, add func(...string)) {
	t, s, m := a.Train, a.scale(l), l.Motion
	float := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	ends := func(ways []solve.LoadSplit, f func(*solve.LoadSplit) exact.Frac) []string {
		x, ok := over(ways, f)
		if !ok {
			return []string{"", ""}
		}
		return []string{float(times(x.min, s.torque)), float(times(x.max, s.torque))}
	}
	torques := func(f func(*solve.LoadSplit) exact.Frac) []string {
		return append(ends(l.Ways, f), ends(l.Lossy, f)...)
	}
	one := func(ways []solve.LoadSplit, f func(*solve.LoadSplit) exact.Frac, factor float64) string {
		if x, ok := over(ways, f); ok && x.one() && ways[0].Power != nil {
			return float(times(x.min, factor))
		}
		return ""
	}
	row := func(what, name, state string, torque []string, rest ...string) {
		add(append(append([]string{what, name, state}, torque...), rest...)...)
	}
	row("input", t.Members[m.State.Input].Name, "", torques(func(w *solve.LoadSplit) exact.Frac { return w.Input }), float(max(s.rpm, 1)), "", "", "", "")
	row("output", t.Members[m.State.Output].Name, "", torques(func(w *solve.LoadSplit) exact.Frac { return w.Output }), float(times(m.At.Output, s.rpm)), "", "", "", "")
	for i, c := range t.Couplings {
		what, state, slip := "element", m.States[i].String(), ""
		if mode := m.State.Modes[i]; mode == kinematics.Overruns || mode == kinematics.Reversed {
			state = l.OneWay(i).String()
		}
		if c.Kind == kinematics.Spline {
			what, state = "joint", ""
		}
		if v, fixed := m.Slips[i].Point(); fixed {
			slip = float(times(v, s.rpm))
		}
		row(what, c.Name, state, torques(func(w *solve.LoadSplit) exact.Frac { return w.Torque[i] }), slip, "", "", "", "")
	}
	none := []string{"", "", "", ""}
	for g, set := range t.Gearsets {
		if l.Ways[0].Power != nil {
			of := func(ways []solve.LoadSplit, f func(*solve.SetPower) exact.Frac) string {
				return one(ways, func(w *solve.LoadSplit) exact.Frac { return f(&w.Power.Sets[g]) }, s.kW())
			}
			row("gearset", set.Name, "", none, "", "", of(l.Ways, func(p *solve.SetPower) exact.Frac { return p.Rolling }),
				of(l.Ways, func(p *solve.SetPower) exact.Frac { return p.Coupling }), of(l.Lossy, func(p *solve.SetPower) exact.Frac { return p.Loss }))
			for _, id := range a.setMembers(l, g) {
				of := func(f func(*solve.MemberPower) exact.Frac) string {
					return one(l.Ways, func(w *solve.LoadSplit) exact.Frac { return f(memberPower(w, g, id)) }, s.kW())
				}
				row("member", t.Members[id].Name, "", torques(func(w *solve.LoadSplit) exact.Frac { return memberPower(w, g, id).Torque }),
					float(times(m.Members[id].Min.Frac, s.rpm)), of(func(p *solve.MemberPower) exact.Frac { return p.Power }),
					of(func(p *solve.MemberPower) exact.Frac { return p.Rolling }), of(func(p *solve.MemberPower) exact.Frac { return p.Coupling }), "")
			}
		}
		for k := range set.Pinions {
			p := &set.Pinions[k]
			if spin := analysis.SpinOf(t, &t.Gearsets[g], p, m.Members, m.Groups); spin.Known && !spin.Free {
				row("pinion", t.Members[p.Member].Name, "", none, float(times(spin.Speed, s.rpm)), "", "", "", "")
			}
		}
	}
	for i := range l.Ways[0].Meshes {
		ml := &l.Ways[0].Meshes[i]
		rolls, torque := "", none
		if ml.GivenA {
			torque = torques(func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].TorqueA })
			if ml.Known {
				rolls = float(times(ml.Rolls, s.rpm))
			}
		}
		row("mesh", t.Members[ml.A].Name+" x "+t.Members[ml.B].Name, "", torque, rolls, "", "", "", one(l.Lossy, func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].Loss }, s.kW()))
	}
}
