package transient_test

import (
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/transient"
)

// What a shift goes through, with ! where it can do harm. First of a train of two equal sets of
// 35 and 73 teeth with a common sun is 2 + 35/73, second 1 + 35/73, by hand. A brake that stays
// on while a clutch takes hold binds, one that goes too soon lets the input flare, and what is
// driven at two speeds ties up.
func TestPhases(t *testing.T) {
	const simpson, depot = "simpson-three-speed", "depot-shuttle-three-speed"
	for _, c := range []struct {
		train, from, to string
		set             func(*kinematics.Train, *transient.Shift)
		want            string
	}{
		{simpson, "D1", "D2", nil, "drives forward at 2.48, as D1; intermediate slips; drives forward at 1.48, as D2"},
		{simpson, "N", "D1", nil, "no drive; forward slips; drives forward at 2.48, as D1"},
		{simpson, "N", "R", faults("forward=stuck"), "drives forward at 2.48, as D1 !; direct and low-reverse slip; drives forward at 1.00, as D3 !; ties up !"},
		{simpson, "D1", "N", faults("forward=stuck"), "drives forward at 2.48, as D1; drives forward at 2.48, as D1 !"},
		{simpson, "D1", "R", nil, "drives forward at 2.48, as D1; direct slips; drives backward at 2.09, as R"},
		{simpson, "D1", "R", release("forward", "0.30..0.80"), "drives forward at 2.48, as D1; direct and low-reverse slip; drives forward at 1.00, as D3; ties up !; drives backward at 2.09, as R"},
		{depot, "D2", "D3", faults("intermediate=stuck"), "drives forward at 1.45, as D2; binds !"},
		{depot, "D2", "D3", release("intermediate", "0.15..0.25"), "drives forward at 1.45, as D2; intermediate slips; flares; direct slips; drives forward at 1.00, as D3"},
	} {
		train := library(t, c.train)
		s := shift(t, train, c.from, c.to)
		if c.set != nil {
			c.set(train, s)
		}
		a, err := s.Play(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		var says []string
		for _, p := range a.Phases() {
			text := p.Says
			if p.Harms() {
				text += " !"
			}
			if n := len(says); n == 0 || says[n-1] != text {
				says = append(says, text)
			}
		}
		if got := strings.Join(says, "; "); got != c.want {
			t.Errorf("%s, %s to %s: %s, want %s", c.train, c.from, c.to, got, c.want)
		}
	}
}
