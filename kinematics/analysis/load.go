package analysis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Load is what a range carries while one end drives the other: see [solve.Load].
type Load struct {
	Train string       `json:"train"`
	Range Name         `json:"range"`
	Apply List[string] `json:"apply"`
	Faulted
	Verdict solve.Verdict `json:"verdict"`
	Flow    string        `json:"flow"` // pulling, coasting
	Ratio
	Input       Named[any]            `json:"input"` // torques are from outside
	Output      Named[any]            `json:"output"`
	Efficiency  *Measure              `json:"efficiency"` // nil if there is no answer with losses
	Trouble     *solve.LossStatus     `json:"trouble"`    // why there is no single one
	Loose       List[string]          `json:"loose_members"`
	Shared      bool                  `json:"shared"`
	Couplings   Named[LoadedCoupling] `json:"couplings"`
	Ways        List[split]           `json:"ways"`
	WithLosses  List[split]           `json:"ways_with_losses"`
	Certificate Proof                 `json:"certificate"`

	// Turned is the torque at the output that the train exerts on what it drives, or
	// is exerted on it by what drives; with losses nil where there is none.
	Turned, TurnedLossy *Measure `json:"-"`
	// In, Out and Lost are powers with losses, nil if they are not known.
	In, Out, Lost *Measure `json:"-"`
	// Circling is the share of the power that goes round through gears that roll,
	// nil for none.
	Circling *Measure `json:"-"`
	// Status says why there is no efficiency, or no single one.
	Status        string   `json:"-"`
	OneWays       []string `json:"-"` // what the one-way clutches that act do
	Sharing       []string `json:"-"`
	Recirculating []string `json:"-"`
	// Gearsets and Meshes are what these carry over all ways; nil where loaded
	// members have no fixed speed.
	Gearsets Named[LoadedSet] `json:"-"`
	Meshes   []LoadedMesh     `json:"-"`
	PowerBy  float64          `json:"-"` // kW at the input, 0 if they are not known
	TorqueBy float64          `json:"-"` // N m at the input, likewise
}

// SelfLocking says whether no direction of power agrees with its own losses.
func (l *Load) SelfLocking() bool { return l.Trouble != nil && *l.Trouble == solve.SelfLocking }

// A LoadedCoupling is what a coupling does and carries.
type LoadedCoupling struct {
	State        solve.CouplingState `json:"state"`
	OneWay       *solve.Hold         `json:"one_way"` // nil for any other kind, or one that does not act
	Between      []string            `json:"between"` // torques are on the first
	Torque       Measure             `json:"torque"`
	TorqueExact  ExactAmount         `json:"torque_exact"`
	TorqueLosses *Measure            `json:"torque_with_losses"`
	Slip         Measure             `json:"slip"`

	Does string `json:"-"` // in words, of a seized one-way clutch, too
	ID   int    `json:"-"` // index into Train.Couplings
}

// A LoadedSet is the power through a gearset over all ways to carry a load; nil
// with losses where there are none.
type LoadedSet struct {
	Loaded                      bool
	Rolling, Coupling           *Measure
	RollingLossy, CouplingLossy *Measure
	Lost                        *Measure
	Drivers                     []string // the gears that drive its teeth, seen from the carrier
	Members                     Named[LoadedMember]
}

// A LoadedMember is a loaded member of a gearset over all ways.
type LoadedMember struct {
	Torque, Power, Rolling, Coupling *Measure
	TorqueLossy                      *Measure
	Speed                            Quantity
}

// A LoadedMesh is a pair of gears that carries load, over all ways. What depends
// on pinions whose teeth are not given is nil.
type LoadedMesh struct {
	First, Second     string
	OnFirst, OnSecond *Measure
	Rolls             *Quantity
	Lost              *Measure // nil without losses, or where they are those of whole gearsets
}

// A loading puts a load of the engine into an answer.
type loading struct {
	t     *kinematics.Train
	l     *solve.Load
	scale loadScale
}

// over returns a quantity over ways, nil if there are none.
func over(ways []solve.LoadSplit, by float64, of func(*solve.LoadSplit) exact.Frac) *Measure {
	return document.If(Measure{solve.Extremes(ways, of), by}, len(ways) > 0)
}

