package table

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A spot is a size that something has in a range.
type spot struct {
	name string // of the range
	size extent
}

// spots collects sizes, the largest first; those of the same size stay in the
// order of the ranges.
type spots []spot

func (s *spots) add(name string, size extent) { *s = append(*s, spot{name, size}) }

// text lists "3.2000 in R, 1.4545 in D1, L1".
func (s spots) text(write func(exact.Frac, bool) string) string {
	s = slices.Clone(s)
	slices.SortStableFunc(s, func(x, y spot) int { return y.size.max.Cmp(x.size.max) })
	var words []string
	last := ""
	for _, x := range s {
		size := x.size.text(write, false)
		if size == last {
			words[len(words)-1] += ", " + x.name
			continue
		}
		last = size
		words = append(words, size+" in "+x.name)
	}
	return strings.Join(words, "; ")
}

// magnitude is the range of the absolute values of s.
func (s extent) magnitude() extent {
	switch {
	case s.min.Sign() >= 0:
		return s
	case s.max.Sign() <= 0:
		return extent{s.max.Neg(), s.min.Neg()}
	}
	return extent{exact.NewFrac(0, 1), s.size()}
}

// A place of wear is an element or pinion with its loads and speeds.
type wear struct {
	name              string
	pulling, coasting spots // torques
	slips             spots // of elements; of pinions the speed on the carrier
}

// elementWear says for every element where it carries and where it slips. Slips
// are those while the input drives, or turns in a range that does not drive.
func (a *Loaded) elementWear() []wear {
	list := make([]wear, a.Train.ElementCount)
	for i := range list {
		list[i].name = a.Train.Couplings[i].Name
	}
	for k := range a.Ranges {
		r := &a.Ranges[k]
		for i := range list {
			for _, l := range r.loads() {
				x, _ := over(l.Ways, func(w *solve.LoadSplit) exact.Frac { return w.Torque[i] })
				if x = x.magnitude(); x.max.Sign() == 0 {
					continue
				}
				if l.Coasting {
					list[i].coasting.add(a.rangeName(r), x)
				} else {
					list[i].pulling.add(a.rangeName(r), x)
				}
			}
			if v, one := r.Motion.Slips[i].Point(); one && v.Sign() != 0 && r.Motion.At.Input != 0 {
				list[i].slips.add(a.rangeName(r), extent{v, v}.magnitude())
			}
		}
	}
	return list
}

// pinionWear says how fast every pinion turns on its carrier, under load or not.
func (a *Loaded) pinionWear() []wear {
	var list []wear
	for g := range a.Train.Gearsets {
		set := &a.Train.Gearsets[g]
		for i := range set.Pinions {
			p := &set.Pinions[i]
			w := wear{name: a.Train.Members[p.Member].Name}
			for k := range a.Ranges {
				r := &a.Ranges[k]
				s := analysis.SpinOf(a.Train, set, p, r.Motion.Members, r.Motion.Groups)
				if s.Known && !s.Free && s.Speed.Sign() != 0 && r.Motion.At.Input != 0 {
					w.slips.add(a.rangeName(r), extent{s.Speed, s.Speed}.magnitude())
				}
			}
			list = append(list, w)
		}
	}
	return list
}

// pinionGiven says whether the speeds of a pinion can be known.
func pinionGiven(t *kinematics.Train, g *kinematics.Gearset, p *kinematics.Pinion) bool {
	if g.Across() {
		return p.Teeth > 0
	}
	return !t.Members[p.Member].Unknown
}

