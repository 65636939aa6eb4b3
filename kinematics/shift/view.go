package shift

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Verdict says what a shift asks of its timing. The package comment defines
// early and late.
type Verdict uint8

// The verdicts. The first five are said where both ranges do something that a
// shift can lead between.
const (
	// Same: neither the shift nor any state on the way changes anything.
	Same Verdict = iota
	// SafeEitherWay: no partial state does harm.
	SafeEitherWay
	// SafeIfEarly: early does no harm, late does.
	SafeIfEarly
	// SafeIfLate: late does no harm, early does.
	SafeIfLate
	// Timed: early and late both do harm.
	Timed

	// BoundAnyway: the second range itself ties up, locks the wheels or holds
	// the input, the first does not.
	BoundAnyway
	// BoundThroughout: both ranges do so.
	BoundThroughout
	// BoundBefore: the first range does so, the second does not.
	BoundBefore
	// LosesDrive: the second range does not drive though it should.
	LosesDrive
	// TakesHold: the first range does not drive though it should; the second does.
	TakesHold
	// NeitherDrives: neither range drives, whether it should or not.
	NeitherDrives
	// WrongWay: the second range drives the other way.
	WrongWay

	// Engages: at a standstill, from no drive into a range that drives, or from
	// one sense to the other.
	Engages
	// Lurches: as Engages, or LetsGo, with a state on the way that drives the wrong way.
	Lurches
	// Releases: at a standstill, from a range that drives to one that does not.
	Releases
	// AlreadyDrives: the first range drives though it should not: nothing is
	// left to engage.
	AlreadyDrives
	// EngagesNothing: the second range does not drive though it should.
	EngagesNothing
	// StillDrives: the second range drives though it should not.
	StillDrives
)

var verdictWords = [...]string{
	Same: "nothing changes", SafeEitherWay: "safe either way",
	SafeIfEarly: "safe if early", SafeIfLate: "safe if late", Timed: "timed",
	BoundAnyway: "ties up whatever the timing", BoundThroughout: "tied up before and after",
	BoundBefore: "tied up before",
	LosesDrive:  "no drive after it", TakesHold: "no drive before it", NeitherDrives: "no drive before or after",
	WrongWay: "wrong way after it",
	Engages:  "engages", Lurches: "can lurch the wrong way", Releases: "lets go", AlreadyDrives: "drives already",
	EngagesNothing: "nothing engages", StillDrives: "goes on driving",
}

// String returns the verdict in words.
func (v Verdict) String() string { return verdictWords[v] }

// MarshalText writes the verdict in words.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Safe says whether some timing leads through the shift without harm.
func (v Verdict) Safe() bool { return v <= SafeIfLate }

// A View is a shift seen while pulling, or while coasting.
type View struct {
	Verdict Verdict
	// Early, Late and Mixed are the worst effects of the states that are passed
	// early, late, and in other orders; nil where none does harm.
	Early, Late, Mixed *Effect
	// Overruns are one-way clutches that make early safe: they hold or are idle
	// in the first range and overrun in overlap. Catches make late safe: they
	// do nothing in the first range and hold in underlap.
	Overruns, Catches []int
	// Order lists the changing couplings in an order that does no harm, where
	// early and late both do; nil if there is none.
	Order []int
}

// judge gives the verdicts, from what the ranges do when healthy at a standstill.
func (s *Shift) judge(from, to solve.Outcome) {
	if s.Standing {
		s.Pulling.passed(s, &pullSide)
		s.Pulling.Verdict = s.standingVerdict(from.Drives(), to.Drives())
		return
	}
	s.Pulling.judge(s, &pullSide)
	s.Coasting.judge(s, &coastSide)
}

// judge gives the verdict of one view of a shift under way.
func (v *View) judge(s *Shift, seen *side) {
	v.passed(s, seen)
	first, second := seen.ends(s)
	idle := func(x settling) bool { return !x.bound && x.speed.Inf > 0 }
	switch {
	case second.bound && second.harm == Reverses:
		v.Verdict = WrongWay
	case second.bound && first.bound:
		v.Verdict = BoundThroughout
	case second.bound:
		v.Verdict = BoundAnyway
	case first.bound:
		v.Verdict = BoundBefore
	case idle(first) && idle(second):
		v.Verdict = NeitherDrives
	case idle(second):
		v.Verdict = LosesDrive
	case idle(first):
		v.Verdict = TakesHold
	case v.Early == nil && v.Late == nil:
		v.Verdict = SafeEitherWay
		if first.speed.Cmp(second.speed) == 0 {
			v.Verdict = Same
		}
	case v.Early == nil:
		v.Verdict = SafeIfEarly
	case v.Late == nil:
		v.Verdict = SafeIfLate
	default:
		v.Verdict = Timed
		v.Order = s.order(seen)
	}
}

