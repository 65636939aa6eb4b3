package solve

import (
	"cmp"
	"math/big"
	"slices"

	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// mostCorners is how many corners of an optimal face are listed.
const mostCorners = 64

// optima are all motions that cost as little as a solution does.
type optima struct {
	corners []MechanismMotion
	other   exact.Interval // speed of the end that is not forced
	more    bool           // corners is one of too many
}

// A face is the set of all optima, as rows that are 0 or not negative.
//
// Of the duals of one solution those that lie strictly between the costs of a term
// hold it at zero in every optimum, those at either end hold it on one side of zero;
// likewise those of inequalities. This complementary slackness is both necessary
// and sufficient, so that the face is the cone of what it leaves, at unit 1: a
// small one, since only what slips in some optimum is left free.
type face struct {
	zero, nonNegative []polyhedra.Row
	// sides split the face where nothing says on which side of zero the other end
	// is, so that coming to rest is a corner, too.
	sides []polyhedra.Row
}

func (x *gripped) face(f forced, sol *polyhedra.Solution) *face {
	c := &face{zero: slices.Clone(x.locks)}
	side := func(row polyhedra.Row, plus, minus *big.Rat, dual exact.Frac) {
		switch atPlus, atMinus := dual.Neg().Cmp(exact.FromRat(plus)) == 0, dual.Cmp(exact.FromRat(minus)) == 0; {
		case atPlus && atMinus:
			c.sides = append(c.sides, row, negative(row))
		case atPlus:
			c.nonNegative = append(c.nonNegative, row)
		case atMinus:
			c.nonNegative = append(c.nonNegative, negative(row))
		default:
			c.zero = append(c.zero, row)
		}
	}
	side(f.other, f.cost, f.against, sol.TermDual[0])
	for k, i := range x.friction {
		side(x.slip[i], x.g.Capacity[i], x.g.Capacity[i], sol.TermDual[k+1])
	}
	for k, row := range x.ways {
		if sol.NonNegativeDual[k].Sign() > 0 {
			c.zero = append(c.zero, row)
		} else {
			c.nonNegative = append(c.nonNegative, row)
		}
	}
	return c
}

// optima describes the optima of a solved program.
func (x *gripped) optima(f forced, sol *polyhedra.Solution) optima {
	if sol.Unique {
		m := x.solved(f, sol)
		at := exact.Finite(x.otherEnd(f, &m))
		return optima{corners: []MechanismMotion{m}, other: exact.Interval{Min: at, Max: at}}
	}
	c := x.face(f, sol)
	if best, ok := x.corners(f, c); ok {
		return best
	}
	return optima{corners: []MechanismMotion{x.solved(f, sol)}, more: true, other: x.reach(f, c, f.other)}
}

// corners finds the corners of a face, and what speeds of the other end they and
// the directions that cost nothing leave possible. ok is false if there are too many.
func (x *gripped) corners(f forced, c *face) (best optima, ok bool) {
	best.other = exact.None
	sides := c.sides
	if sides == nil {
		sides = []polyhedra.Row{f.unit}
	}
	for n, side := range sides {
		rays, few := x.rays(c, append(slices.Clip(c.nonNegative), f.unit, side))
		if !few {
			return best, false
		}
		for _, v := range rays {
			unit, other := f.unit.Of(v), f.other.Of(v)
			switch {
			case unit.Sign() == 0 && other.Sign() > 0:
				best.other.Max = exact.Infinite(1)
			case unit.Sign() == 0 && other.Sign() < 0:
				best.other.Min = exact.Infinite(-1)
			case unit.Sign() > 0 && (n == 0 || other.Sign() != 0): // rest is on both sides
				best.corners = append(best.corners, x.motion(f, v))
			}
		}
	}
	if len(best.corners) > mostCorners {
		return best, false
	}
	bounds := exact.None
	for i := range best.corners {
		bounds = bounds.Include(x.otherEnd(f, &best.corners[i]))
	}
	if best.other.Min.Inf == 0 {
		best.other.Min = bounds.Min
	}
	if best.other.Max.Inf == 0 {
		best.other.Max = bounds.Max
	}
	best.other.Empty = false
	slices.SortStableFunc(best.corners, func(a, b MechanismMotion) int {
		return without(x.moving(f, &a),
			x.moving(f, &b))
	})
	return best, true
}

// A generated cone can list what it is made of.
type generated interface {
	cone
	Size() (lines, rays int)
	Generators() (lines, rays [][]*big.Int)
}

// rays returns the rays of a face within inequalities; few is false if there are more
// than are worth going on with.
func (x *gripped) rays(c *face, inequalities []polyhedra.Row) (rays [][]*big.Int, few bool) {
	for _, g := range []generated{new(polyhedra.Cone), new(polyhedra.BigCone)} {
		fits := true
		g.Reset(x.k)
		for _, row := range c.zero {
			fits = fits && g.Zero(row)
		}
		for _, row := range inequalities {
			fits = fits && g.NonNegative(row)
			if _, n := g.Size(); fits && n > 4*mostCorners {
				return nil, false
			}
		}
		if fits {
			_, rays = g.Generators()
			break
		}
	}
	return rays, true
}

// reach returns the values of row over a face.
func (x *gripped) reach(f forced, c *face, row polyhedra.Row) exact.Interval {
	end := func(sign int64) exact.Bound {
		p := &polyhedra.Program{N: x.k, Equal: f.unit, Zero: c.zero, NonNegative: c.nonNegative}
		p.Terms = []polyhedra.Term{{Row: row, Plus: big.NewRat(sign, 1), Minus: big.NewRat(-sign, 1)}}
		if s := p.Solve(); s.Status == polyhedra.Optimal {
			return exact.Finite(s.Value.Mul(exact.Int(sign)))
		}
		return exact.Infinite(-int(sign))
	}
	return exact.Interval{Min: end(1), Max: end(-1)}
}

// otherEnd is the speed of the end that is not forced.
func (x *gripped) otherEnd(f forced, m *MechanismMotion) exact.Frac {
	if f.standing {
		return m.Output
	}
	return m.Input
}

// moving lists what moves in a motion: the other end, then friction elements, then
// one-way clutches.
func (x *gripped) moving(f forced, m *MechanismMotion) (list []int) {
	if x.otherEnd(f, m).Sign() != 0 {
		list = append(list, 0)
	}
	for k, i := range append(slices.Clip(x.friction), x.oneWay...) {
		if m.Slip[i].Sign() != 0 {
			list = append(list, k+1)
		}
	}
	return list
}

// solved is the motion of a solution.
func (x *gripped) solved(f forced, sol *polyhedra.Solution) MechanismMotion {
	return x.described(f, sol.Terms[0], func(k int) exact.Frac { return sol.Terms[k+1] },
		func(k int) exact.Frac { return sol.NonNegative[k] })
}

// motion is the motion q, per unit of what is forced.
func (x *gripped) motion(f forced, q []*big.Int) MechanismMotion {
	unit := f.unit.Of(q)
	per := func(row polyhedra.Row) exact.Frac { return exact.FromRat(new(big.Rat).SetFrac(row.Of(q), unit)) }
	return x.described(f, per(f.other), func(k int) exact.Frac { return per(x.slip[x.friction[k]]) },
		func(k int) exact.Frac { return per(x.ways[k]) })
}

// described is a motion by its values: the other end, friction elements, one-way
// clutches.
func (x *gripped) described(f forced, other exact.Frac, friction, ways func(k int) exact.Frac) MechanismMotion {
	m := MechanismMotion{Input: exact.Int(1), Output: other, Slip: zeros(len(x.g.State.Modes))}
	if !f.standing {
		m.Output, m.Input = exact.Int(f.sense), m.Output
	}
	for k, i := range x.friction {
		m.Slip[i] = friction(k)
	}
	for k, i := range x.oneWay {
		m.Slip[i] = ways(k)
	}
	x.heat(&m)
	return m
}

// A Stretch is a span of the vehicle's resistance over which the train gives in
// the same way.
type Stretch struct {
	From, To exact.Bound // resistance at the output
	// At From the input torque needed is Torque; it grows with the resistance by
	// Slope, which is the output speed of the motions, without sign.
	Torque, Slope exact.Frac
	Optima        []MechanismMotion // all that cost the same over the whole stretch, or one of them
	More          bool              // there are too many to be listed
	AtLeast       bool              // it costs so much at least, see [Mechanism]
}

// AtEnd is the torque needed at the end of a stretch that has one.
func (s *Stretch) AtEnd() exact.Frac { return s.Torque.Add(s.Slope.Mul(s.To.Frac.Sub(s.From.Frac))) }

// A line is what a motion costs over the resistance R: at 0, and per unit of it.
type line struct{ cost, slope exact.Frac }

func (l line) at(r exact.Frac) exact.Frac { return l.cost.Add(l.slope.Mul(r)) }

// meets returns the resistance at which two lines that are not parallel cost the same.
func (l line) meets(m line) exact.Frac { return m.cost.Sub(l.cost).Mul(l.slope.Sub(m.slope).Inv()) }

// Stretches returns how the answer of [System.Standing] changes as the
// resistance of the vehicle grows from 0 without end. The least cost is a
// concave chain of lines c + R|out|, each the cost of an optimum for some R. Where
// the lines of two optima meet another optimum costs less, or they are neighbours:
// so that the points where the answer switches are computed, not sampled, with two
// programs each, or from a list of all corners where these are few. It is empty if nothing
// can slip.
func (s *System) Stretches(g *Capacities) []Stretch {
	x := s.gripped(g)
	x.listed = x.few()
	return x.stretches()
}

// stretches is [System.Stretches].
func (x *gripped) stretches() []Stretch {
	first, ok := x.cheapest(exact.Int(0))
	if !ok {
		return nil
	}
	chain := []line{first}
	x.between(first, x.last(), &chain)
	// Of lines that begin at R = 0 only the last, the flattest, is ever seen.
	for len(chain) > 1 && chain[0].cost.Cmp(chain[1].cost) == 0 {
		chain = chain[1:]
	}
	var list []Stretch
	from := exact.Int(0)
	for n, l := range chain {
		st := Stretch{From: exact.Finite(from), To: exact.Infinite(1), Torque: l.at(from), Slope: l.slope}
		inside := from.Add(exact.Int(1))
		if n+1 < len(chain) {
			to := l.meets(chain[n+1])
			st.To = exact.Finite(to)
			inside = from.Add(to).Mul(exact.NewFrac(1, 2))
			from = to
		}
		st.Optima, st.More = x.givenAt(inside)
		st.AtLeast = x.g.open(st.Optima, st.More)
		list = append(list, st)
	}
	return list
}

// givenAt returns the motions that cost least at a resistance, or one of them if there are more
// than can be listed.
func (x *gripped) givenAt(resistance exact.Frac) (motions []MechanismMotion, more bool) {
	f := x.standing(resistance)
	if x.listed != nil {
		if c, only := x.listed.cheapest(resistance); only {
			return []MechanismMotion{x.listed.motion(f, c)}, false
		}
	}
	best := x.optima(f, x.program(f).Solve())
	return best.corners, best.more
}

// cheapest returns the line of an optimum at a resistance; ok is false if there is none.
func (x *gripped) cheapest(resistance exact.Frac) (l line, ok bool) {
	if x.listed != nil {
		c, _ := x.listed.cheapest(resistance)
		return c.line, true
	}
	sol := x.program(x.standing(resistance)).Solve()
	if sol.Status != polyhedra.Optimal {
		return line{}, false
	}
	slope := sol.Terms[0].Abs()
	return line{cost: sol.Value.Sub(slope.Mul(resistance)), slope: slope}, true
}

// last returns the line of what is cheapest for all resistances from one on: no
// motion turns the output less, and of those that turn it as little none costs less.
func (x *gripped) last() line {
	if x.listed != nil {
		return slices.MinFunc(x.listed.corners, func(a, b fewCorner) int {
			return cmp.Or(a.slope.Cmp(b.slope), a.cost.Cmp(b.cost))
		}).line
	}
	f := x.standing(exact.Int(1))
	p := x.program(f)
	for k := range p.Terms[1:] {
		p.Terms[k+1].Plus, p.Terms[k+1].Minus = new(big.Rat), new(big.Rat)
	}
	least := p.Solve().Value
	var lines []line
	for _, output := range []exact.Frac{least, least.Neg()} {
		p := x.program(x.standing(exact.Int(0)))
		p.Zero = append(slices.Clip(p.Zero), difference(f.other, f.unit, output))
		if s := p.Solve(); s.Status == polyhedra.Optimal {
			lines = append(lines, line{cost: s.Value, slope: least})
		}
		if least.Sign() == 0 {
			break
		}
	}
	return slices.MinFunc(lines, func(a, b line) int { return a.cost.Cmp(b.cost) })
}

// between appends the lines of the chain behind a up to b.
func (x *gripped) between(a, b line, chain *[]line) {
	if a.slope.Cmp(b.slope) == 0 {
		return
	}
	at := a.meets(b)
	if l, _ := x.cheapest(at); l.at(at).Cmp(a.at(at)) < 0 {
		x.between(a, l, chain)
		x.between(l, b, chain)
		return
	}
	*chain = append(*chain, b)
}