func (x *loading) torque(of func(*solve.LoadSplit) exact.Frac) *Measure {
	return over(x.l.Ways, x.scale.torque, of)
}
func (x *loading) lossy(of func(*solve.LoadSplit) exact.Frac) *Measure {
	return over(x.l.Lossy, x.scale.torque, of)
}
func (x *loading) speed(f exact.Frac) Quantity { return Quantity{f, x.scale.rpm} }
func (x *loading) power(f exact.Frac) Quantity { return Quantity{f, x.scale.kW()} }
func (x *loading) turns(f exact.Frac) Quantity { return Quantity{f, x.scale.torque} }

// loadOf puts a load of the engine into an answer.
func loadOf(t *kinematics.Train, l *solve.Load, r *LoadedRange, faults Faulted, scale loadScale,
	losses *LoadLosses) *Load {
	x := &loading{t, l, scale}
	a := &Load{
		Train: t.Name, Range: r.Range, Apply: r.Apply, Faulted: faults, Verdict: l.Motion.Verdict, Flow: "pulling",
		Ratio:   document.RatioOf(l.Motion.At.Output.Inv(), true),
		Trouble: document.If(l.Trouble, l.Trouble != solve.NoLossTrouble),
		Loose:   reading.Bodies(t, l.Loose), Shared: len(l.Ways) > 1,
		Efficiency: over(l.Lossy, 0, func(w *solve.LoadSplit) exact.Frac { return w.Power.Efficiency }),
		Status:     reading.LossStatus(t, l), Sharing: reading.Sharing(t, l), Recirculating: reading.Recirculation(t, l),
		PowerBy: scale.kW(), TorqueBy: scale.torque,
	}
	turned := func(w *solve.LoadSplit) exact.Frac { return w.Output.Neg() }
	if l.Coasting {
		a.Flow, turned = "coasting", func(w *solve.LoadSplit) exact.Frac { return w.Output }
	}
	a.Turned, a.TurnedLossy = x.torque(turned), x.lossy(turned)
	st := &l.Motion.State
	a.Input = x.end(st.Input, func(w *solve.LoadSplit) exact.Frac { return w.Input })
	a.Output = x.end(st.Output, func(w *solve.LoadSplit) exact.Frac { return w.Output })
	for i := range t.Couplings {
		c := x.coupling(i)
		a.Couplings.Add(t.Couplings[i].Name, c)
		if c.OneWay != nil {
			a.OneWays = append(a.OneWays, t.Couplings[i].Name+" "+c.OneWay.String())
		}
	}
	a.Ways = kinematics.Map(l.Ways, func(w solve.LoadSplit) split { return split{x, &w, &exact.Text{Frac: w.Output}} })
	a.WithLosses = kinematics.Map(l.Lossy, func(w solve.LoadSplit) split { return split{x, &w, nil} })
	x.powers(a)
	x.meshes(a, losses)
	return a
}

func (x *loading) end(id kinematics.MemberID, of func(*solve.LoadSplit) exact.Frac) Named[any] {
	torque := x.torque(of)
	return document.Object(
		"member", x.t.Members[id].Name, "speed", x.speed(x.l.Motion.Members[id].Min.Frac),
		"torque", torque, "torque_exact", ExactAmount(torque.Interval), "torque_with_losses", x.lossy(of),
	)
}

func (x *loading) coupling(i int) LoadedCoupling {
	m, c := x.l.Motion, &x.t.Couplings[i]
	of := func(w *solve.LoadSplit) exact.Frac { return w.Torque[i] }
	torque := Measure{x.l.Sharing.Torque[i], x.scale.torque}
	mode, does := m.State.Modes[i], m.States[i].String()
	if c.Kind == kinematics.OneWay && m.States[i] != solve.StateOpen {
		does = x.l.OneWay(i).String()
	}
	return LoadedCoupling{
		State:   m.States[i],
		OneWay:  document.If(x.l.OneWay(i), mode == kinematics.Overruns || mode == kinematics.Reversed),
		Between: reading.Bodies(x.t, []kinematics.MemberID{c.A, c.B}),
		Torque:  torque, TorqueExact: ExactAmount(torque.Interval), TorqueLosses: x.lossy(of),
		Slip: Measure{m.Slips[i].Interval, x.scale.rpm}, Does: does, ID: i,
	}
}