// tables writes the loads of all ranges and the places that wear.
func (a *Loaded) tables(p *page) {
	a.head(p, titled(a.Train))
	p.line("")
	p.grid(a.rangeGrid())

	pull, coast := scale{a.Torque, a.InputRPM}, scale{a.Drag, a.InputRPM}
	p.heading("what the elements carry" + perUnit(a.Torque, ", pulling", "input torque") + perUnit(a.Drag, ", coasting", "engine drag"))
	g := &Grid{Columns: columns("element", "kind", "pulling", "coasting")}
	slip := &Grid{Columns: columns("element", "slips")}
	for i, w := range a.elementWear() {
		c := &a.Train.Couplings[i]
		torque := w.pulling.text(pull.torqueOf)
		if torque == "" && len(w.coasting) == 0 {
			torque = "nothing"
		}
		coasting := w.coasting.text(coast.torqueOf)
		if coasting == torque && pull.torque == coast.torque {
			coasting = "the same"
		}
		g.Add(c.Name, c.Kind.String(), torque, coasting)
		if len(w.slips) > 0 {
			slip.Add(c.Name, w.slips.text(pull.speedOf))
		}
	}
	p.grid(g)

	speed := ", turns per turn of the input"
	if a.InputRPM != 0 {
		speed = ", rpm"
	}
	if len(slip.Rows) > 0 {
		p.heading("how fast released elements and overrunning one-way clutches slip" + speed)
		p.grid(slip)
	}
	pinions := &Grid{Columns: columns("pinion", "turns on its carrier")}
	var unknown []string
	k := 0
	wear := a.pinionWear()
	for i := range a.Train.Gearsets {
		set := &a.Train.Gearsets[i]
		for j := range set.Pinions {
			w := wear[k]
			k++
			switch {
			case !pinionGiven(a.Train, set, &set.Pinions[j]):
				unknown = append(unknown, w.name)
			case len(w.slips) == 0:
				pinions.Add(w.name, "never at a fixed speed, or not at all")
			default:
				pinions.Add(w.name, w.slips.text(pull.speedOf))
			}
		}
	}
	if len(pinions.Rows) > 0 {
		p.heading("how fast pinions turn on their carriers" + speed)
		p.grid(pinions)
	}
	if unknown != nil {
		p.line("")
		p.line("not given, for want of teeth: " + list(unknown))
	}
}

func perUnit(given float64, what, of string) string {
	if given != 0 {
		return what + " in N m"
	}
	return what + " per unit of " + of
}

// rangeGrid is a line for each range; what recirculates is said of the first load.
func (a *Loaded) rangeGrid() *Grid {
	g := &Grid{Columns: columns("range", "pulling", "efficiency>", "coasting", "efficiency>", "recirculating>")}
	for i := range a.Ranges {
		r := &a.Ranges[i]
		circle := ""
		for _, l := range r.loads()[:min(1, len(r.loads()))] {
			if share, ok := circling(l); ok {
				circle = share.text(scale{}.powerOf, false)
			}
		}
		g.Add(a.rangeName(r), r.Cell.Text(), a.efficiencyCell(r.Pulling),
			r.Cell.Reading.Coast, a.efficiencyCell(r.Coasting), circle)
	}
	return g
}

// efficiencyCell is the efficiency, or one word for why there is none.
func (a *Loaded) efficiencyCell(l *solve.Load) string {
	switch {
	case l == nil:
		return ""
	case l.Trouble == solve.SelfLocking:
		return "self-locking"
	case len(l.Lossy) == 0:
		return "open"
	case a.efficiencies() == "":
		return ""
	}
	e, _ := over(l.Lossy, func(w *solve.LoadSplit) exact.Frac { return w.Power.Efficiency })
	return e.text(scale{}.powerOf, false)
}

// circling returns the share of the power that goes round through gears that
// roll.
func circling(l *solve.Load) (extent, bool) {
	share := func(w *solve.LoadSplit) exact.Frac {
		sum := exact.NewFrac(0, 1)
		if w.Power != nil {
			for _, loop := range w.Power.Loops {
				if loop.Rolls {
					sum = sum.Add(loop.Share)
				}
			}
		}
		return sum
	}
	s, ok := over(l.Ways, share)
	return s, ok && s.max.Sign() > 0
}
