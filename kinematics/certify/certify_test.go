package certify_test

import (
	"encoding/json"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/solve"
)

// each calls f with every range of every train of the library, healthy and under
// each single fault.
func each(t *testing.T, f func(sys *solve.System, r *kinematics.Range, st kinematics.State)) {
	t.Helper()
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		sys := solve.Compile(train)
		faults := [][]kinematics.Fault{nil}
		for _, x := range train.SingleFaults() {
			faults = append(faults, []kinematics.Fault{x})
		}
		for _, list := range faults {
			for i := range train.Ranges {
				f(sys, &train.Ranges[i], train.In(&train.Ranges[i], list...))
			}
		}
	}
}

// Every outcome of the library is proved, and the checker knows nothing of how.
func TestOutcomes(t *testing.T) {
	states := 0
	each(t, func(sys *solve.System, r *kinematics.Range, st kinematics.State) {
		if states++; testing.Short() && states%7 != 0 {
			return
		}
		p := sys.Prover(st)
		p.Outcome()
		p.Members(sys.Motion(st))
		data, err := json.Marshal(p.Certificate)
		if err != nil {
			t.Fatal(err)
		}
		var c certify.Certificate
		if err := json.Unmarshal(data, &c); err != nil {
			t.Fatal(err)
		}
		if err := certify.RowsOf(sys.Train, st).Check(&c); err != nil {
			t.Fatalf("%s %s %v: %v", sys.Train.Name, r.Name, st.Modes, err)
		}
	})
	t.Log(states, "states")
}