// A split is one statically determinate way to carry a load.
type split struct {
	*loading
	way   *solve.LoadSplit
	exact *exact.Text // the torque at the output, nil with losses
}

// MarshalJSON writes the way by names. What depends on pinions whose teeth are not given is
// null; "largest_branch" is the largest power between a gearset and one of its members.
func (s split) MarshalJSON() ([]byte, error) {
	t, w := s.t, s.way
	var couplings, members Named[Quantity]
	for _, i := range w.Carry {
		couplings.Add(t.Couplings[i].Name, s.turns(w.Torque[i]))
	}
	for id, f := range w.Gears {
		if f.Sign() != 0 && !t.Members[id].Unknown {
			members.Add(t.Members[id].Name, s.turns(f))
		}
	}
	meshes := kinematics.Map(w.Meshes, func(m solve.MeshLoad) Named[any] {
		return document.Object(
			"gearset", t.Gearsets[m.Gearset].Name, "first", t.Members[m.A].Name, "second", t.Members[m.B].Name,
			"torque_on_first", document.If(s.turns(m.TorqueA), m.GivenA),
			"torque_on_second", document.If(s.turns(m.TorqueB), m.GivenB),
			"first_rolls", document.If(s.speed(m.Rolls), m.Known && m.GivenA), "lost", s.power(m.Loss),
		)
	})
	var gearsets Named[Named[any]]
	var power, branch, recirculates, imbalance any
	var loops []Named[any]
	if p := w.Power; p != nil {
		power = document.Object("in", s.power(p.In), "out", s.power(p.Out), "lost", s.power(p.Loss),
			"efficiency", p.Efficiency)
		if g := p.Largest.Gearset; g >= 0 {
			branch = document.Object("share", p.Largest.Share, "gearset", t.Gearsets[g].Name,
				"member", t.Members[p.Largest.Member].Name)
		}
		recirculates, imbalance = p.Recirculates(), p.Imbalance
		for g := range p.Sets {
			gearsets.Add(t.Gearsets[g].Name, s.set(&p.Sets[g]))
		}
		loops = kinematics.Map(p.Loops, func(l solve.Loop) Named[any] {
			return document.Object("share", l.Share, "rolls", l.Rolls, "through", List[string](reading.LoopSteps(t, l)))
		})
	}
	return document.Object(
		"output_torque", s.turns(w.Output), "output_torque_exact", s.exact, "couplings", couplings, "members", members,
		"meshes", List[Named[any]](meshes), "gearsets", gearsets, "power", power, "largest_branch", branch,
		"recirculates", recirculates, "loops", List[Named[any]](loops), "residual", w.Residual, "imbalance", imbalance,
	).MarshalJSON()
}

// set is the power through a gearset, and what the rest of the train exerts on its members.
func (s split) set(p *solve.SetPower) Named[any] {
	var members Named[Named[any]]
	for _, m := range p.Members {
		members.Add(s.t.Members[m.Member].Name, document.Object("torque", s.turns(m.Torque), "power", s.power(m.Power),
			"rolling_power", s.power(m.Rolling), "coupling_power", s.power(m.Coupling)))
	}
	return document.Object("rolling_power", s.power(p.Rolling), "coupling_power", s.power(p.Coupling),
		"lost", s.power(p.Loss), "members", members)
}

// powers fills in the powers over all ways.
func (x *loading) powers(a *Load) {
	l, kW := x.l, x.scale.kW()
	whole := func(of func(*solve.Power) exact.Frac) *Measure {
		return over(l.Lossy, kW, func(w *solve.LoadSplit) exact.Frac { return of(w.Power) })
	}
	a.In = whole(func(p *solve.Power) exact.Frac { return p.In })
	a.Out = whole(func(p *solve.Power) exact.Frac { return p.Out })
	a.Lost = whole(func(p *solve.Power) exact.Frac { return p.Loss })
	if l.Ways[0].Power == nil {
		return
	}
	circling := over(l.Ways, 0, circling)
	a.Circling = document.If(*circling, circling.Max.Sign() > 0)
	for g := range x.t.Gearsets {
		a.Gearsets.Add(x.t.Gearsets[g].Name, x.gearset(g))
	}
}

