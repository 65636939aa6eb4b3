package shift

import (
	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// Hazards says what a shift under faults can do to people that the healthy one
// does not: in the two ranges, and on the way.
func (f *Predictor) Hazards(p Pair, faults ...kinematics.Fault) []reading.Hazard {
	if len(faults) == 0 {
		return nil
	}
	h, s := f.read(f.Outline(p)), f.read(f.Outline(p, faults...))
	found := append(reading.Hazards(h.First.RangeReading, s.First.RangeReading),
		reading.Hazards(h.Second.RangeReading, s.Second.RangeReading)...)
	if s.First.Lurch != h.First.Lurch || s.Second.Lurch != h.Second.Lurch ||
		s.Pulling.Verdict == Lurches && h.Pulling.Verdict != Lurches {
		found = append(found, reading.Moves)
	}
	locks := func(e *Effect) bool { return e != nil && e.Kind == Locks }
	for _, v := range [][2]*View{{&h.Pulling, &s.Pulling}, {&h.Coasting, &s.Coasting}} {
		healthy, faulty := v[0], v[1]
		if locks(faulty.Early) && !locks(healthy.Early) || locks(faulty.Late) && !locks(healthy.Late) ||
			locks(faulty.Mixed) && !locks(healthy.Mixed) {
			found = append(found, reading.Locks)
		}
	}
	return found
}
