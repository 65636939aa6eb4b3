package analysis_test

import (
	"context"
	"encoding/json"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// One state as json has every field that a reader may rely on.
func TestStateFields(t *testing.T) {
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		answer, err := analysis.Open(train).Solve(context.Background(), analysis.SolveQuestion{
			Question: analysis.Question{Ranges: train.Ranges},
		})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		b, err := json.Marshal(answer)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var got struct {
			Schema string
			Units  map[string]string
			States []map[string]json.RawMessage
		}
		if err := json.Unmarshal(b, &got); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got.Schema != "tieup.solve/1" || len(got.Units) == 0 || len(got.States) != len(train.Ranges) {
			t.Errorf("%s: schema %q, %d units, %d states", name, got.Schema, len(got.Units), len(got.States))
		}
		for _, state := range got.States {
			for _, field := range []string{"train", "range", "faults", "verdict", "ratio", "ratio_exact", "at", "pull", "coast",
				"engine_braking", "input_backward", "members", "couplings"} {
				if _, ok := state[field]; !ok {
					t.Errorf("%s: a state has no %s", name, field)
				}
			}
			// What is free has bounds and a group; the rest is a number.
			var members map[string]any
			if err := json.Unmarshal(state["members"], &members); err != nil {
				t.Fatal(err)
			}
			for member, value := range members {
				switch v := value.(type) {
				case float64:
				case map[string]any:
					if v["min"] == nil || v["max"] == nil || v["group"] == nil {
						t.Errorf("%s: member %s is %v", name, member, v)
					}
				default:
					t.Errorf("%s: member %s is %v", name, member, v)
				}
			}
		}
	}
}

// A bevel pinion with 15 teeth on side gears of 30 spins twice as fast as they
// turn against the carrier: by Willis' relation, common practice, no source.
func TestBevelSpin(t *testing.T) {
	b := kinematics.NewBuilder("bevel")
	b.Bevel("d", 30, 30, 15, false)
	b.Ports("d.carrier", "d.left")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	left, _ := train.Member("d.left")
	carrier, _ := train.Member("d.carrier")
	turned, err := analysis.Open(train).Turn(t.Context(), analysis.TurnQuestion{Given: []analysis.Given{
		{Member: left, Speed: exact.Int(1)}, {Member: carrier, Speed: exact.Int(3)},
	}})
	if err != nil {
		t.Fatal(err)
	}
	got := turned.Spins[train.Gearsets[0].Pinions[0].Member]
	if !got.Known || got.Free || !got.Across || got.Speed.String() != "4" {
		t.Errorf("spin %+v, want 4 across", got)
	}
}
