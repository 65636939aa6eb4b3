package reading_test

import (
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// faulted returns the state of a range under a fault by the table of faults: what
// each does to its coupling, written out here once more.
func faulted(t *kinematics.Train, r *kinematics.Range, f *kinematics.Fault) kinematics.State {
	st := t.Applying(r.Apply...)
	st.Input, st.Output = r.Input, r.Output
	if f == nil {
		return st
	}
	mode := &st.Modes[f.Coupling]
	switch f.Kind {
	case "stuck", "seized":
		*mode = kinematics.Locked
	case "open", "slips", "sheared", "missing":
		*mode = kinematics.Open
	case "reversed":
		if *mode == kinematics.Overruns {
			*mode = kinematics.Reversed
		}
	}
	return st
}

// chartText says what a chart should say of a range: its own reading, a lurch
// against the pawl, whose ratio it has. ratios are those of the healthy ranges.
func chartText(t *kinematics.Train, r int, st kinematics.State, healthy []said) (text string, s said) {
	s = read(t, st)
	for i, c := range t.Couplings[:t.ElementCount] {
		if c.Kind == kinematics.Pawl && st.Modes[i] == kinematics.Locked {
			free := st.Clone()
			free.Modes[i] = kinematics.Open
			switch read(t, free).verdict {
			case "forward":
				return "lurches forward against the pawl", s
			case "reverse":
				return "lurches backward against the pawl", s
			}
		}
	}
	text = s.pull
	if s.drives() {
		as := ""
		for i, h := range healthy {
			same := h.drives() && h.ratio.Cmp(s.ratio) == 0 && t.Ranges[i].Input == t.Ranges[r].Input && t.Ranges[i].Output == t.Ranges[r].Output
			if same && i == r {
				return text, s
			}
			if same && as == "" {
				as = t.Ranges[i].Name
			}
		}
		if as != "" {
			text += " (as " + as + ")"
		}
		return text, s
	}
	if s.verdict != "tie-up" && s.coast != "rolls freely" && s.coast != "does not roll" {
		if s.verdict == "input-held" {
			return text + "; " + s.coast, s
		}
		return text + ", but " + s.coast, s
	}
	return text, s
}

// TestSingleFaults reads every range of four arrangements under every single
// fault and compares with the oracle: direction, ratio and whose it is, engine
// braking and its own ratio, which way the vehicle rolls, lurches. The other trains
// of the library follow, as they have what these have not: a transfer that turns
// the sense round, one-way clutches that are switched, bevels, ranges with ends of
// their own.
func TestSingleFaults(t *testing.T) {
	words := map[string]int{}
	for _, name := range []string{
		"simpson-three-speed", "overdrive-simpson-four-speed", "ravigneaux-four-speed", "four-carrier-eight-speed",
		"simpson-transaxle-three-speed", "hub-five-speed", "bevel-differential", "power-split-hybrid", "lepelletier-six-speed",
		"double-pinion-reverser", "stepped-pinion-winch", "simpson-rear-overdrive-four-speed",
	} {
		train := libraryTrain(t, name)
		reader := reading.NewReader(solve.Compile(train))
		var healthy []said
		for i := range train.Ranges {
			healthy = append(healthy, read(train, faulted(train, &train.Ranges[i], nil)))
		}
		check := func(r int, faults ...kinematics.Fault) {
			var f *kinematics.Fault
			if len(faults) > 0 {
				f = &faults[0]
			}
			want, s := chartText(train, r, faulted(train, &train.Ranges[r], f), healthy)
			cell := reader.Read(&train.Ranges[r], faults...)
			where := train.Ranges[r].Name
			if f != nil {
				where += " under " + train.FaultText(*f)
			}
			if got := cell.Text(); got != want {
				t.Errorf("%s %s reads %q, by the oracle %q", name, where, got, want)
			}
			if got := cell.Reading.Coast; got != s.coast {
				t.Errorf("%s %s coasts %q, by the oracle %q", name, where, got, s.coast)
			}
			if got := cell.Outcome.Verdict.String(); got != s.verdict {
				t.Errorf("%s %s is %s, by the oracle %s", name, where, got, s.verdict)
			}
			if ratio, drives := cell.Outcome.Ratio(); drives != s.drives() || drives && ratio.Rat().Cmp(s.ratio) != 0 {
				t.Errorf("%s %s drives at %v (%v), by the oracle %v", name, where, ratio, drives, s.ratio)
			}
			for _, w := range cell.Reading.Words {
				words[string(w)]++
			}
			words[string(cell.Lurch)]++
			if cell.As != "" {
				words["as"]++
			}
		}
		for r := range train.Ranges {
			check(r)
			for _, f := range train.SingleFaults() {
				check(r, f)
			}
		}
		for _, f := range train.SingleFaults() {
			checkPositions(t, train, reader.Chart(f), healthy, f)
		}
	}
	for _, w := range []reading.Word{
		reading.DrivesForward, reading.DrivesBackward, reading.NoDrive, reading.OutputHeld, reading.InputHeld, reading.TiesUp,
		reading.EngineBraking, reading.Freewheels, reading.RollsFreely, reading.RollsForwardOnly, reading.RollsBackwardOnly,
		reading.DoesNotRoll, reading.HoldsAgainstRoll, reading.CoastTurnsEngine, reading.CoastTurnsBackward,
		reading.LurchesForward, reading.LurchesBackward, reading.As,
	} {
		if words[string(w)] == 0 {
			t.Errorf("no fault of these trains makes a range read %q", w)
		}
	}
	t.Logf("%v", words)
}

// checkPositions compares the remarks on positions: a position starts in the
// place of another of its ranges if its first range drives at that one's ratio.
func checkPositions(t *testing.T, train *kinematics.Train, chart *reading.Chart, healthy []said, f kinematics.Fault) {
	t.Helper()
	var want []string
	for _, p := range train.Positions {
		first := read(train, faulted(train, &train.Ranges[p.Ranges[0]], &f))
		for n, r := range p.Ranges {
			if first.drives() && healthy[r].drives() && healthy[r].ratio.Cmp(first.ratio) == 0 {
				if n > 0 {
					want = append(want, "position "+p.Name+" starts in "+
						[]string{"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"}[n])
				}
				break
			}
		}
	}
	if got := strings.Join(chart.Positions, "; "); got != strings.Join(want, "; ") {
		t.Errorf("%s under %s: %q, by the oracle %q", train.Name, train.FaultText(f), got, want)
	}
}

// Every kind of fault has its words: one without would be said as a name and nothing more.
func TestEveryKindOfFaultHasWords(t *testing.T) {
	for _, k := range kinematics.AllFaultKinds() {
		if reading.FaultWord(k) == "" || reading.FaultState(k) == "" || reading.FaultInHand(k) == "" ||
			reading.FaultPlainly(k) == "" {
			t.Errorf("%s: %q, %q, %q, %q", k, reading.FaultWord(k), reading.FaultState(k), reading.FaultInHand(k),
				reading.FaultPlainly(k))
		}
	}
}