// standingVerdict gives the verdict at a standstill; fromDrives and toDrives say
// whether the ranges are meant to drive.
func (s *Shift) standingVerdict(fromDrives, toDrives bool) Verdict {
	first, second := s.First.Outcome, s.Second.Outcome
	switch {
	case second.Pull.Empty && first.Pull.Empty:
		return BoundThroughout
	case second.Pull.Empty:
		return BoundAnyway
	case !toDrives && second.Drives():
		return StillDrives
	case !toDrives && !first.Drives():
		return NeitherDrives
	case !toDrives && s.lurches():
		return Lurches
	case !toDrives:
		return Releases
	case second.Drives() && second.Verdict != s.Way:
		return WrongWay
	case !second.Drives():
		return EngagesNothing
	case first.Pull.Empty:
		return BoundBefore
	case first.Drives() && (!fromDrives || first.Verdict == second.Verdict):
		return AlreadyDrives
	case s.lurches():
		return Lurches
	}
	return Engages
}

// lurches says whether a state on the way drives the wrong way.
func (s *Shift) lurches() bool { return len(s.Pulling.Harm()) > 0 }

// Harm lists the worst effects early, late and in mixed orders, as far as any does harm.
func (v *View) Harm() []*Effect {
	return slices.DeleteFunc([]*Effect{v.Early, v.Late, v.Mixed}, func(e *Effect) bool { return e == nil })
}

// passed finds the worst effect early, late and in mixed orders.
func (v *View) passed(s *Shift, seen *side) {
	off, on := s.sides()
	worse := func(to **Effect, e *Effect) {
		if !e.Kind.Harmless() && (*to == nil || e.worseThan(*to)) {
			*to = e
		}
	}
	for i := range s.Partial {
		x := &s.Partial[i]
		early := x.Changed&off == 0 || x.Changed&on == on
		late := x.Changed&off == off || x.Changed&on == 0
		if early {
			worse(&v.Early, seen.effect(x))
		}
		if late {
			worse(&v.Late, seen.effect(x))
		}
		if !early && !late {
			worse(&v.Mixed, seen.effect(x))
		}
	}
}

// worseThan orders effects by kind, and those of one kind by how far they lead.
func (e *Effect) worseThan(f *Effect) bool {
	if e.Kind != f.Kind {
		return e.Kind > f.Kind
	}
	return e.Kind >= PullsUp && e.Speed.Cmp(f.Speed) > 0 || e.Kind < PullsUp && e.Speed.Cmp(f.Speed) < 0
}

// order searches an order of single changes that passes no harmful state.
func (s *Shift) order(seen *side) []int {
	if !s.Every {
		return nil
	}
	harm := map[uint64]bool{}
	for i := range s.Partial {
		harm[s.Partial[i].Changed] = !seen.effect(&s.Partial[i]).Kind.Harmless()
	}
	all := uint64(1)<<len(s.Changes) - 1
	var path []int
	dead := map[uint64]bool{}
	var walk func(changed uint64) bool
	walk = func(changed uint64) bool {
		if changed == all {
			return true
		}
		if dead[changed] || harm[changed] {
			return false
		}
		for n, c := range s.Changes {
			if changed>>n&1 == 0 {
				path = append(path, c.Coupling)
				if walk(changed | 1<<n) {
					return true
				}
				path = path[:len(path)-1]
			}
		}
		dead[changed] = true
		return false
	}
	if !walk(0) {
		return nil
	}
	return path
}

// freewheels finds the one-way clutches that make early or late safe, by trying
// what the state would do if they were seized or slipped.
func (v *View) freewheels(f *Predictor, s *Shift, first kinematics.State, seen *side) {
	if !v.Verdict.Safe() || v.Verdict == Same {
		return
	}
	off, on := s.sides()
	from, to := seen.ends(s)
	try := func(changed uint64, i int, mode kinematics.Mode) settling {
		st := s.at(first, changed)
		st.Modes[i] = mode
		return seen.settle(f.kernel.Outcome(st), s.Way)
	}
	// needs says whether a state is harmless only because of what a one-way
	// clutch does there that it need not do in the first range.
	needs := func(changed uint64, i int, otherwise kinematics.Mode) bool {
		return try(0, i, otherwise).equal(from) && !try(changed, i, otherwise).against(from, to, seen).Harmless()
	}
	for i := range s.Train.Couplings {
		mode := first.Modes[i]
		if mode != kinematics.Overruns && mode != kinematics.Reversed {
			continue
		}
		if on != 0 && v.Early == nil && needs(on, i, kinematics.Locked) {
			v.Overruns = append(v.Overruns, i)
		}
		if off != 0 && v.Late == nil && needs(off, i, kinematics.Open) {
			v.Catches = append(v.Catches, i)
		}
	}
}
