package table

import (
	"encoding/json"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

func TestNumbers(t *testing.T) {
	tests := []struct {
		f                        exact.Frac
		decimal, signed, withFor string
	}{
		{exact.NewFrac(27, 11), "2.4545", "+2.4545", "2.4545 = 27/11"},
		{exact.NewFrac(-11, 5), "-2.2000", "-2.2000", "-2.2000 = -11/5"},
		{exact.NewFrac(3, 1), "3", "+3.0000", "3"},
		{exact.NewFrac(0, 1), "0", "0.0000", "0"},
		// Ferguson's paradox must not vanish in four places.
		{exact.NewFrac(1, 101), "0.009901", "+0.009901", "0.009901 = 1/101"},
		{exact.NewFrac(-1, 100000), "-1e-05", "-1e-05", "-1e-05 = -1/100000"},
	}
	for _, tt := range tests {
		if got := Decimal(tt.f); got != tt.decimal {
			t.Errorf("Decimal(%s) = %q, want %q", tt.f, got, tt.decimal)
		}
		if got := signed(tt.f); got != tt.signed {
			t.Errorf("signed(%s) = %q, want %q", tt.f, got, tt.signed)
		}
		if got := withExact(tt.f); got != tt.withFor {
			t.Errorf("withExact(%s) = %q, want %q", tt.f, got, tt.withFor)
		}
	}
}

func TestBounds(t *testing.T) {
	at := func(n, d int64) exact.Bound { return exact.Bound{Frac: exact.NewFrac(n, d)} }
	down, up := exact.Bound{Inf: -1}, exact.Bound{Inf: 1}
	for want, i := range map[string]exact.Interval{
		"any speed":    {Min: down, Max: up},
		"0 or more":    {Min: at(0, 1), Max: up},
		"-1/2 or less": {Min: down, Max: at(-1, 2)},
		"0 to 0.3333":  {Min: at(0, 1), Max: at(1, 3)},
	} {
		want = strings.Replace(want, "-1/2", "-0.5000", 1)
		if got := bounds(i); got != want {
			t.Errorf("bounds(%v) = %q, want %q", i, got, want)
		}
	}
}

func TestElementWords(t *testing.T) {
	b := kinematics.NewBuilder("words")
	b.Shaft("x", "y")
	b.Element("c", kinematics.Clutch, "x", "y")
	b.Element("b", kinematics.Band, "x", "housing")
	b.Element("forward-free", kinematics.OneWay, "x", "housing")
	b.Element("backward-free", kinematics.OneWay, "housing", "x")
	b.Element("between", kinematics.OneWay, "x", "y").Switched = true
	b.Element("p", kinematics.Pawl, "y", "housing")
	b.Ports("x", "y")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{
		"clutch, joins x and y",
		"band, holds x",
		"one-way clutch: x may turn forward, is held against turning backward",
		"one-way clutch: x may turn backward, is held against turning forward",
		"one-way clutch: x may turn forward faster than y, never slower; acts only in the ranges that apply it",
		"parking pawl, holds y",
	} {
		if got := Element(train, &train.Couplings[i]); got != want {
			t.Errorf("%s: %q, want %q", train.Couplings[i].Name, got, want)
		}
	}
}

// One state as json has every field that a reader may rely on.
func TestStateFields(t *testing.T) {
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		system := solve.Compile(train)
		reader := reading.NewReader(system)
		answer := Solved{Train: train}
		for i := range train.Ranges {
			r := &train.Ranges[i]
			answer.States = append(answer.States, State{Range: r.Name, Apply: r.Apply, Motion: system.Motion(train.In(r)), Cell: reader.Cell(i)})
		}
		var b strings.Builder
		if err := answer.JSON(&b); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var got struct {
			Schema string
			Units  map[string]string
			States []map[string]json.RawMessage
		}
		if err := json.Unmarshal([]byte(b.String()), &got); err != nil {
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
	result := solve.Compile(train).Turn(train.Applying().Modes, []solve.Given{{Member: left, Speed: exact.NewFrac(1, 1)}, {Member: carrier, Speed: exact.NewFrac(3, 1)}})
	got := spinOf(train, &train.Gearsets[0], &train.Gearsets[0].Pinions[0], result.Members, nil)
	if !got.known || got.free || !got.across || got.speed.String() != "4" {
		t.Errorf("spin %+v, want 4 across", got)
	}
}
