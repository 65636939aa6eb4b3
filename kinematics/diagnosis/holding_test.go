package diagnosis_test

import (
	"fmt"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// What a range does with an element that is weak, or drags, to some degree is read once and
// scaled. It is what a reading at that degree says, in every range and for every element.
func TestDegreesAsRead(t *testing.T) {
	asked := 0
	for _, name := range evidenceTrains {
		train := library(t, name)
		b := newBench(train, diagnosis.Default())
		reader := reading.NewReader(b.sys)
		for _, s := range b.singles() {
			if s.Kind != diagnosis.Faulty || !s.Faults[0].Share.IsSet() {
				continue
			}
			f := s.Faults[0]
			for _, share := range []kinematics.Share{{Num: 1, Den: 40}, {Num: 7, Den: 90}, {Num: 1, Den: 3}} {
				f.Share = share
				if f.Kind == kinematics.Dragging {
					f.Share = share.Times(b.a.Dragging)
				}
				x := suspect(f)
				for r := range train.Ranges {
					if !reading.ActsByTorque(&train.Ranges[r], f) {
						continue
					}
					asked++
					rng := &train.Ranges[r]
					want := inRange(b.sys, reader, b.a, rng, x.Faults, b.sys.Motion(train.In(rng)), r)
					got := b.all.Behaviour(x, r)
					text := pullText(got.Light)
					if got.Creeps != 0 {
						text += fmt.Sprint(" creeps ", int(got.Creeps))
					}
					holds := got.Light.Drives() != 0 && pullText(got.Full) == text
					if !strings.HasPrefix(want, text) || holds != strings.Contains(want, "holds at full throttle") {
						t.Errorf("%s: %s in %s: %s, holds %v; read: %s", name, x.Text(train), rng.Name, text, holds, want)
					}
				}
			}
		}
	}
	if asked < 200 {
		t.Errorf("only %d asked", asked)
	}
}

// pullText writes a pull as inRange does.
func pullText(p diagnosis.Pull) string {
	switch p.Verdict {
	case solve.Forward, solve.Reverse:
		return p.Verdict.String() + " " + p.Ratio.String()
	case solve.OutputHeld:
		return "neutral"
	}
	return p.Verdict.String()
}
