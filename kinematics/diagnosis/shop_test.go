package diagnosis_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// What a suspect predicts of the train turned by hand is what the bench of
// package solve says of it: whether it locks, and how far the output turns.
func TestBenchAgreesWithTurning(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "ravigneaux-two-speed", "simpson-transaxle-three-speed"} {
		train := library(t, name)
		b := newBench(train, diagnosis.Default())
		locked, turned, free := 0, 0, 0
		for _, f := range append([]kinematics.Fault{{Coupling: -1}}, train.SingleFaults()...) {
			var faults []kinematics.Fault
			if f.Coupling >= 0 {
				faults = append(faults, f)
			}
			for _, apply := range [][]int{nil, {0}, {1}, {0, 1}, {0, 2}} {
				at := kinematics.Range{Apply: apply, Input: train.Input, Output: train.Output}
				modes := train.In(&at, faults...).Modes
				given := func(input int64, hold bool) []solve.Given {
					list := []solve.Given{{Member: train.Input, Speed: exact.NewFrac(input, 1)}}
					if hold {
						list = append(list, solve.Given{Member: train.Output, Speed: exact.NewFrac(0, 1)})
					}
					return list
				}
				reply := func(how diagnosis.Turning) diagnosis.Reply {
					return b.all.Reply(&diagnosis.Test{Kind: diagnosis.Bench, Apply: apply, Turning: how}, suspect(faults...))
				}
				for how, speeds := range map[diagnosis.Turning][]solve.Given{
					diagnosis.HeldOutput: given(1, true), diagnosis.BackInput: given(-1, false), diagnosis.FreeOutput: given(1, false),
				} {
					got, want := reply(how), b.sys.Turn(modes, speeds)
					if (got.Key == "locks") != want.Locks {
						t.Errorf("%s %v apply %v, turning %d: %s, but it locks: %v", name, faults, apply, how, got.Text, want.Locks)
					}
					if want.Locks || how != diagnosis.FreeOutput {
						locked++
						continue
					}
					out := want.Members[train.Output]
					if w, one := out.Point(); one {
						turned++
						if key := w.String(); got.Key != key {
							t.Errorf("%s %v apply %v: output %s, want %s", name, faults, apply, got.Key, key)
						}
					} else {
						free++
						if out.HasZero() != (got.Key == "free") {
							t.Errorf("%s %v apply %v: output %s, but bounds %v", name, faults, apply, got.Key, out)
						}
					}
				}
			}
		}
		if locked < 10 || turned < 5 || free < 5 {
			t.Errorf("%s: %d locked, %d turned, %d free: the sample is too small", name, locked, turned, free)
		}
	}
}

// A tap says whether an element is fed, not whether it holds; an element in hand
// shows its own fault and no other.
func TestShopReplies(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	direct, _ := train.Element("direct")
	d1, _ := train.Range("D1")
	d3, _ := train.Range("D3")
	for _, c := range []struct {
		kind  diagnosis.TestKind
		r     int
		fault string
		want  string
	}{
		{diagnosis.PressureAt, d3, "roller=seized", "full pressure"},
		{diagnosis.PressureAt, d1, "roller=seized", "no pressure"},
		{diagnosis.PressureAt, d1, "direct=stuck", "no pressure"},      // stuck by itself
		{diagnosis.PressureAt, d1, "direct=stuck@D1", "full pressure"}, // applied where it should not be
		{diagnosis.PressureAt, d3, "direct=open@D3", "no pressure"},
		{diagnosis.PressureAt, d3, "direct=open", "full pressure"}, // fed, and does not hold
		{diagnosis.PressureAt, d3, "direct=open@R,D3", "no pressure"},
		{diagnosis.PressureAt, d1, "direct=stuck@P,N,D1,D2,L1", "full pressure"},
		{diagnosis.Air, d3, "direct=open", "leaks, or does not apply and let go"},
		{diagnosis.Air, d3, "direct=stuck", "leaks, or does not apply and let go"},
		{diagnosis.Air, d3, "direct=weak 0.6", ""}, // the piston or the lining
		{diagnosis.Air, d3, "direct=open@R,D3", "applies and lets go"},
		{diagnosis.Air, d3, "roller=slips", "applies and lets go"},
		{diagnosis.Element, d3, "direct=stuck", "does not let go"},
		{diagnosis.Element, d3, "direct=stuck@R", "good"},
		{diagnosis.Element, d3, "roller=seized", "good"},
	} {
		x := diagnosis.Test{Kind: c.kind, Range: c.r, Coupling: direct}
		if got := b.all.Reply(&x, suspect(fault(t, train, c.fault))).Text; got != c.want {
			t.Errorf("%s, %s: %q, want %q", x.Text(train), c.fault, got, c.want)
		}
	}
}

