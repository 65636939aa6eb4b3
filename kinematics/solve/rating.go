package solve

import (
	"fmt"
	"math/big"
	"strings"

	"tieup/kinematics"
)

// A Rating is the torque that a friction element holds before it slips, the
// same in both directions (bands energise themselves one way: common practice,
// no source; that is not modelled).
type Rating struct {
	// Torque is in units of the rated input torque; not set if nothing gives it.
	Torque Frac
	Known  bool
	// Given says that the file or the user states the torque. Otherwise it is the
	// largest torque that the element carries in any healthy range, which is
	// Range, per unit input torque, times a reserve: an assumption.
	Given bool
	Range string
}

// DefaultReserve is the reserve over the largest healthy torque that ratings
// assume when nothing is given.
func DefaultReserve() Frac { return FracOf(3, 2) }

// A Peak is the largest torque that a coupling carries in the healthy ranges,
// per unit input torque, over all statically determinate ways to share the load.
type Peak struct {
	Torque Frac // absolute
	Range  int  // index into Train.Ranges, -1 if no range loads the coupling
}

// Peaks returns the largest torque of every coupling, parallel to Train.Couplings.
func (s *System) Peaks() []Peak {
	peaks := make([]Peak, len(s.Train.Couplings))
	for i := range peaks {
		peaks[i] = Peak{FracOf(0, 1), -1}
	}
	for r := range s.Train.Ranges {
		m := s.Motion(s.Train.In(&s.Train.Ranges[r]))
		if !m.Drives() {
			continue
		}
		for _, e := range s.Carrying(m) {
			for _, i := range e.Carry {
				t := e.Torque[i]
				if t.Sign() < 0 {
					t = t.Neg()
				}
				if t.Cmp(peaks[i].Torque) > 0 {
					peaks[i] = Peak{t, r}
				}
			}
		}
	}
	return peaks
}

// Ratings returns the rating of every coupling, parallel to Train.Couplings;
// only friction elements have one. given overrides the file, by coupling, in
// units of the rated input torque.
func (s *System) Ratings(reserve Frac, given map[int]Frac) []Rating {
	ratings := make([]Rating, len(s.Train.Couplings))
	for i, p := range s.Peaks() {
		c := &s.Train.Couplings[i]
		if !c.Kind.Friction() {
			continue
		}
		r := &ratings[i]
		if torque, ok := given[i]; ok {
			*r = Rating{Torque: torque, Known: true, Given: true}
		} else if c.Capacity > 0 && s.Train.RatedTorque > 0 {
			*r = Rating{Torque: decimalFrac(c.Capacity / s.Train.RatedTorque), Known: true, Given: true}
		} else if p.Range >= 0 {
			*r = Rating{Torque: p.Torque.Mul(reserve), Known: true, Range: s.Train.Ranges[p.Range].Name}
		}
	}
	return ratings
}

// decimalFrac returns x as the fraction of its decimal text with nine places:
// the exact machinery then works with numbers of a sensible length.
func decimalFrac(x float64) Frac {
	r, ok := new(big.Rat).SetString(fmt.Sprintf("%.9f", x))
	if !ok {
		panic("solve: capacity is not a number")
	}
	return RatFrac(r)
}

// MissingRatingError says which elements would have to slip or drag but have no
// rating: no healthy range loads them and nothing states their capacity.
type MissingRatingError struct {
	Elements []string
}

func (e *MissingRatingError) Error() string {
	return fmt.Sprintf("no rating for %s: no healthy range loads it, so none can be assumed", strings.Join(e.Elements, ", "))
}

// A Grip is what every coupling of a state does once torque decides: held
// rigidly, one way, by friction up to a capacity, or not at all.
type Grip struct {
	State kinematics.State
	// Capacity is the friction torque of couplings that can slip, in units of
	// the rated input torque, parallel to Train.Couplings; nil for all others,
	// which do what State.Modes says.
	Capacity []*big.Rat
}

// Grip returns what the couplings do in a range under faults: applied friction
// elements slip at their rating, weak ones at a share of it, dragging ones
// resist with a share though released, stuck ones are welded or held at a share.
func (s *System) Grip(r *kinematics.Range, faults []kinematics.Fault, ratings []Rating) (*Grip, error) {
	g := &Grip{State: s.Train.In(r, faults...), Capacity: make([]*big.Rat, len(s.Train.Couplings))}
	one := kinematics.Share{Num: 1, Den: 1}
	share := make([]kinematics.Share, len(g.Capacity))
	for _, i := range r.Apply {
		if s.Train.Couplings[i].Kind.Friction() && g.State.Modes[i] == kinematics.Locked {
			share[i] = one
		}
	}
	for _, f := range faults {
		if !f.ActsIn(r.Name) {
			continue
		}
		i := f.Coupling
		switch f.Kind {
		case kinematics.Stuck:
			share[i] = f.Share // none: welded
		case kinematics.Weak:
			if share[i].IsSet() {
				share[i] = f.Share
			}
		case kinematics.Dragging:
			if !share[i].IsSet() {
				share[i] = f.Share
				g.State.Modes[i] = kinematics.Locked
			}
		}
	}
	var missing []string
	for i, sh := range share {
		switch {
		case !sh.IsSet():
		case !ratings[i].Known:
			missing = append(missing, s.Train.Couplings[i].Name)
		default:
			c := ratings[i].Torque.Rat()
			g.Capacity[i] = c.Mul(c, big.NewRat(sh.Num, sh.Den))
		}
	}
	if missing != nil {
		return nil, &MissingRatingError{missing}
	}
	return g, nil
}
