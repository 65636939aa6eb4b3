package diagnosis

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/shift"
)

// chance says whether a shift does something: not, only if its timing is off
// too, or whatever the timing.
type chance uint8

const (
	never chance = iota
	illTimed
	always
)

// A shifting is what can be seen of a shift.
type shifting struct {
	binds, flares chance
	early, late   bool   // its timing is off
	weak          bool   // pressure is low, or what it brings on is weak
	drags         bool   // what it releases drags
	hard          bool   // pressure is too high
	stays         chance // the gear before stays in, or, if ill timed, another one comes than should
}

// A shiftFinder says what hypotheses do to shifts, remembering every shift that
// it was asked for.
type shiftFinder struct {
	f      *Finder
	finder *shift.Predictor
	memo   map[string]shifting
}

func newShiftFinder(f *Finder) *shiftFinder {
	return &shiftFinder{f: f, finder: shift.NewPredictor(f.sys), memo: map[string]shifting{}}
}

// fit says how what was seen of a shift fits h.
func (s *shiftFinder) fit(o *Observation, h *Hypothesis) Fit {
	x := s.of(h, o.Range, o.To)
	if h.Kind == Timing && h.Shift == [2]int{o.Range, o.To} {
		x.early, x.late = !h.Late, h.Late
	}
	x.hard = h.Kind == HighPressure
	switch o.Word {
	case Late, Shudder:
		x.weak = s.comes(h, o)
	case Harsh:
		x.drags = s.hangs(h, o)
	case NoShift:
		x.stays = s.stays(h, o)
	}
	return x.fit(o.Word)
}

// comes says whether what a shift brings on is weak, so that it comes late or grips and
// slips: pressure is low, or an element that the shift applies leaks or is worn.
func (s *shiftFinder) comes(h *Hypothesis, o *Observation) bool {
	if h.Kind == Pressure {
		return !h.noPressure()
	}
	from, to := s.f.t.Ranges[h.commands(o.Range)].Apply, &s.f.t.Ranges[o.To]
	return slices.ContainsFunc(h.Faults, func(x kinematics.Fault) bool {
		return x.Kind == kinematics.Weak && x.ActsIn(to.Name) && slices.Contains(to.Apply, x.Coupling) &&
			!slices.Contains(from, x.Coupling)
	})
}

// hangs says whether a shift comes with a blow, since what it releases drags.
func (s *shiftFinder) hangs(h *Hypothesis, o *Observation) bool {
	from, to := s.f.t.Ranges[o.Range].Apply, &s.f.t.Ranges[o.To]
	return slices.ContainsFunc(h.Faults, func(x kinematics.Fault) bool {
		return x.Kind == kinematics.Dragging && x.ActsIn(to.Name) && slices.Contains(from, x.Coupling) &&
			!slices.Contains(to.Apply, x.Coupling)
	})
}

// stays says whether a shift does not come: the first range drives the way it should, and
// the second does the same; or it does something else than it should, which a control that
// watches the ratio can answer by going back.
func (s *shiftFinder) stays(h *Hypothesis, o *Observation) chance {
	e := s.f.engine
	from, to := &e.cells[e.cell(h, o.Range)], &e.cells[e.cell(h, o.To)]
	switch {
	case from.Light.Drives() != s.f.road.healthy[o.Range].Light.Drives():
		return never // there is no gear to stay in
	case h.commands(o.Range) == h.commands(o.To), from.Light.same(to.Light):
		return always
	case !to.Full.same(s.f.road.healthy[o.To].Full):
		return illTimed
	}
	return never
}

// fit says how a word fits what a shift can be seen to do.
func (x shifting) fit(w Word) Fit {
	switch w {
	case ShiftBinds:
		return grade(x.binds == always || x.early, x.binds == illTimed)
	case Flare:
		return grade(x.flares == always || x.late, x.flares == illTimed)
	case Late:
		return yes(x.late || x.weak)
	case Harsh:
		return grade(x.early || x.drags || x.hard || x.binds == always, x.binds == illTimed)
	case Shudder:
		return grade(x.weak, x.late)
	case NoShift:
		return grade(x.stays == always, x.stays == illTimed)
	}
	return grade(x.binds != always && x.flares != always && !x.early && !x.late && !x.hard, x.hard)
}

// of returns what the shift from one range to another can be seen to do under h.
func (s *shiftFinder) of(h *Hypothesis, from, to int) shifting {
	a, b := h.commands(from), h.commands(to)
	if a == b || !s.finder.Comparable(a, b) {
		return shifting{} // no shift takes place
	}
	e := s.f.engine
	// The pair belongs to the key: what it does when healthy is compared with.
	key := fmt.Sprint(a, b, " ")
	for _, r := range []int{a, b} {
		key += string(e.stateKey(s.f.t.In(&s.f.t.Ranges[r], h.Faults...)))
	}
	x, known := s.memo[key]
	if !known {
		x = s.find(h.Faults, a, b)
		s.memo[key] = x
	}
	if full := e.cells[e.cell(h, to)].Full; s.f.road.slips(to, full) {
		x.flares = always
	}
	return x
}

// find reads a shift. Bind is what a driver feels when the engine is pulled
// down or the wheels lock, flare when it runs up.
func (s *shiftFinder) find(faults []kinematics.Fault, from, to int) shifting {
	x := s.finder.Outline(shift.Pair{From: from, To: to}, faults...)
	var r shifting
	if x.Standing {
		if x.Pulling.Verdict == shift.BoundAnyway {
			r.binds = always
		}
		return r
	}
	switch x.Pulling.Verdict {
	case shift.BoundAnyway, shift.BoundThroughout, shift.BoundBefore:
		r.binds = always
	case shift.LosesDrive:
		r.flares = always
	}
	for _, e := range x.Pulling.Harm() {
		switch e.Kind {
		case shift.Locks, shift.Holds, shift.Dips:
			r.binds = max(r.binds, illTimed)
		case shift.Flares, shift.Runs:
			r.flares = max(r.flares, illTimed)
		}
	}
	// The second range may be in another gear than it should: beyond both gears
	// of the shift the engine runs up, below both it is pulled down.
	healthy := s.finder.Outline(x.Pair)
	settles := x.Second.Pulling.Speed
	if x.Second.Outcome.Drives() && x.Second.Outcome.Verdict == x.Way && settles.Inf == 0 {
		a, b := healthy.First.Pulling.Speed, healthy.Second.Pulling.Speed
		switch {
		case settles.Cmp(a) > 0 && settles.Cmp(b) > 0:
			r.flares = always
		case settles.Cmp(a) < 0 && settles.Cmp(b) < 0:
			r.binds = always
		}
	}
	return r
}

// timings lists, for every shift that was seen to bind or flare, the hypothesis
// that its timing alone is off. Where no timing does what was seen there is none.
func (f *Finder) timings(seen []Observation) []Hypothesis {
	var list []Hypothesis
	for i := range seen {
		o := &seen[i]
		if !o.IsShift() || o.Word == ShiftOK || o.Word == NoShift || o.Word == Note {
			continue
		}
		h := Hypothesis{Kind: Timing, Shift: [2]int{o.Range, o.To}, Late: o.Word != ShiftBinds && o.Word != Harsh,
			Class: Control}
		x := f.shifts.of(&f.singles[0], o.Range, o.To)
		can := x.binds
		if h.Late {
			can = x.flares
		}
		same := func(x Hypothesis) bool { return x.Shift == h.Shift && x.Late == h.Late }
		if (can != never || o.Word != ShiftBinds && o.Word != Flare) && !slices.ContainsFunc(list, same) {
			list = append(list, h)
		}
	}
	return list
}
