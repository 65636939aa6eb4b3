package transient

import (
	"context"

	"tieup/kinematics"
)

// DemoBus returns the invented vehicle.
func DemoBus() kinematics.Vehicle { return demoBus }

// Run plays the shift once, in steps of s.Step.
func (s *Shift) Run(ctx context.Context) (*Run, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	h, err := s.handover(ctx)
	if err != nil {
		return nil, err
	}
	if h.kind == BySpeed && len(s.Faults) > 0 {
		if timed, err := s.run(ctx, h, true); err == nil {
			h.force(timed)
		}
	}
	r, err := s.run(ctx, h, false)
	if err == nil {
		r.prove()
	}
	return r, err
}