// Every test that can move a vehicle, throw oil or hurt a hand has its caution.
func TestEveryTestHasItsCaution(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	a := newBench(train, diagnosis.Default()).all
	kinds := map[diagnosis.TestKind]bool{}
	for _, p := range must(a.Split(t.Context(), 10000, nil)) {
		kinds[p.Kind] = true
		if lines := a.TestCautions([]diagnosis.Proposal{p}); len(lines) < 2 && p.Kind != diagnosis.Connector && p.Kind != diagnosis.Switching {
			t.Errorf("no caution for: %s", p.Test.Text(train))
		}
	}
	if len(kinds) < 9 {
		t.Errorf("only %d kinds of test tell anything", len(kinds))
	}
	if len(a.TestCautions(nil)) != 0 {
		t.Error("cautions for no test")
	}
}

// What a test in the workshop shows of a suspect is written as a sheet has it and
// read back; it then fits that suspect fully, and whoever shows something else not.
func TestShopObservationsFit(t *testing.T) {
	kinds := map[diagnosis.TestKind]int{}
	for _, name := range []string{"depot-shuttle-three-speed", "ravigneaux-two-speed", "simpson-transaxle-three-speed"} {
		train := library(t, name)
		b := newBench(train, diagnosis.Default())
		for _, p := range must(b.all.Split(t.Context(), 100000, func(x *diagnosis.Test) bool { return x.Kind.InShop() })) {
			for _, e := range p.Expect {
				if len(e.Seen) != 1 {
					t.Fatalf("%s, %s: %d observations for %s", name, p.Test.Text(train), len(e.Seen), e.Text)
				}
				place, value := e.Seen[0].Place(train), e.Seen[0].Value(train)
				seen, err := diagnosis.Parse(train, place, value)
				if err != nil || len(seen) != 1 || !seen[0].Shop.Same(p.Test) || seen[0].Value(train) != value {
					t.Fatalf("%s: %s=%s is read as %+v, %v", name, place, value, seen, err)
				}
				kinds[p.Kind]++
				for _, g := range b.diagnose(seen...).Groups {
					for _, s := range g.Suspects {
						switch r := b.all.Reply(&p.Test, s); {
						case (r.Key == e.Key || r.Key == "") && s.Fits[0] != diagnosis.Fully:
							t.Errorf("%s: %s=%s: %s %v, but shows it", name, place, value, s.Text(train), s.Fits[0])
						case r.Key != e.Key && r.Key != "" && s.Fits[0] == diagnosis.Fully && value != "low":
							t.Errorf("%s: %s=%s: %s agrees, but shows %s", name, place, value, s.Text(train), r.Text)
						}
					}
				}
			}
		}
	}
	if len(kinds) != 8 || kinds[diagnosis.Bench] < 100 || kinds[diagnosis.PressureAt] < 20 || kinds[diagnosis.Element] < 20 {
		t.Errorf("the sample is too small: %v", kinds)
	}
}

// A brake that is stuck on and the one-way clutch beside it that is seized do the
// same on the road: the element in hand tells them apart.
func TestElementInHandDecides(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	road := b.all.RoadTest(suspect(fault(t, train, "roller=seized")))
	top := func(more ...diagnosis.Observation) string {
		var names []string
		for _, s := range b.diagnose(append(road[:len(road):len(road)], more...)...).Groups[0].Suspects {
			names = append(names, s.Short(train))
		}
		return strings.Join(names, "; ")
	}
	for _, c := range []struct{ place, seen, want string }{
		{"element:roller", "not tested", "low-reverse always fed; roller seized; low-reverse stuck on"},
		{"element:roller", "seized", "roller seized"},
		{"element:roller", "bad", "roller seized"},
		{"element:roller", "good", "low-reverse always fed; low-reverse stuck on"},
		{"element:low-reverse", "stuck", "low-reverse stuck on"},
		{"element:low-reverse", "good", "low-reverse always fed; roller seized"},
		{"pressure:low-reverse@D2", "fed", "low-reverse always fed"},
		{"pressure:low-reverse@D2", "none", "roller seized; low-reverse stuck on"},
		{"air:low-reverse", "bad", "low-reverse stuck on"},
	} {
		if got := top(see(t, train, c.place, c.seen)...); got != c.want {
			t.Errorf("%s=%s: %s, want %s", c.place, c.seen, got, c.want)
		}
	}
}

