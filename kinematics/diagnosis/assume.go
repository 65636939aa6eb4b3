package diagnosis

import (
	"errors"
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// Assumptions are what a diagnosis takes for granted. All can be set in a
// road-test sheet, and all are printed.
type Assumptions struct {
	// ErrorRate is how often an observation is wrong: above 0 and below 1/2.
	ErrorRate float64
	// Tolerance is how far a measured ratio may be off, as a part of it.
	Tolerance exact.Frac
	// Weak and Dragging are the shares of their rating with which weak and
	// dragging elements hold.
	Weak, Dragging kinematics.Share
	// Light and Full are the two throttles, as shares of the rated input torque.
	Light, Full kinematics.Share
	// Classes is the order of the classes of causes, likeliest first.
	Classes []Class
	// Effort is the effort of a test of each kind; 0 rules the kind out.
	Effort [kinds]int
}

// Default returns the assumptions that hold unless a sheet says otherwise.
func Default() Assumptions {
	return Assumptions{
		ErrorRate: 0.05,
		Tolerance: exact.NewFrac(1, 50),
		Weak:      kinematics.Share{Num: 3, Den: 5},
		Dragging:  kinematics.Share{Num: 1, Den: 10},
		Light:     kinematics.Share{Num: 1, Den: 4},
		Full:      kinematics.Share{Num: 1, Den: 1},
		Classes:   DefaultClasses(),
		Effort:    defaultEffort,
	}
}

// Check refuses assumptions under which nothing can be found; those of [Default] are a start.
func (a *Assumptions) Check() error {
	switch {
	case !(a.ErrorRate > 0 && a.ErrorRate < 0.5):
		return fmt.Errorf("an error rate is above 0 and below a half, not %g", a.ErrorRate)
	case !(a.Tolerance.Float() >= 0):
		return errors.New("a tolerance is 0 or above")
	case len(a.Classes) != classes:
		return fmt.Errorf("the order of the classes has %d, not %d: DefaultClasses are all of them", len(a.Classes), classes)
	}
	for _, s := range []kinematics.Share{a.Weak, a.Dragging, a.Light, a.Full} {
		if err := s.Check(); err != nil {
			return err
		}
	}
	return nil
}

// Two things besides the observations weigh, in contradictions. Together they
// weigh less than one observation that does not fit, and more than one that fits
// partly: one fault comes before two that explain hardly more.
const (
	perFault   = 0.6 // every fault beside the first
	allClasses = 0.1 // the way from the likeliest class of causes to the least likely
)

// classStep is the weight, in contradictions, of each class that a suspect
// stands behind the first. There is one place more than classes, for what the
// circumstances put before all of them.
const classStep = allClasses / float64(classes+1)
