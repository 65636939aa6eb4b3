package diagnosis

import (
	"context"
	"fmt"
)

// Several finds all sets of n faults that agree with everything seen, whether
// fewer do or not.
func (f *Finder) Several(c *Case, n int) []*Suspect {
	return f.several(context.Background(), c, n, 1, Options{})
}

// ShiftsAnew returns what every single hypothesis does to a shift, once as the
// finder remembers it and once found anew.
func (f *Finder) ShiftsAnew(from, to int) (remembered, anew []string) {
	for i := range f.singles {
		h := &f.singles[i]
		remembered = append(remembered, fmt.Sprint(h.Faults, h.Command, f.shifts.of(h, from, to)))
		anew = append(anew, fmt.Sprint(h.Faults, h.Command, newShiftFinder(f).of(h, from, to)))
	}
	return remembered, anew
}

// Score is the logarithm of what a suspect weighs.
func (s *Suspect) Score() float64 { return s.score }

// Further counts the ranges of a suspect that count against it.
func (s *Suspect) Further() int { return s.further }
