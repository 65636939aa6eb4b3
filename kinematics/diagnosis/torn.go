package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// torn lists the gears and carriers that two or more elements name directly, and that can be
// torn off the shell or hub on which those sit: they then turn free of them all, while those
// go on holding the shell. A gear that one element names alone needs no suspect of its own: it does
// what that element does that never holds, whose causes name its splines.
func torn(t *kinematics.Train) []Hypothesis {
	var list []Hypothesis
	for m, member := range t.Members {
		switch member.Kind {
		case kinematics.SunMember, kinematics.RingMember, kinematics.CarrierMember, kinematics.GearMember:
		default:
			continue
		}
		gear := kinematics.MemberID(m)
		if on := attached(t, gear); len(on) > 1 {
			h := Hypothesis{Kind: Torn, Gear: gear, Class: Joint}
			for _, e := range on {
				h.Faults = append(h.Faults, kinematics.Fault{Coupling: e, Kind: letsGo(t, e)})
			}
			list = append(list, h)
		}
	}
	return list
}

// letsGo is the fault of an element that holds no way.
func letsGo(t *kinematics.Train, element int) kinematics.FaultKind {
	if t.Couplings[element].Kind == kinematics.OneWay {
		return kinematics.Slips
	}
	return kinematics.OpenF
}

// attached lists the elements that name a gear or carrier directly; none where something else sits on it:
// a joint, the pawl, the input or the output.
func attached(t *kinematics.Train, gear kinematics.MemberID) []int {
	if isEnd(t, gear) {
		return nil
	}
	var on []int
	for i, c := range t.Couplings {
		switch {
		case c.A != gear && c.B != gear:
		case c.Kind == kinematics.Spline, c.Kind == kinematics.Pawl:
			return nil
		default:
			on = append(on, i)
		}
	}
	return on
}

// isEnd says whether a member is the input or the output of the train, or of a range.
func isEnd(t *kinematics.Train, m kinematics.MemberID) bool {
	return m == t.Input || m == t.Output ||
		slices.ContainsFunc(t.Ranges, func(r kinematics.Range) bool { return r.Input == m || r.Output == m })
}

// tornOff returns the train with a gear off its shell: the elements of the gear sit on a
// member of its own.
func tornOff(t *kinematics.Train, gear kinematics.MemberID) *kinematics.Train {
	off := *t
	shell := kinematics.MemberID(len(t.Members))
	hub := kinematics.Member{Name: "!" + t.Members[gear].Name, Kind: kinematics.JointHub, Gearset: -1}
	off.Members = append(slices.Clone(t.Members), hub)
	off.Couplings = slices.Clone(t.Couplings)
	for _, i := range attached(t, gear) {
		c := &off.Couplings[i]
		if c.A == gear {
			c.A = shell
		}
		if c.B == gear {
			c.B = shell
		}
	}
	return &off
}

// A tornTrain solves and reads the train with a gear off its shell.
type tornTrain struct {
	kernel *solve.Kernel
	reader *reading.Reader
}

func (e *engine) tornTrain(gear kinematics.MemberID) tornTrain {
	x, known := e.torn[gear]
	if !known {
		sys := solve.Compile(tornOff(e.t, gear))
		x = tornTrain{sys.Kernel(), reading.NewReader(sys)}
		e.torn[gear] = x
	}
	return x
}

// tornReading reads range r with a gear off its shell; another gear than its own is named by
// the ranges of the whole train.
func (f *Finder) tornReading(gear kinematics.MemberID, r int) reading.RangeReading {
	c := f.engine.tornTrain(gear).reader.Read(&f.t.Ranges[r])
	c.As = ""
	pull := pullOf(c.Outcome)
	if pull.Drives() == 0 || pull.same(f.road.healthy[r].Light) {
		return c
	}
	for q := range f.t.Ranges {
		if sameEnds(f.t, r, q) && pull.same(f.road.healthy[q].Light) {
			c.As = f.t.Ranges[q].Name
			break
		}
	}
	return c
}

// tornID is the behaviour of a state of the train with a gear off its shell.
func (e *engine) tornID(gear kinematics.MemberID, st kinematics.State) cellID {
	key := string(e.stateKey(st)) + "torn" + string(rune(gear))
	id, known := e.byState[key]
	if !known {
		id = e.intern(e.rigid(e.tornTrain(gear).kernel, st))
		e.byState[key] = id
	}
	return id
}