// A valve that feeds a clutch in every range, or a solenoid that feeds it in none,
// does on the road what a stuck or a dead clutch does. Gauge, air and hand clear the
// clutch, and nothing is contradicted. One that is worn to a small share of its
// rating does on the road what a dead one does.
func TestFeedAndElementAreToldApart(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	for _, c := range []struct {
		seen []string
		want string
	}{
		{[]string{"R", "bind", "N", "forward"}, "forward always fed; forward stuck on"},
		{[]string{"R", "bind", "N", "forward", "pressure:forward@N", "fed", "pressure:forward@R", "fed"}, "forward always fed"},
		{[]string{"R", "bind", "N", "forward", "pressure:forward@N", "none"}, "forward stuck on"},
		{[]string{"R", "none", "D3", "as D1", "D2", "ok"}, "direct never fed; direct never holds; direct weak"},
		{[]string{"R", "none, revs", "D3", "as D1", "D2", "ok", "pressure:direct@R", "none", "pressure:direct@D3", "none",
			"air:direct", "good", "element:direct", "good", "bench:direct+low-reverse", "held-locks"}, "direct never fed"},
		{[]string{"R", "none", "D3", "as D1", "D2", "ok", "pressure:direct@R", "low"}, "direct never holds; direct weak"},
	} {
		a := b.diagnose(see(t, train, c.seen...)...)
		var names []string
		for _, s := range a.Groups[0].Suspects {
			names = append(names, s.Short(train))
		}
		if got := strings.Join(names, "; "); got != c.want || a.Groups[0].Halves() != 0 {
			t.Errorf("%v: %s, %d halves off; want %s", c.seen, got, a.Groups[0].Halves(), c.want)
		}
	}
}

// Weak and dragging elements are tried in other degrees where the assumed one does
// not explain everything.
func TestDegrees(t *testing.T) {
	for _, c := range []struct {
		train string
		seen  []string
		want  string
	}{
		{"lepelletier-six-speed", []string{"D2", "slips-full", "D6", "slips-full", "D1", "ok", "D3", "ok", "D5", "ok"}, "two-six is weak: it holds with 0.2 of its rating"},
		{"depot-shuttle-three-speed", []string{"N", "creeps-forward", "R", "ok", "D1", "ok"}, "forward drags when released, with 0.05 of its rating"},
		{"depot-shuttle-three-speed", []string{"D1", "slips-full", "D2", "slips-full", "D3", "slips-full", "R", "ok"}, "forward is weak: it holds with 0.3 of its rating"},
	} {
		train := library(t, c.train)
		a := newBench(train, diagnosis.Default()).diagnose(see(t, train, c.seen...)...)
		found := slices.ContainsFunc(a.Groups[0].Suspects, func(s *diagnosis.Suspect) bool { return s.Text(train) == c.want })
		if !found || a.Groups[0].Halves() != 0 {
			t.Errorf("%v: first is %s, %d halves off; want %s", c.seen, a.Groups[0].Suspects[0].Text(train), a.Groups[0].Halves(), c.want)
		}
	}
}

// A joint of two members has two splines, and where one shears so does, in effect,
// the other.
func TestSplinesOfTwo(t *testing.T) {
	train := library(t, "simpson-transaxle-three-speed")
	b := newBench(train, diagnosis.Default())
	n := 0
	for _, j := range train.Joints {
		if len(j.Splines) != 2 || j.Splines[0] < 0 || j.Splines[1] < 0 {
			continue
		}
		n++
		for _, k := range j.Splines {
			name := train.Couplings[k].Name
			a := b.diagnose(see(t, train, "element:"+name, "sheared")...)
			if len(a.Groups[0].Suspects) != 1 || a.Groups[0].Suspects[0].Faults[0].Kind != kinematics.Sheared {
				t.Errorf("%s sheared: %s and %d more", name, a.Groups[0].Suspects[0].Text(train), len(a.Groups[0].Suspects)-1)
			}
		}
	}
	if n == 0 {
		t.Error("no joint of two")
	}
}

