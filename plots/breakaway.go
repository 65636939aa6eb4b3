package plots

import (
	"math"
	"reflect"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// A Breakaway is the input torque that turns a train against the resistance of
// the vehicle, and what slips then.
type Breakaway struct {
	Answer *analysis.Chains
	Torque float64 // what is available at the input; 0 when not known
	Chains []Chain
	UpTo   float64 // the resistance up to which the chains are drawn

	top float64 // of all sheets, the torque where the scale ends; 0 for that of the chains
}

// A Chain is a range, healthy or with the faults.
type Chain struct {
	Label  string
	Faulty bool
	Pieces []ChainPiece
	// Missing says why there are no pieces.
	Missing string
}

// A ChainPiece is a straight piece of a chain.
type ChainPiece struct {
	Number   int // on the drawing
	From, To float64
	Torque   float64 // needed at From; it grows by Slope
	Slope    float64
	Words    string // "forward or direct slips, output at rest"
}

// at is the torque at a resistance.
func (c ChainPiece) at(resistance float64) float64 { return c.Torque + c.Slope*(resistance-c.From) }

// BreakawayPlan draws the chains of ranges up to a resistance, 0 for as far as
// anything changes.
func BreakawayPlan(c *analysis.Chains, upTo float64) *Breakaway {
	b := &Breakaway{Answer: c, Torque: c.Torques.Available.Float(), UpTo: upTo}
	for i := 0; i < len(c.Chains); i++ {
		healthy := chain(&c.Chains[i])
		if i+1 == len(c.Chains) || !c.Chains[i+1].Faulty {
			b.Chains = append(b.Chains, healthy)
			continue
		}
		i++
		faulty := chain(&c.Chains[i])
		if reflect.DeepEqual(healthy, faulty) {
			healthy.Label += ", healthy or faulty"
			b.Chains = append(b.Chains, healthy)
			continue
		}
		healthy.Label += ", healthy"
		faulty.Label += ", faulty"
		faulty.Faulty = true
		b.Chains = append(b.Chains, healthy, faulty)
	}
	b.number()
	if b.UpTo == 0 {
		b.UpTo = b.reach()
	}
	return b
}

// chain draws one chain.
func chain(x *analysis.Chain) Chain {
	return Chain{Label: x.Range.Name, Missing: x.Missing, Pieces: kinematics.Map(x.Stretches, chainPiece)}
}

// number numbers the pieces of all chains.
func (b *Breakaway) number() {
	n := 0
	for k := range b.Chains {
		for i := range b.Chains[k].Pieces {
			n++
			b.Chains[k].Pieces[i].Number = n
		}
	}
}

func chainPiece(s analysis.BreakawayStretch) ChainPiece {
	c := ChainPiece{From: s.From.Float(), To: math.Inf(1), Torque: s.Torque.Float(), Slope: s.Slope.Float(),
		Words: s.Says(func(f exact.Frac) string { return signed(f.Float(), false) })}
	if s.To.Inf == 0 {
		c.To = s.To.Float()
	}
	return c
}

// reach is the resistance up to which something happens: the last switching
// point, or where the last chain takes all that is available.
func (b *Breakaway) reach() float64 {
	x := 0.0
	for _, c := range b.Chains {
		for _, p := range c.Pieces {
			x = max(x, p.From)
			if at := p.From + (b.Torque-p.Torque)/p.Slope; p.Slope > 0 && at > p.From && at <= p.To {
				x = max(x, at)
			}
		}
	}
	if x == 0 {
		return max(b.Torque, 1)
	}
	return 1.25 * x
}

func (b *Breakaway) heading() heading {
	x := b.Answer
	h := headed("Breakaway", x.Train, x.Question, x.Cautions, x.Outcomes...)
	note := reading.SignNote + "; output speeds are turns per turn of the input. " +
		"Marks: where something else begins to slip."
	if b.Torque > 0 {
		note += " Where a chain lies above the torque available, the input is held."
	}
	h.notes = []string{note}
	if len(x.Assumed) > 0 {
		h.notes = append(h.notes, reading.AssumedRating(x.Assumed, x.Torques.Reserve))
	}
	if len(x.AtLeast) > 0 {
		h.notes = append(h.notes, reading.CanHoldMore(x.AtLeast)+".")
	}
	return h
}
