package solve

import "tieup/kinematics"

// A Limit bounds a search for equilibria, of which there can be exponentially
// many: to so many steps, and so many that are found. 0 is no bound.
type Limit struct{ Work, Count int }

// SomeConflicts is [System.Conflicts] within a limit: it says whether the list is
// whole. It finds one conflict in any case, if there is one.
func (s *System) SomeConflicts(st kinematics.State, m Demand, limit Limit) (list []Equilibrium, all bool) {
	q := s.blocked(st, m)
	k := s.Kernel()
	return s.some(q, limit, func(st kinematics.State) bool { return k.Outcome(st).forbids(m) })
}

// SomeCarrying is [System.Carrying] within a limit: it says whether the list is
// whole. It finds one way in any case.
func (s *System) SomeCarrying(m *Motion, limit Limit) (list []Equilibrium, all bool) {
	k := s.Kernel()
	return s.some(carried(m), limit, func(st kinematics.State) bool {
		o := k.Outcome(st)
		return o.Verdict == m.Verdict && o.OutputSpeed().Cmp(m.OutputSpeed()) == 0
	})
}

// SomeAgreements is [System.Agreements] within a limit: it says whether the list
// is whole.
func (s *System) SomeAgreements(st kinematics.State, limit Limit) (list []Equilibrium, all bool) {
	return s.equilibria(query{st: st}, limit)
}

// some finds equilibria within a limit. If the limit allows none, it looks for one
// by letting couplings go for as long as holds stays true.
func (s *System) some(q query, limit Limit, holds func(kinematics.State) bool) (list []Equilibrium, all bool) {
	if list, all = s.equilibria(q, limit); all || len(list) > 0 || !holds(q.st) {
		return list, all
	}
	q.st = q.st.Clone()
	for i, mode := range q.st.Modes {
		if q.st.Modes[i] = kinematics.Open; mode != kinematics.Open && !holds(q.st) {
			q.st.Modes[i] = mode
		}
	}
	list, _ = s.equilibria(q, Limit{Count: 1})
	return list, false
}

// forbids says whether a motion is impossible.
func (o Outcome) forbids(m Demand) bool {
	switch m {
	case InputForward:
		return o.Pull.Empty
	case InputBackward:
		return !o.InputBackward
	case OutputForward:
		return o.CoastForward.Empty
	}
	return o.CoastBackward.Empty
}
