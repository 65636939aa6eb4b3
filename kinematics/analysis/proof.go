package analysis

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Proof is a certificate, found when JSON is written.
type Proof struct{ find func() *verify.Certificate }

// MarshalJSON finds the certificate and writes it.
func (p Proof) MarshalJSON() ([]byte, error) {
	if p.find == nil {
		return []byte("null"), nil
	}
	return document.Marshal(p.find())
}

// mostProved is the number of members up to which what grows with its square is proved:
// the speed of each, and that a way to carry a load is the only one with what it loads.
const mostProved = 120

// certified proves what a state does, and the speeds of its members.
func certified(sys *solve.System, m *solve.Motion) *verify.Certificate {
	p := sys.Prover(m.State)
	p.Outcome()
	c := &verify.Certificate{Covers: outcome(), NotCovered: []string{}}
	if len(sys.Train.Members) <= mostProved {
		p.Members(m)
		c.Covers = append(c.Covers, "members")
	} else {
		c.NotCovered = append(c.NotCovered, "members")
	}
	for i := range sys.Train.Members {
		if m := &sys.Train.Members[i]; m.Unknown {
			c.NotCovered = append(c.NotCovered, "members."+m.Name)
		}
	}
	c.Certificate = p.Certificate
	return c
}

func outcome() []string {
	return []string{"verdict", "ratio", "pull", "coast", "input_backward"}
}

// explained proves what a state does, and its conflicts: each element and each joint
// is a part.
func explained(sys *solve.System, why *reading.Why) *verify.Certificate {
	p := sys.Prover(why.Motion.State)
	p.Outcome()
	for i := range why.Conflicts {
		c := &why.Conflicts[i]
		parts := kinematics.Map(c.Elements, func(e int) []int { return []int{e} })
		for _, joint := range c.Joints {
			parts = append(parts, slices.DeleteFunc(slices.Clone(c.Splines), func(i int) bool {
				return sys.Train.Couplings[i].Joint != joint
			}))
		}
		p.Conflict(c.Demand, parts)
	}
	return &verify.Certificate{
		Covers:      append(outcome()[:2], "conflicts"),
		NotCovered:  []string{"that there are no more conflicts", "fewest changes"},
		Certificate: p.Certificate,
	}
}

// carried proves the ways to carry a load, without and with losses.
func carried(sys *solve.System, st kinematics.State, l *solve.Load, losses *solve.Losses) *verify.Certificate {
	p := sys.Prover(st)
	alone := len(sys.Train.Members) <= mostProved
	lossy := p.Load(l, alone)
	c := &verify.Certificate{
		Covers:     []string{"ways"},
		NotCovered: []string{"that there are no more ways", "bounds over several ways"},
	}
	cover := func(yes bool, field string) {
		if yes {
			c.Covers = append(c.Covers, field)
		} else {
			c.NotCovered = append(c.NotCovered, field)
		}
	}
	c.Efficiencies = efficiencies(sys.Train, losses)
	cover(alone, "ways.determinate")
	cover(lossy, "ways_with_losses")
	if l.Trouble == solve.SelfLocking {
		c.NotCovered = append(c.NotCovered, "self-locking")
	}
	c.Certificate = p.Certificate
	return c
}

func efficiencies(t *kinematics.Train, l *solve.Losses) certify.Form {
	form := certify.Form{}
	put := func(name string, x exact.Frac) { form[name] = certify.Frac{Rat: *x.Rat()} }
	if l.Basic == nil {
		put("external", l.External)
		put("internal", l.Internal)
		put("chain", l.Chain)
	}
	for g, x := range l.Basic {
		put(verify.BasicName(t.Gearsets[g].Name), x)
	}
	return form
}

// broken proves what each forced motion costs, that it is impossible, or that the engine
// runs away.
func broken(sys *solve.System, b *reading.Breakaway) *verify.Certificate {
	p := sys.ProverOf(b.Grip)
	p.Resistances = certify.Form{"standing": certify.Frac{Rat: *b.Resistance.Rat()}} // where it jams, too
	p.Standing("standing", b.Grip, b.Standing, b.Resistance)
	p.Stretches(b.Grip, b.Chain)
	for i, r := range b.Rolls {
		engine := exact.Int(0)
		if r.Powered {
			engine = b.Available
		}
		p.Rolling(fmt.Sprintf("rolling.%d", i), b.Grip, r.Break, r.Forward, engine)
	}
	return &verify.Certificate{
		Covers:      []string{"standing", "stretches", "rolling"},
		NotCovered:  []string{"ratings", "that there are no more optima"},
		Capacities:  p.Capacities,
		Resistances: p.Resistances,
		Certificate: p.Certificate,
	}
}
