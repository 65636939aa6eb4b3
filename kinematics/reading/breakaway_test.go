package reading_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

func query(t *kinematics.Train) reading.BreakawayQuery {
	scale := solve.ScaleOf(t)
	return reading.BreakawayQuery{Scale: scale, Reserve: solve.DefaultReserve(), Available: scale.Rated, Resistance: exact.NewFrac(0, 1)}
}

// TestBreakawayOfHealthyRanges: every range of the library goes where its verdict
// says, and slips at no less than the reserve over its own load.
func TestBreakawayOfHealthyRanges(t *testing.T) {
	limited := 0
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		sys := solve.Compile(train)
		k := sys.Kernel()
		for i := range train.Ranges {
			r := &train.Ranges[i]
			b, err := reading.BreakawayOf(t.Context(), sys, r, nil, query(train))
			var missing *solve.MissingRatingError
			if errors.As(err, &missing) {
				continue // applied, but not loaded in any range
			} else if err != nil {
				t.Fatal(err)
			}
			o := k.Outcome(train.In(r))
			course, speeds := b.Goes()
			switch {
			case o.Drives():
				want := map[solve.Verdict]reading.Direction{solve.Forward: reading.GoesForward, solve.Reverse: reading.GoesBackward}[o.Verdict]
				if course != want || len(speeds) != 1 || speeds[0].Cmp(o.OutputSpeed()) != 0 {
					t.Errorf("%s, %s: goes %s at %v, by its speeds %v at %v", name, r.Name, course, speeds, o.Verdict, o.OutputSpeed())
				}
				_, torque, some, ok := b.SlipFree()
				if !ok || some && torque.Cmp(b.Reserve.Mul(b.Scale.Rated)) < 0 {
					t.Errorf("%s, %s: slips at %v", name, r.Name, torque)
				}
				if some {
					limited++
				}
				if !b.Turns() || b.Needs() != "no torque" {
					t.Errorf("%s, %s: needs %s", name, r.Name, b.Needs())
				}
			case o.Verdict == solve.Neutral && course != reading.NotDriven && course != reading.Stands:
				t.Errorf("%s, %s: goes %s in neutral", name, r.Name, course)
			}
		}
	}
	if limited < 60 {
		t.Errorf("only %d ranges have a limit", limited)
	}
}

// TestBreakawaySentences puts every single fault of a few trains into words and
// sees that they fit the numbers.
func TestBreakawaySentences(t *testing.T) {
	seen := map[string]int{}
	for _, name := range []string{"depot-shuttle-three-speed", "four-carrier-eight-speed", "ravigneaux-four-speed"} {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		sys := solve.Compile(train)
		for i := range train.Ranges {
			for _, f := range train.SingleFaults() {
				q := query(train)
				q.Powered = true
				b, err := reading.BreakawayOf(t.Context(), sys, &train.Ranges[i], []kinematics.Fault{f}, q)
				if err != nil {
					t.Fatal(err)
				}
				at := name + ", " + train.Ranges[i].Name + " with " + train.FaultText(f)
				held := strings.Contains(b.Against(), "the input is held")
				if held == b.Turns() {
					t.Errorf("%s: %s", at, b.Against())
				}
				course, _ := b.Goes()
				vehicle := b.Vehicle()
				if driven := strings.Contains(vehicle, "driven "+string(course)); driven != (course == reading.GoesForward || course == reading.GoesBackward) {
					t.Errorf("%s: %s, but it goes %s", at, vehicle, course)
				}
				if b.Standing.End == solve.Moves && b.Standing.Torque.Sign() > 0 && (b.Gives(b.Standing, "") == reading.NothingSlips || !strings.Contains(b.Heat(), "%")) {
					t.Errorf("%s: %s turns it, but nothing slips", at, b.Needs())
				}
				for _, r := range b.Rolls {
					does := b.Does(r)
					word, _, _ := strings.Cut(does, " ")
					seen[word]++
					if r.Break.End == solve.Moves && (r.Break.Torque.Sign() > 0) != strings.HasPrefix(does, "dragged") {
						t.Errorf("%s, rolling %s: %s at %v", at, r.Name(), does, r.Break.Torque)
					}
					if strings.HasPrefix(does, "locks") && len(r.LockedBy) == 0 {
						t.Errorf("%s, rolling %s: locked by nothing", at, r.Name())
					}
				}
				seen[string(course)]++
			}
		}
	}
	t.Log(seen)
	for _, word := range []string{"dragged", "driven", "locks:", "not", "forward", "backward", "stands", "not driven"} {
		if seen[word] == 0 {
			t.Errorf("nothing is said to be %q", word)
		}
	}
}

