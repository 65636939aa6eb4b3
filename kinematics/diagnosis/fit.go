package diagnosis

import (
	"math"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Fit says how an observation agrees with what a hypothesis predicts.
type Fit uint8

// The fits, the best first. BySlip is that of a speed that nothing gives exactly, but that
// lies where an element that slips lets it be: it contradicts nothing, and ranks below what
// gives the speed exactly.
const (
	Fully Fit = iota
	BySlip
	Partly
	Not
)

// String returns the word that is printed.
func (f Fit) String() string { return [...]string{"agrees", "by slip", "partly", "contradicts"}[f] }

// MarshalText writes the fit as String does.
func (f Fit) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// Halves counts halves of a contradiction.
func (f Fit) Halves() int { return [...]int{0, 0, 1, 2}[f] }

// cost is what a fit weighs, in twentieths of a contradiction.
func (f Fit) cost() int { return [...]int{0, 4, 10, 20}[f] }

// cost is what fits weigh together, in twentieths of a contradiction.
func cost(fits []Fit) int { return sum(fits, Fit.cost) }

func sum(fits []Fit, of func(Fit) int) (n int) {
	for _, x := range fits {
		n += of(x)
	}
	return n
}

// yes is Fully if it holds, else Not.
func yes(ok bool) Fit {
	if ok {
		return Fully
	}
	return Not
}

// fully or else partly, or else not.
func grade(fully, partly bool) Fit {
	switch {
	case fully:
		return Fully
	case partly:
		return Partly
	}
	return Not
}

// A road is what fits are measured by: the healthy train and the tolerance.
type road struct {
	t         *kinematics.Train
	healthy   []Behaviour // parallel to Train.Ranges
	tolerance exact.Frac
}

// way is the sense in which a range is meant to move the vehicle; forward where
// it is not meant to.
func (g *road) way(r int) Sense {
	if d := g.healthy[r].Light.Drives(); d != 0 {
		return d
	}
	return 1
}

// Fit says how an observation of a range fits a behaviour of that range: the
// table of the package comment, in which each word has a line.
func (g *road) fit(o *Observation, b *Behaviour) Fit {
	light, full := b.Light, b.Full
	rolls, back := b.Rolls()
	rests := light.Drives() == 0
	switch o.Word {
	case OK:
		return g.ok(o.Range, b)
	case Forward, Reverse:
		return drivesSo(o.Word, b)
	case None:
		switch {
		case !rests:
			return Not
		case b.Lurch != 0, b.Creeps != 0, light.Verdict == solve.TieUp:
			return Partly
		}
		return Fully
	case Revs:
		return yes(rests && (light.Verdict == solve.Neutral || light.Verdict == solve.OutputHeld))
	case Loaded:
		return yes(light.Verdict == solve.InputHeld || light.Verdict == solve.TieUp)
	case Bind:
		return grade(light.Verdict == solve.TieUp && b.Lurch == 0, light.Verdict == solve.TieUp ||
			light.Verdict == solve.InputHeld || light.Verdict == solve.OutputHeld || light.Verdict == solve.Neutral &&
			(!rolls || !back))
	case Lurch, LurchForward, LurchBackward:
		want := map[Word]Sense{Lurch: b.Lurch, LurchForward: 1, LurchBackward: -1}[o.Word]
		return grade(b.Lurch != 0 && b.Lurch == want, o.Word == Lurch && !rests || light.Drives() == want && !rests)
	case Creeps: // idling behind a converter, what drives creeps
		return grade(b.Creeps != 0 || !rests && g.idles(), !rests)
	case CreepsForward, CreepsBackward:
		want := map[Word]Sense{CreepsForward: 1, CreepsBackward: -1}[o.Word]
		return grade(b.Creeps != 0 && b.Creeps == want, !rests && light.Drives() == want)
	case Slips:
		if o.Text != "" {
			return g.ratio(o, b)
		}
		return yes(g.slips(o.Range, light) || g.slips(o.Range, full))
	case SlipsLight:
		return yes(g.slips(o.Range, light))
	case SlipsFull:
		return grade(!g.slips(o.Range, light) && g.slips(o.Range, full), g.slips(o.Range, light))
	case HoldsFull:
		return yes(!rests && full.same(light))
	case StallHolds, StallLow: // no part of the train lowers it
		return yes(!stallRuns(b))
	case StallRuns:
		return yes(stallRuns(b))
	case As:
		return g.as(o, light)
	case Ratio:
		return g.ratio(o, b)
	case Engine: // the converter slips, so that the input turns at most so fast
		return yes(!rests && size(light.Ratio) <= size(o.Ratio)*(1+g.tolerance.Float()))
	}
	return g.coasting(o, b)
}

// drivesSo fits a range that was seen to drive one way: it does, or does while it slips, as
// what slips carries torque all the same; partly what it only creeps.
func drivesSo(w Word, b *Behaviour) Fit {
	way := Sense(1)
	end := b.Slip.Pulling.Max
	if w == Reverse {
		way, end = -1, b.Slip.Pulling.Min
	}
	switch {
	case b.Light.Drives() == way:
		return Fully
	case b.Light.Drives() == 0 && !b.Slip.Pulling.Empty && end.Sign() == int(way):
		return BySlip
	}
	return grade(false, b.Creeps == way)
}

// stallRuns says whether in a stall test, the wheels braked, the engine runs up
// beyond its stall speed.
func stallRuns(b *Behaviour) bool {
	return b.Full.Verdict == solve.Neutral || b.Full.Verdict == solve.OutputHeld
}

// coasting fits what was seen with the throttle closed, or by pushing.
func (g *road) coasting(o *Observation, b *Behaviour) Fit {
	ratio, brakes, on := b.Coast(g.way(o.Range))
	rolls, back := b.Rolls()
	switch o.Word {
	case EngineBraking:
		return yes(on && brakes)
	case NoEngineBraking:
		return yes(on && !brakes)
	case Locks:
		return yes(!on)
	case Coasts:
		brakes = brakes && on
		if !(brakes && g.near(o.Ratio, ratio, 1)) && g.slipsBy(o, b) {
			return BySlip
		}
		return grade(brakes && g.near(o.Ratio, ratio, 1), brakes && g.near(o.Ratio, ratio, 2))
	case Held:
		return grade(!rolls && !back, !rolls || !back)
	case Rolls:
		return grade(rolls && back, rolls || back)
	case RollsForwardOnly:
		return yes(rolls && !back)
	case RollsBackOnly:
		return yes(back && !rolls)
	}
	panic("diagnosis: no such word " + string(o.Word))
}

// idles says whether the engine idles behind a converter. So does that of the tables.
func (g *road) idles() bool { return g.t == nil || g.t.Drive == kinematics.Converter }

// ok says whether a range pulls as when healthy, coasting apart. Of one that rests nobody
// feels whether it could be pushed.
func (g *road) ok(r int, b *Behaviour) Fit {
	h := &g.healthy[r]
	if h.Light.Verdict == solve.Neutral && b.Light.Verdict == solve.OutputHeld {
		return yes(b.Lurch == h.Lurch && b.Creeps == 0)
	}
	light := b.Light.same(h.Light) && b.Lurch == h.Lurch
	return grade(light && b.Full.same(h.Full) && b.Creeps == h.Creeps, light && b.Creeps == h.Creeps)
}

// slips says whether a range lets the engine run up beyond its gear: it does
// not drive and nothing holds the engine, or it drives the right way at a
// numerically higher ratio.
func (g *road) slips(r int, p Pull) bool {
	own := g.healthy[r].Light
	switch {
	case own.Drives() == 0:
		return false
	case p.Drives() == 0:
		return p.Verdict == solve.Neutral || p.Verdict == solve.OutputHeld
	}
	return p.Drives() == own.Drives() && size(p.Ratio) > size(own.Ratio) && p.Ratio.Cmp(own.Ratio) != 0
}

// as says whether a range drives in the gear of another, or nearer to it than
// to any other gear: a gear judged by feel.
func (g *road) as(o *Observation, p Pull) Fit {
	other := g.healthy[o.Other].Light
	if p.Drives() == 0 || p.Drives() != other.Drives() {
		return Not
	}
	if p.same(other) {
		return Fully
	}
	distance := func(q Pull) float64 { return math.Abs(math.Log(size(p.Ratio) / size(q.Ratio))) }
	for i := range g.healthy {
		if h := g.healthy[i].Light; h.Drives() == p.Drives() && distance(h) < distance(other) {
			return Not
		}
	}
	return Partly
}

// near says whether two ratios differ by no more than some tolerances, as parts
// of the second.
func (g *road) near(seen, ratio exact.Frac, tolerances int64) bool {
	ratio = ratio.Abs()
	return seen.Sub(ratio).Abs().Cmp(ratio.Mul(g.tolerance).Mul(exact.Int(tolerances))) <= 0
}

func size(f exact.Frac) float64 { return math.Abs(f.Float()) }
