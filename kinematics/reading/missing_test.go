package reading_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// What a range without drive lacks. With the output (front carrier, rear ring) held,
// the equation of Willis gives by hand: front 35 (ws - 0) = -73 (1 - 0), so ws =
// -73/35; rear 35 (ws - wc) = -73 (0 - wc), so wc = 35 ws / 108 = -73/108. In R with
// the low brake open ws = 1, so wc = 35/108.
func TestMissing(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	for _, tt := range []struct {
		rng, fault string
		coupling   string
		reaction   bool
		member     string
		num, den   int64 // 0 for a member that turns as it likes
		instead    []string
		says       string
	}{
		{"D1", "low-roller=slips", "low-roller", true, "rear.carrier", -73, 108, []string{"low-reverse"},
			"Nothing takes the reaction at rear.carrier: while the vehicle stands, it would run backward at -0.676 (-73/108) of the input speed. " +
				"low-roller (slips) is meant to hold it; low-reverse would do as well."},
		{"R", "low-reverse=open", "low-reverse", true, "rear.carrier", 35, 108, nil,
			"Nothing takes the reaction at rear.carrier: while the vehicle stands, it would run forward at 0.324 (35/108) of the input speed. " +
				"low-reverse (does not hold) is meant to hold it."},
		{"D1", "forward=open", "forward", false, "front.ring", 0, 0, nil,
			"Nothing passes the drive from input-shaft to front.ring. forward (does not hold) is meant to join them."},
	} {
		f, err := kinematics.ParseFault(train, tt.fault)
		if err != nil {
			t.Fatal(err)
		}
		n, _ := train.Range(tt.rng)
		w := reading.Explain(t.Context(), reader, &train.Ranges[n], f)
		if len(w.Missing) != 1 {
			t.Errorf("%s, %s: %d holds are missing", tt.rng, tt.fault, len(w.Missing))
			continue
		}
		m := w.Missing[0]
		if got := train.Couplings[m.Coupling].Name; got != tt.coupling || m.Reaction != tt.reaction || train.Members[m.Member].Name != tt.member {
			t.Errorf("%s, %s: %s is missing at %s", tt.rng, tt.fault, got, train.Members[m.Member].Name)
		}
		if speed, one := m.Turns.Point(); one != (tt.den > 0) || one && speed.Cmp(exact.NewFrac(tt.num, tt.den)) != 0 {
			t.Errorf("%s, %s: it turns at %v", tt.rng, tt.fault, m.Turns)
		}
		var got []string
		for _, i := range m.Instead {
			got = append(got, train.Couplings[i].Name)
		}
		if !slices.Equal(got, tt.instead) {
			t.Errorf("%s, %s: %v would do", tt.rng, tt.fault, got)
		}
		if got := strings.Join(w.Lacks(), " "); got != tt.says {
			t.Errorf("%s, %s: %s", tt.rng, tt.fault, got)
		}
	}
}

// A range that is not meant to drive lacks nothing, nor does one that is held.
func TestNothingMissing(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	for i := range train.Ranges {
		if w := reading.Explain(t.Context(), reader, &train.Ranges[i]); len(w.Missing) > 0 {
			t.Errorf("healthy %s: %v", train.Ranges[i].Name, w.Lacks())
		}
	}
}