// TestTie: two clutches of the same capacity between input and output could slip
// first as well as each other, and the vehicle goes nowhere certain.
func TestTie(t *testing.T) {
	b := kinematics.NewBuilder("tie")
	b.Simple("s", 30, 60, 0, false)
	b.Element("low", kinematics.Brake, "s.ring", kinematics.HousingName)
	b.Element("hold", kinematics.Brake, "s.carrier", kinematics.HousingName)
	b.Ports("s.sun", "s.carrier")
	b.Range("X", "low", "hold")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	// With the sun at 1: low slips at 1/2 if hold holds, hold at 1/3 if low holds.
	q := query(train)
	q.Given = map[int]exact.Frac{0: exact.NewFrac(2, 1), 1: exact.NewFrac(3, 1)}
	x, err := reading.BreakawayOf(t.Context(), solve.Compile(train), &train.Ranges[0], nil, q)
	if err != nil {
		t.Fatal(err)
	}
	if got := x.Gives(x.Standing, ""); got != "low at 0.50, or hold at 0.33 (a tie)" && got != "hold at 0.33, or low at 0.50 (a tie)" {
		t.Errorf("gives %s", got)
	}
	if course, _ := x.Goes(); course != reading.EitherWay || x.Needs() != "1.00 times rated torque at the input" || !x.Turns() {
		t.Errorf("goes %s, needs %s", course, x.Needs())
	}
}

func TestBreakawayHazards(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	sys := solve.Compile(train)
	for _, c := range []struct {
		rng, fault string
		want       []reading.Hazard
	}{
		{"R", "forward=stuck", []reading.Hazard{reading.Moves, reading.LetsGo, reading.Locks}},
		{"N", "forward=dragging 0.1", []reading.Hazard{reading.Moves}},
		{"D2", "intermediate=weak 0.5", nil},
		{"D3", "roller=seized", []reading.Hazard{reading.LetsGo, reading.Locks}},
	} {
		r, _ := train.Range(c.rng)
		f, err := kinematics.ParseFault(train, c.fault)
		if err != nil {
			t.Fatal(err)
		}
		healthy, _ := reading.BreakawayOf(t.Context(), sys, &train.Ranges[r], nil, query(train))
		faulty, err := reading.BreakawayOf(t.Context(), sys, &train.Ranges[r], []kinematics.Fault{f}, query(train))
		if err != nil {
			t.Fatal(err)
		}
		got := reading.BreakawayHazards(healthy, faulty)
		if len(got) != len(c.want) {
			t.Errorf("%s with %s: hazards %v, want %v", c.rng, c.fault, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%s with %s: hazards %v, want %v", c.rng, c.fault, got, c.want)
			}
		}
	}
}

// What is forced warns of wheels that lock where what is read does: one rule, asked of torques
// and of speeds.
func TestLocksAlike(t *testing.T) {
	found := 0
	for _, name := range []string{"depot-shuttle-three-speed", "simpson-three-speed", "interlinked-four-speed"} {
		train := gearsets.MustLibrary(name)
		sys := solve.Compile(train)
		reader := reading.NewReader(sys)
		for r := range train.Ranges {
			rng := &train.Ranges[r]
			healthy, err := reading.BreakawayOf(t.Context(), sys, rng, nil, query(train))
			if err != nil {
				continue // what it holds with is not known
			}
			for _, f := range train.SingleFaults() {
				faulty, err := reading.BreakawayOf(t.Context(), sys, rng, []kinematics.Fault{f}, query(train))
				if err != nil {
					continue
				}
				forced := slices.Contains(reading.BreakawayHazards(healthy, faulty), reading.Locks)
				read := slices.Contains(reading.Hazards(reader.Healthy(r), reader.Read(rng, f)), reading.Locks)
				if forced != read {
					t.Errorf("%s %s, %s: forced %t, read %t", name, rng.Name, train.FaultText(f), forced, read)
				}
				if read {
					found++
				}
			}
		}
	}
	if found < 20 {
		t.Errorf("only %d faults lock", found)
	}
}
