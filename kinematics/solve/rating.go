package solve

import (
	"context"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// A Scale says what torques are counted in: multiples of the rated input
// torque, or N m.
type Scale struct {
	NewtonMetres bool
	// Rated is the rated input torque on this scale; 0 when it is not known, which
	// only N m can have.
	Rated exact.Frac
}

// ScaleOf returns the scale of a train: N m if its file gives the rated torque
// or the capacity of an element, else multiples.
func ScaleOf(t *kinematics.Train) Scale {
	given := t.RatedTorque > 0
	for i := range t.Couplings {
		given = given || t.Couplings[i].Capacity > 0
	}
	if !given {
		return Scale{Rated: exact.NewFrac(1, 1)}
	}
	return Scale{NewtonMetres: true, Rated: Decimal(t.RatedTorque)}
}

// A Rating is the torque that a friction element holds before it slips, the
// same in both directions (bands energise themselves one way: common practice,
// no source; that is not modelled).
type Rating struct {
	Origin RatingOrigin
	Torque exact.Frac // on the scale of the ratings; 0 without a rating
	// Of an assumed rating: the largest torque that the element carries in a
	// healthy range, per unit input torque, that range, and the reserve over it.
	Carried, Reserve exact.Frac
	Range            string
	AtLeast          bool // there are too many ways to share a load: the torque can be larger
}

// Known says whether there is a rating.
func (r *Rating) Known() bool { return r.Origin >= Stated }

// RatingOrigin says where a rating comes from, or why there is none.
type RatingOrigin uint8

// The origins of a rating.
const (
	NoFriction RatingOrigin = iota // the coupling does not slip
	Unloaded                       // no healthy range loads it, so nothing can be assumed
	Unscaled                       // the rated torque is not known, so nothing can be assumed
	Stated                         // by the user
	InFile                         // the capacity of the train file
	Assumed                        // the largest healthy torque times a reserve
)

// DefaultReserve is the reserve over the largest healthy torque that ratings
// assume when nothing is given.
func DefaultReserve() exact.Frac { return exact.NewFrac(3, 2) }

// A Peak is the largest torque that a coupling carries in the healthy ranges,
// per unit input torque, over all statically determinate ways to share the load.
type Peak struct {
	Torque exact.Frac // absolute
	Range  int        // index into Train.Ranges, -1 if no range loads the coupling
	// AtLeast says that there are too many ways to be looked at: others may load the
	// coupling more.
	AtLeast bool
}

// Peaks returns the largest torque of every coupling, parallel to
// Train.Couplings. It must not be changed.
func (s *System) Peaks() []Peak {
	peaks, _ := s.FindPeaks(context.Background())
	return peaks
}

// FindPeaks is [System.Peaks], which what is rated follows from: it ends with ctx, with
// its error. What it found once is kept.
func (s *System) FindPeaks(ctx context.Context) ([]Peak, error) {
	if peaks := s.peaks.Load(); peaks != nil {
		return *peaks, nil
	}
	peaks := s.findPeaks(ctx)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.peaks.Store(&peaks)
	return peaks, nil
}

// Work on the ways of all ranges together, and on those of each one in any case.
var peaksWork, rangeWork = 10 * Usual.Work, Usual.Work / 100

func (s *System) findPeaks(ctx context.Context) []Peak {
	peaks := make([]Peak, len(s.Train.Couplings))
	for i := range peaks {
		peaks[i] = Peak{Torque: exact.Int(0), Range: -1}
	}
	type cut struct {
		x *balance
		r int
	}
	var cuts []cut
	left := peaksWork
	for r := range s.Train.Ranges {
		if ctx.Err() != nil {
			return peaks
		}
		Report(ctx, "healthy ranges", r, len(s.Train.Ranges)+1)
		m := s.Motion(s.Train.In(&s.Train.Ranges[r]))
		if !m.Drives() {
			continue
		}
		q := carried(m)
		x, share := s.balance(q), newSharing(q.st)
		budget := &polyhedra.Budget{Work: max(rangeWork, min(left, Usual.Work)), Done: ctx.Done()}
		share.All = x.search(budget, x.adds(&share))
		left -= budget.Spent()
		s.include(peaks, r, &share)
		if !share.All {
			cuts = append(cuts, cut{x, r})
			for i, mode := range q.st.Modes {
				peaks[i].AtLeast = peaks[i].AtLeast || mode != kinematics.Open
			}
		}
	}
	// At least one way through each coupling that no range is known to load.
	budget := coverWork(ctx)
	for _, c := range cuts {
		share := newSharing(c.x.st)
		c.x.cover(budget, &share, func(i int) bool { return peaks[i].Range >= 0 })
		s.include(peaks, c.r, &share)
	}
	Report(ctx, "healthy ranges", len(s.Train.Ranges)+1, len(s.Train.Ranges)+1)
	return peaks
}

// include takes what range r loads couplings with into the peaks.
func (s *System) include(peaks []Peak, r int, share *Sharing) {
	for i, x := range share.Torque {
		t := larger(x)
		if part, ok := s.Train.Ranges[r].Parts[i]; ok { // all its areas would hold as much more
			t = t.Mul(exact.NewFrac(part.Den, part.Num))
		}
		if t.Cmp(peaks[i].Torque) > 0 {
			peaks[i].Torque, peaks[i].Range = t, r
		}
	}
}

// larger returns the larger size of the two ends of an interval.
func larger(x exact.Interval) exact.Frac {
	least, most := x.Min.Frac.Abs(), x.Max.Frac.Abs()
	if least.Cmp(most) > 0 {
		return least
	}
	return most
}

// Ratings returns the rating of every coupling, parallel to Train.Couplings.
// given overrides the file, by coupling; reserve is that of assumed ratings.
func (s *System) Ratings(scale Scale, reserve exact.Frac, given map[int]exact.Frac) []Rating {
	ratings := make([]Rating, len(s.Train.Couplings))
	for i, p := range s.Peaks() {
		c, r := &s.Train.Couplings[i], &ratings[i]
		r.Torque = exact.NewFrac(0, 1)
		torque, stated := given[i]
		switch {
		case !c.Kind.Friction():
		case stated:
			*r = Rating{Origin: Stated, Torque: torque}
		case c.Capacity > 0 && scale.NewtonMetres:
			*r = Rating{Origin: InFile, Torque: Decimal(c.Capacity)}
		case p.Range < 0:
			r.Origin, r.AtLeast = Unloaded, p.AtLeast
		case scale.Rated.Sign() == 0:
			r.Origin = Unscaled
		default:
			*r = Rating{
				Origin: Assumed, Torque: p.Torque.Mul(reserve).Mul(scale.Rated),
				Carried: p.Torque, Reserve: reserve, Range: s.Train.Ranges[p.Range].Name, AtLeast: p.AtLeast,
			}
		}
	}
	return ratings
}

// Certain returns ratings of which those that can be larger are not known.
func Certain(ratings []Rating) []Rating {
	certain := slices.Clone(ratings)
	for i := range certain {
		if r := &certain[i]; r.AtLeast {
			*r = Rating{Origin: Unloaded, AtLeast: true, Torque: exact.Int(0)}
		}
	}
	return certain
}

// Decimal returns x as the fraction of its shortest decimal text: 0.1 is 1/10.
func Decimal(x float64) exact.Frac {
	r, ok := new(big.Rat).SetString(strconv.FormatFloat(x, 'f', -1, 64))
	if !ok {
		panic("solve: not a number")
	}
	return exact.FromRat(r)
}

// A MissingRatingError names the elements that would have to slip or drag but
// have no rating.
type MissingRatingError struct {
	Unloaded []string // no healthy range loads them
	Unscaled []string // the rated input torque is not known
	Shared   []string // a load can be shared in too many ways to tell what they carry
}

func (e *MissingRatingError) Error() string {
	var parts []string
	if e.Unloaded != nil {
		parts = append(parts, "no rating for "+strings.Join(e.Unloaded, ", ")+
			": no healthy range loads it, so none can be assumed")
	}
	if e.Unscaled != nil {
		parts = append(parts, "no rating for "+strings.Join(e.Unscaled, ", ")+
			": the file gives capacities in N m, but not the rated input torque that the others would follow from")
	}
	if e.Shared != nil {
		parts = append(parts, "no rating for "+strings.Join(e.Shared, ", ")+
			": the load can be shared in too many ways to tell what it carries; give one")
	}
	return strings.Join(parts, "; ")
}

// Capacities are what every coupling of a state does once torque decides: held
// rigidly, one way, by friction up to a capacity, or not at all.
type Capacities struct {
	State kinematics.State
	// Capacity is the friction torque of couplings that can slip, on the scale of
	// the ratings, parallel to Train.Couplings; nil for all others, which do what
	// State.Modes says.
	Capacity []*big.Rat
	atLeast  []bool // the capacity can be larger, as the rating can; nil for none
}

// AtLeast says whether any capacity can be larger.
func (g *Capacities) AtLeast() bool { return slices.Contains(g.atLeast, true) }

// open says whether a capacity matters that can be larger: something of which it is slips
// in one of the motions, or in one that is not listed.
func (g *Capacities) open(optima []MechanismMotion, more bool) bool {
	return more && g.AtLeast() || slices.ContainsFunc(optima, func(m MechanismMotion) bool {
		return slices.ContainsFunc(m.Slips, func(i int) bool { return g.atLeast != nil && g.atLeast[i] })
	})
}

// Capacities returns what the couplings do in a range under faults: applied friction
// elements slip at their rating, weak ones at a share of it, dragging ones
// resist with a share though released, stuck ones are welded or held at a share.
func (s *System) Capacities(r *kinematics.Range, faults []kinematics.Fault, ratings []Rating) (*Capacities, error) {
	n := len(s.Train.Couplings)
	g := &Capacities{State: s.Train.In(r, faults...), Capacity: make([]*big.Rat, n), atLeast: make([]bool, n)}
	one := kinematics.Share{Num: 1, Den: 1}
	share := make([]kinematics.Share, len(g.Capacity))
	for _, i := range r.Apply {
		if s.Train.Couplings[i].Kind.Friction() && g.State.Modes[i] == kinematics.Locked {
			share[i] = one
			if part, ok := r.Parts[i]; ok {
				share[i] = part
			}
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
				share[i] = share[i].Times(f.Share)
			}
		case kinematics.Dragging:
			if !share[i].IsSet() {
				share[i] = f.Share
				g.State.Modes[i] = kinematics.Locked
			}
		}
	}
	var missing MissingRatingError
	for i, sh := range share {
		switch name := s.Train.Couplings[i].Name; {
		case !sh.IsSet():
		case ratings[i].Origin == Unscaled:
			missing.Unscaled = append(missing.Unscaled, name)
		case !ratings[i].Known() && ratings[i].AtLeast:
			missing.Shared = append(missing.Shared, name)
		case !ratings[i].Known():
			missing.Unloaded = append(missing.Unloaded, name)
		default:
			c := ratings[i].Torque.Rat()
			g.Capacity[i], g.atLeast[i] = c.Mul(c, big.NewRat(sh.Num, sh.Den)), ratings[i].AtLeast
		}
	}
	if missing.Unloaded != nil || missing.Unscaled != nil || missing.Shared != nil {
		return nil, &missing
	}
	return g, nil
}
