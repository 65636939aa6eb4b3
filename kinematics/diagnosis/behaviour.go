package diagnosis

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Sense is a way in which the vehicle moves: +1 forward, -1 backward, 0 neither.
type Sense int8

// A Pull is what a range does when the engine pulls.
type Pull struct {
	Verdict solve.Verdict
	Ratio   exact.Frac // of a range that drives: input / output, with the sign of the input
}

// Drives says whether it drives, and which way.
func (p Pull) Drives() Sense {
	switch p.Verdict {
	case solve.Forward:
		return 1
	case solve.Reverse:
		return -1
	}
	return 0
}

// same says whether two pulls are alike.
func (p Pull) same(q Pull) bool {
	return p.Verdict == q.Verdict && (p.Drives() == 0 || p.Ratio.Cmp(q.Ratio) == 0)
}

func pullOf(o solve.Outcome) Pull {
	p := Pull{Verdict: o.Verdict}
	p.Ratio, _ = o.Ratio()
	return p
}

// A Behaviour is what a range does under a hypothesis, as far as a road test
// can show it.
type Behaviour struct {
	Light, Full Pull  // at light and at full throttle
	Creeps      Sense // a released element drags the vehicle that way
	Lurch       Sense // the pawl holds what would drive
	// Forward and Backward are the input speeds, in the input's own sense, at
	// which the vehicle rolls that way at output speed 1; empty if it cannot.
	Forward, Backward exact.Interval
	Sense             int // that of the train: see solve.Outcome.Forward
	Slip              Slip
}

// Rolls says which ways the vehicle can be rolled.
func (b *Behaviour) Rolls() (forward, backward bool) { return !b.Forward.Empty, !b.Backward.Empty }

// Coast says what coasting does in a range that is driven, or meant to be
// driven, in the sense way: whether the vehicle can roll on at all, whether it
// turns the input with it, and at what ratio.
func (b *Behaviour) Coast(way Sense) (ratio exact.Frac, brakes, rolls bool) {
	if d := b.Light.Drives(); d != 0 {
		way = d
	}
	o := solve.Outcome{Verdict: solve.Forward, CoastForward: b.Forward, CoastBackward: b.Backward, Forward: b.Sense}
	if way < 0 {
		o.Verdict = solve.Reverse
	}
	return o.EngineBraking()
}

// key is equal for behaviours that are.
func (b *Behaviour) key() string {
	pull := func(p Pull) string {
		if p.Drives() == 0 {
			return p.Verdict.String()
		}
		return p.Verdict.String() + p.Ratio.String()
	}
	roll := func(i exact.Interval) string {
		if i.Empty {
			return "none"
		}
		return i.Min.String() + ":" + i.Max.String()
	}
	return fmt.Sprint(pull(b.Light), pull(b.Full), b.Creeps, b.Lurch, roll(b.Forward), roll(b.Backward),
		roll(b.Slip.Pulling), roll(b.Slip.Coasting))
}

// a cellID numbers the different behaviours of one engine.
type cellID int32

// An engine says what hypotheses do. It remembers every state that it was asked
// for, since most faults leave most ranges alone. It must not be used by two
// goroutines at once.
type engine struct {
	t       *kinematics.Train
	sys     *solve.System
	kernel  *solve.Kernel
	a       *Assumptions
	reader  *reading.Reader
	scale   solve.Scale
	ratings []solve.Rating // all unknown where no throttle can be stated

	cells   []Behaviour
	byKey   map[string]cellID
	byState map[string]cellID // by the ends of the range, the modes, and what acts through torque
	// holdings are how far ranges with weak elements hold, by [engine.weakKey].
	holdings map[string]*holding
	buffer   []byte
	bench    benchMemo
	torn     map[kinematics.MemberID]tornTrain // by the gear that is off its shell
}

func newEngine(sys *solve.System, a *Assumptions) *engine {
	e := &engine{
		t: sys.Train, sys: sys, kernel: sys.Kernel(), a: a, reader: reading.NewReader(sys), scale: solve.ScaleOf(sys.Train),
		byKey: map[string]cellID{}, byState: map[string]cellID{}, holdings: map[string]*holding{},
		torn: map[kinematics.MemberID]tornTrain{},
	}
	e.ratings = make([]solve.Rating, len(e.t.Couplings))
	if e.scale.Rated.Sign() > 0 {
		e.ratings = solve.Certain(sys.Ratings(e.scale, solve.DefaultReserve(), nil))
	}
	return e
}

// cell returns what range r does under h.
func (e *engine) cell(h *Hypothesis, r int) cellID {
	rng := h.commanded(e.t, r)
	if h.Kind == Torn {
		return e.tornID(h.Gear, e.t.In(rng))
	}
	st := e.t.In(rng, h.Faults...)
	if e.torqueDecides(rng, st, h.Faults) {
		return e.frictionID(rng, st, h.Faults)
	}
	return e.stateID(st)
}

// frictionID is the behaviour of a range in which torque decides.
func (e *engine) frictionID(r *kinematics.Range, st kinematics.State, faults []kinematics.Fault) cellID {
	if some, kind, share := uniform(r, faults); some != nil {
		h := e.readHolding(r, e.weakKey(r, st, some), faults, kind)
		if share != h.share {
			h.measure(e, r, faults, kind)
		}
		switch {
		case h.covers(share):
			return e.scaled(h, r, st, faults, kind, share)
		case share == h.share:
			if h.own == 0 {
				h.own = 1 + e.intern(e.byTorque(r, st, faults, h.read))
			}
			return h.own - 1
		}
	}
	key := string(e.stateKey(st)) + fmt.Sprint(r.Apply)
	for _, f := range faults {
		if reading.ActsByTorque(r, f) {
			key += fmt.Sprint(f.Coupling, f.Kind, f.Share)
		}
	}
	id, known := e.byState[key]
	if !known {
		id = e.intern(e.byTorque(r, st, faults, e.reader.Read(r, faults...)))
		e.byState[key] = id
	}
	return id
}

