package analysis_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// A loadDocument is what of a load's JSON this test reads, by itself.
type loadDocument struct {
	Loads []struct {
		Range, Flow string
		Shared      bool
		Efficiency  json.RawMessage
		Couplings   map[string]struct {
			Between []string
			Torque  json.RawMessage
			Losses  json.RawMessage `json:"torque_with_losses"`
		}
		Ways   []wayDocument
		Losses []wayDocument `json:"ways_with_losses"`
	}
}

type wayDocument struct{ Couplings map[string]float64 }

// loadsOf asks for the loads of ranges and reads their JSON.
func loadsOf(t *testing.T, train *kinematics.Train, faults ...kinematics.Fault) loadDocument {
	t.Helper()
	answer, err := analysis.Open(train).Load(t.Context(), analysis.LoadQuestion{
		Question: analysis.Question{Ranges: train.Ranges, Condition: analysis.Under(faults...)},
	})
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	var d loadDocument
	if err := json.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

// bounds reads a number, or an object with its bounds.
func bounds(t *testing.T, raw json.RawMessage) (least, most float64) {
	t.Helper()
	var ends struct{ Min, Max float64 }
	if json.Unmarshal(raw, &ends) == nil {
		return ends.Min, ends.Max
	}
	var x float64
	if err := json.Unmarshal(raw, &x); err != nil {
		t.Fatalf("%s: %v", raw, err)
	}
	return x, x
}

// The torque of every coupling is what it is over the ways of the same document, for
// every train of the library, healthy and with each of its elements seized: of one train
// in nine unless TIEUP_EXHAUSTIVE is set.
func TestLoadBoundsAreThoseOfTheWays(t *testing.T) {
	shared := 0
	for k, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		cases := [][]kinematics.Fault{nil}
		if !testing.Short() && (k%9 == 0 || os.Getenv("TIEUP_EXHAUSTIVE") != "") {
			for i, c := range train.Couplings[:train.ElementCount] {
				kind := kinematics.Stuck
				switch c.Kind {
				case kinematics.OneWay:
					kind = kinematics.Seized
				case kinematics.Pawl:
					continue
				}
				cases = append(cases, []kinematics.Fault{{Coupling: i, Kind: kind}})
			}
		}
		for _, faults := range cases {
			for _, l := range loadsOf(t, train, faults...).Loads {
				for coupling, c := range l.Couplings {
					check := func(what string, raw json.RawMessage, ways []wayDocument) {
						if len(ways) == 0 {
							return
						}
						least, most := math.Inf(1), math.Inf(-1)
						for _, w := range ways {
							least, most = min(least, w.Couplings[coupling]), max(most, w.Couplings[coupling])
						}
						if low, high := bounds(t, raw); low != least || high != most {
							t.Errorf("%s %s %s: %s of %s is %g to %g, over its ways %g to %g", name, l.Range, l.Flow, what, coupling, low, high, least, most)
						}
						if least != most {
							shared++
						}
					}
					check("torque", c.Torque, l.Ways)
					check("torque with losses", c.Losses, l.Losses)
					if len(c.Between) != 2 {
						t.Errorf("%s: %s is between %q", name, coupling, c.Between)
					}
				}
			}
		}
	}
	if shared < 20 {
		t.Errorf("only %d torques are shared: the test says little", shared)
	}
}

// In manual first of the Simpson set brake and roller clutch hold the rear carrier
// side by side. By hand, the reaction is the ratio less 1 (torques on the train sum to
// nothing): 181/73 - 1 = 108/73, all of it on either, or none.
func TestSharedReaction(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range loadsOf(t, train).Loads {
		if l.Range != "M1" || l.Flow != "pulling" {
			continue
		}
		for _, name := range []string{"low-reverse", "low-roller"} {
			if low, high := bounds(t, l.Couplings[name].Torque); low != 0 || math.Abs(high-108.0/73) > 1e-12 {
				t.Errorf("%s carries %g to %g, want 0 to 108/73", name, low, high)
			}
		}
		return
	}
	t.Error("M1 does not pull")
}