// circling is the share of the power that goes round through gears that roll.
func circling(w *solve.LoadSplit) exact.Frac {
	sum := exact.Int(0)
	for _, loop := range w.Power.Loops {
		if loop.Rolls {
			sum = sum.Add(loop.Share)
		}
	}
	return sum
}

func (x *loading) gearset(g int) LoadedSet {
	l, kW := x.l, x.scale.kW()
	of := func(ways []solve.LoadSplit, f func(*solve.SetPower) exact.Frac) *Measure {
		return over(ways, kW, func(w *solve.LoadSplit) exact.Frac { return f(&w.Power.Sets[g]) })
	}
	rolling := func(p *solve.SetPower) exact.Frac { return p.Rolling }
	coupling := func(p *solve.SetPower) exact.Frac { return p.Coupling }
	s := LoadedSet{
		Rolling: of(l.Ways, rolling), Coupling: of(l.Ways, coupling), RollingLossy: of(l.Lossy, rolling),
		CouplingLossy: of(l.Lossy, coupling), Lost: of(l.Lossy, func(p *solve.SetPower) exact.Frac { return p.Loss }),
	}
	for i := range l.Ways {
		for _, m := range l.Ways[i].Power.Sets[g].Members {
			name := x.t.Members[m.Member].Name
			s.Loaded = true
			if m.Rolling.Sign() > 0 && !slices.Contains(s.Drivers, name) {
				s.Drivers = append(s.Drivers, name)
			}
			if _, known := s.Members.Get(name); !known {
				s.Members.Add(name, x.member(g, m.Member))
			}
		}
	}
	return s
}

func (x *loading) member(g int, id kinematics.MemberID) LoadedMember {
	of := func(ways []solve.LoadSplit, by float64, f func(*solve.MemberPower) exact.Frac) *Measure {
		return over(ways, by, func(w *solve.LoadSplit) exact.Frac { return f(memberPower(w, g, id)) })
	}
	torque := func(m *solve.MemberPower) exact.Frac { return m.Torque }
	kW := x.scale.kW()
	return LoadedMember{
		Torque: of(x.l.Ways, x.scale.torque, torque), TorqueLossy: of(x.l.Lossy, x.scale.torque, torque),
		Power:    of(x.l.Ways, kW, func(m *solve.MemberPower) exact.Frac { return m.Power }),
		Rolling:  of(x.l.Ways, kW, func(m *solve.MemberPower) exact.Frac { return m.Rolling }),
		Coupling: of(x.l.Ways, kW, func(m *solve.MemberPower) exact.Frac { return m.Coupling }),
		Speed:    x.speed(x.l.Motion.Members[id].Min.Frac),
	}
}

// memberPower returns the power of a member of gearset g, zero if it has none.
func memberPower(w *solve.LoadSplit, g int, id kinematics.MemberID) *solve.MemberPower {
	members := w.Power.Sets[g].Members
	if i := slices.IndexFunc(members, func(m solve.MemberPower) bool { return m.Member == id }); i >= 0 {
		return &members[i]
	}
	zero := exact.Int(0)
	return &solve.MemberPower{Member: id, Torque: zero, Power: zero, Rolling: zero, Coupling: zero}
}

// meshes fills in the gears in engagement that carry load, over all ways.
func (x *loading) meshes(a *Load, losses *LoadLosses) {
	l := x.l
	for i := range l.Ways[0].Meshes {
		m := &l.Ways[0].Meshes[i]
		first := x.torque(func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].TorqueA })
		if first.Zero() {
			continue
		}
		mesh := LoadedMesh{
			First: x.t.Members[m.A].Name, Second: x.t.Members[m.B].Name,
			OnFirst: document.If(*first, m.GivenA), Rolls: document.If(x.speed(m.Rolls), m.GivenA),
		}
		if m.GivenB {
			mesh.OnSecond = x.torque(func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].TorqueB })
		}
		if losses.Basic == nil && !losses.Lossless {
			mesh.Lost = over(l.Lossy, x.scale.kW(), func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].Loss })
		}
		a.Meshes = append(a.Meshes, mesh)
	}
}