// stateID is the behaviour of a state in which nothing slips.
func (e *engine) stateID(st kinematics.State) cellID {
	key := e.stateKey(st)
	if id, known := e.byState[string(key)]; known {
		return id
	}
	k := string(key)
	id := e.intern(e.rigid(e.kernel, st))
	e.byState[k] = id
	return id
}

// stateKey writes a state into the buffer.
func (e *engine) stateKey(st kinematics.State) []byte {
	e.buffer = append(e.buffer[:0], byte(st.Input), byte(st.Input>>8), byte(st.Output), byte(st.Output>>8))
	for _, m := range st.Modes {
		e.buffer = append(e.buffer, byte(m))
	}
	return e.buffer
}

// intern numbers a behaviour.
func (e *engine) intern(b Behaviour) cellID {
	k := b.key()
	id, known := e.byKey[k]
	if !known {
		id = cellID(len(e.cells))
		e.cells = append(e.cells, b)
		e.byKey[k] = id
	}
	return id
}

// rigid is the behaviour of a state in which nothing slips.
func (e *engine) rigid(k *solve.Kernel, st kinematics.State) Behaviour {
	o := k.Outcome(st)
	p := pullOf(o)
	b := Behaviour{Light: p, Full: p, Forward: o.CoastForward, Backward: o.CoastBackward, Sense: o.Forward, Slip: noSlip}
	b.Lurch = e.lurch(k, st)
	return b
}

// lurch says which way a state would drive if it were not for the pawl.
func (e *engine) lurch(k *solve.Kernel, st kinematics.State) Sense {
	free, pawl := st, false
	for i := range e.t.ElementCount {
		if e.t.Couplings[i].Kind == kinematics.Pawl && st.Modes[i] == kinematics.Locked {
			if !pawl {
				free, pawl = st.Clone(), true
			}
			free.Modes[i] = kinematics.Open
		}
	}
	if !pawl {
		return 0
	}
	return pullOf(k.Outcome(free)).Drives()
}

// torqueDecides says whether a fault acts through torque in a range. It need
// not be asked further where a single such element does the same whether it
// holds or not.
func (e *engine) torqueDecides(r *kinematics.Range, st kinematics.State, faults []kinematics.Fault) bool {
	n, other := 0, st
	for _, f := range faults {
		if reading.ActsByTorque(r, f) {
			n++
			other = st.Clone()
			other.Modes[f.Coupling] = map[bool]kinematics.Mode{true: kinematics.Open,
				false: kinematics.Locked}[st.Modes[f.Coupling] == kinematics.Locked]
		}
	}
	if n == 1 {
		return e.stateID(st) != e.stateID(other)
	}
	return n > 1
}

// weakKey names a range whose weak or dragging elements have the same share.
func (e *engine) weakKey(r *kinematics.Range, st kinematics.State, some []kinematics.Fault) string {
	key := e.stateKey(st)
	for _, i := range r.Apply {
		key = append(key, byte(i), byte(i>>8))
	}
	for _, f := range some {
		key = append(append(key, 0xff, byte(f.Coupling), byte(f.Coupling>>8)), f.Kind...)
	}
	e.buffer = key[:0]
	return string(key)
}

// byTorque is the behaviour of a range in which torque decides: package reading says how
// far it holds and what it does beyond.
func (e *engine) byTorque(r *kinematics.Range, st kinematics.State, faults []kinematics.Fault,
	c reading.RangeReading) Behaviour {
	p := pullOf(c.Outcome)
	b := Behaviour{Light: p, Full: p, Forward: c.Outcome.CoastForward, Backward: c.Outcome.CoastBackward,
		Sense: c.Outcome.Forward, Slip: noSlip}
	b.Lurch = map[reading.Word]Sense{reading.LurchesForward: 1, reading.LurchesBackward: -1}[c.Lurch]
	x := c.Friction
	if x == nil || x.Missing != nil {
		return b
	}
	b.Light, b.Full = e.at(p, x, e.a.Light), e.at(p, x, e.a.Full)
	if x.Limits && !b.Full.same(p) {
		b.Slip = e.slipping(r, st, faults, c.Outcome)
	}
	if x.Creeps && b.Light.Drives() == 0 {
		b.Creeps = Sense(x.Way)
	}
	return b
}

// at is what a range does at a throttle that pulls as p by its speeds alone.
func (e *engine) at(p Pull, x *reading.Friction, throttle kinematics.Share) Pull {
	torque := e.scale.Rated.Mul(exact.NewFrac(throttle.Num, throttle.Den))
	switch {
	case x.Gives && torque.Cmp(x.Give) >= 0:
		return e.turning(x.Given)
	case x.Gives, x.Drag.Sign() > 0 && torque.Cmp(x.Drag) < 0 && p.Drives() != 0:
		return Pull{Verdict: solve.TieUp} // the throttle does not overcome it
	case x.Limits && torque.Cmp(x.Limit) > 0:
		return e.turning(x.Flare)
	}
	return p
}

// turning is the pull of an engine that turns the output at a speed; at 0 it
// only runs up.
func (e *engine) turning(output exact.Frac) Pull {
	switch output.Sign() * e.t.Forward {
	case 1:
		return Pull{solve.Forward, output.Inv()}
	case -1:
		return Pull{solve.Reverse, output.Inv()}
	}
	return Pull{Verdict: solve.Neutral}
}