func TestParseShop(t *testing.T) {
	train := library(t, "simpson-three-speed")
	for _, c := range []struct{ place, seen, want, err string }{
		{place: "pressure:direct@R", seen: "fed", want: "pressure:direct@R=fed"},
		{place: "pressure:direct@R", seen: "none", want: "pressure:direct@R=none"},
		{place: "pressure: direct @ R", seen: "low", want: "pressure:direct@R=low"},
		{place: "air:direct", seen: "bad", want: "air:direct=bad"},
		{place: "element:direct", seen: "weak", want: "element:direct=weak"},
		{place: "bench:direct+forward", seen: "held-locks, turns 0.41+", want: "bench:forward+direct=held-locks bench:forward+direct=turns 0.41+"},
		{place: "bench:-", seen: "turns free", want: "bench:-=turns free"},
		{place: "bench:forward", seen: "turns 5/12", want: "bench:forward=turns 5/12"},
		{place: "bench:forward", seen: "turns 0", want: "bench:forward=turns 0"},
		{place: "air:direct", seen: "not tested"},

		{place: "pressure:direct", seen: "fed", err: "write it behind @, such as pressure:direct@P"},
		{place: "presure:direct@R", seen: "fed", err: "did you mean pressure?"},
		{place: "scan:direct", seen: "fed", err: "write off, pressure, air, bench, element, connector, circuit, switching or code before the colon"},
		{place: "pressure:direct@X", seen: "fed", err: `has no range "X"`},
		{place: "air:dirct", seen: "good", err: "did you mean direct?"},
		{place: "air:low-roller", seen: "good", err: "neither pressure nor air applies it"},
		{place: "bench:low-roller", seen: "locks", err: "low-roller is a one-way clutch: it is not applied on the bench"},
		{place: "bench:pawl", seen: "locks", err: "pawl is the parking pawl"},
		{place: "bench:direct+direct", seen: "locks", err: "direct is given twice"},
		{place: "bench:", seen: "locks", err: "or bench:- for none"},
		{place: "bench:direct", seen: "locks, turns 1", err: "locks and turns 1 cannot both be"},
		{place: "bench:direct", seen: "turns", err: "how far does the output turn"},
		{place: "bench:direct", seen: "turns 1/0", err: "how far does the output turn"},
		{place: "bench:direct", seen: "turns round", err: "write turns 0.41"},
		{place: "air:direct", seen: "fed", err: `no such observation "fed": write good, bad`},
		{place: "element:direct", seen: "reversed", err: `no such observation "reversed"`},
		{place: "element:direct", seen: "good, bad", err: "good and bad cannot both be"},
	} {
		seen, err := diagnosis.Parse(train, c.place, c.seen)
		var got []string
		for i := range seen {
			got = append(got, seen[i].Place(train)+"="+seen[i].Value(train))
		}
		switch {
		case c.err == "" && err != nil, c.err != "" && (err == nil || !strings.Contains(strings.ToLower(err.Error()), strings.ToLower(c.err))):
			t.Errorf("%s=%s: error %v, want %q", c.place, c.seen, err, c.err)
		case strings.Join(got, " ") != c.want:
			t.Errorf("%s=%s: %v, want %s", c.place, c.seen, got, c.want)
		}
	}
}

// No test is proposed of which everything that it could show is ruled out already.
func TestProposalsCanBeNoted(t *testing.T) {
	for _, c := range []struct {
		train string
		seen  []string
	}{
		{"simpson-transaxle-three-speed", []string{"R", "ok", "D1", "bind", "M1", "bind, rolls"}},
		{"simple-planetary", []string{"reverse", "none, rolls", "reduction", "forward", "overdrive", "forward, no-engine-braking"}},
		{"depot-shuttle-three-speed", []string{"D1", "none", "D2", "bind"}},
	} {
		train := library(t, c.train)
		a := newBench(train, diagnosis.Default()).diagnose(see(t, train, c.seen...)...)
		list := a.Next(100, nil)
		if len(list) == 0 {
			t.Errorf("%s %v: no proposals", c.train, c.seen)
		}
		for _, p := range list {
			can := false
			for _, e := range p.Expect {
				ok := len(e.Seen) > 0
				for _, o := range e.Seen {
					ok = ok && diagnosis.Compatible(train, a.Seen, o) == nil
				}
				can = can || ok
			}
			if !can {
				t.Errorf("%s %v: %s", c.train, c.seen, p.Test.Text(train))
			}
		}
	}
}
