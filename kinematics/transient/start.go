package transient

import (
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// start returns the motion in which the shift begins: input and output turn as
// the range that is left makes them, what it holds has no slip, and what it
// leaves free turns so that the kinetic energy is least.
func (s *Shift) start(b *body, p *plan) ([]float64, error) {
	in, out, err := s.ends()
	if err != nil {
		return nil, err
	}
	var rows [][]float64
	var lo, hi, want []float64
	add := func(row []float64, v span, speed float64) {
		if dot(row, row) > 0 {
			rows, want = append(rows, row), append(want, -speed)
			lo, hi = append(lo, v.lo), append(hi, v.hi)
		}
	}
	add(b.out, rigid, out)
	add(b.in, rigid, in)
	for i, l := range p.laws {
		if p.modes[i] == kinematics.Locked || l.from == open {
			continue
		}
		v := rigid
		switch {
		case l.from == overruns || l.from == reversed:
			v = l.from
		case s.drags(i):
			continue
		}
		add(b.slips[i], v, 0)
	}
	box := newBox(rows)
	copy(box.lo, lo)
	copy(box.hi, hi)
	solved := box.solve(want)
	if !solved || box.residual() > 1e-9*(1+math.Abs(in)+math.Abs(out)) {
		return nil, s.cannotRun(in, out)
	}
	y := make([]float64, b.k)
	for i, x := range box.x {
		for j, v := range rows[i] {
			y[j] += x * v
		}
	}
	// A member that the range fixes while input and output cannot turn.
	off := func(row []float64, want float64) bool { return math.Abs(dot(row, y)-want) > 1e-9*(1+math.Abs(want)) }
	if off(b.out, out) || off(b.in, in) {
		return nil, s.cannotRun(in, out)
	}
	return y, nil
}

func (s *Shift) cannotRun(in, out float64) error {
	return errorf("%s cannot run with the input at %.0f rpm and the vehicle at %.1f km/h: "+
		"choose other speeds to start from",
		s.From.Name, RPM(in), s.KMH(out*float64(s.System.Train.Forward)))
}

// drags says whether coupling i only drags in the range that is left: it slips.
func (s *Shift) drags(i int) bool {
	for _, f := range s.Faults {
		slips := f.Kind == kinematics.Dragging || f.Kind == kinematics.Stuck && f.Share.IsSet() && s.breaksLoose()
		if f.Coupling == i && slips && f.ActsIn(s.From.Name) {
			return !s.From.Applies(i)
		}
	}
	return false
}

// breaksLoose says whether the vehicle rolls in a range that could not roll if what
// is stuck with a share of its rating did not slip.
func (s *Shift) breaksLoose() bool {
	o := s.outcome(s.From, s.Faults)
	return s.Speed != 0 && !o.Drives() && o.Verdict != solve.Neutral
}

// holdingAtStart is what is wrong at the start, without what slips there.
func (s *Shift) holdingAtStart() []kinematics.Fault {
	if !s.breaksLoose() {
		return s.Faults
	}
	return slices.DeleteFunc(slices.Clone(s.Faults), func(f kinematics.Fault) bool {
		return f.Kind == kinematics.Stuck && f.Share.IsSet()
	})
}

// ends returns the speeds of input and output, in the sense of the input, with
// which the range that is left runs at the speed of the shift.
func (s *Shift) ends() (in, out float64, err error) {
	t := s.System.Train
	o := s.outcome(s.From, s.holdingAtStart())
	out = s.Speed * float64(t.Forward)
	switch o.Verdict {
	case solve.Forward, solve.Reverse:
		ratio, _ := o.Ratio()
		in = ratio.Float() * out
		if in < 0 {
			return 0, 0, errorf("%s drives the vehicle the other way: at this speed the input would turn backward", s.From.Name)
		}
	case solve.Neutral, solve.OutputHeld:
		in = s.Idle
	}
	if out != 0 && (o.Verdict == solve.OutputHeld || o.Verdict == solve.TieUp) {
		return 0, 0, errorf("%s %s: it cannot run at this speed; start from rest, or from another range", s.From.Name,
			reading.Does(o.Verdict))
	}
	return in, out, nil
}
