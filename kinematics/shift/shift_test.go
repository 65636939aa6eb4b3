package shift_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

func TestPairs(t *testing.T) {
	b := kinematics.NewBuilder("ports") // a third range with another output
	b.Shaft("race")
	b.Simple("set", 30, 60, 0, false)
	b.Element("ring-brake", kinematics.Brake, "set.ring", kinematics.HousingName)
	b.Element("lock", kinematics.Clutch, "set.ring", "set.sun")
	b.Ports("set.sun", "set.carrier")
	b.Range("low", "ring-brake")
	b.Range("high", "lock")
	b.Range("other", "lock").Output, _ = b.Train().Member("set.ring")
	ports := build(t, b)

	for _, c := range []struct {
		train    *kinematics.Train
		position string // shifts within a position
		selector string
	}{
		{library(t, "depot-shuttle-three-speed"), "D1-D2 D2-D1 D2-D3 D3-D2",
			"P-R R-P R-N N-R N-D1 D1-N D1-L1 D2-L1 D3-L1 L1-D1"},
		// Position 2 begins with the D1 of position D and goes on with its own M2.
		{library(t, "simpson-three-speed"), "D1-D2 D2-D1 D2-D3 D3-D2 D1-M2 M2-D1",
			"P-R R-P R-N N-R N-D1 D1-N D2-M2 D3-M2 M2-D2 D1-M1 M2-M1 M1-D1"},
		{library(t, "two-speed-triple-pinion"), "reverse-neutral neutral-reverse neutral-low low-neutral low-high high-low", ""},
		{ports, "low-high high-low", ""},
	} {
		var position, selector []string
		for _, p := range shift.NewPredictor(solve.Compile(c.train)).Pairs() {
			name := c.train.Ranges[p.From].Name + "-" + c.train.Ranges[p.To].Name
			if p.Selector {
				selector = append(selector, name)
			} else {
				position = append(position, name)
			}
		}
		if d := cmp.Diff(c.position, strings.Join(position, " ")); d != "" {
			t.Errorf("%s, within a position (-want +got):\n%s", c.train.Name, d)
		}
		if d := cmp.Diff(c.selector, strings.Join(selector, " ")); d != "" {
			t.Errorf("%s, by the selector (-want +got):\n%s", c.train.Name, d)
		}
	}
}

// TestFactsOfTheTrade holds what every technician knows of these arrangements:
// common practice, no source.
func TestFactsOfTheTrade(t *testing.T) {
	depot, simpson := "depot-shuttle-three-speed", "simpson-three-speed"
	for _, c := range []struct {
		train, from, to   string
		fault             string // NAME=KIND
		pulling, coasting shift.Verdict
		text              string // part of the line for pulling
	}{
		// With a low roller and an intermediate roller 1-2 is a freewheel shift.
		{simpson, "D1", "D2", "", shift.SafeEitherWay, shift.Same, "freewheel shift: low-roller overruns"},
		{simpson, "D2", "D1", "", shift.SafeEitherWay, shift.Same, "freewheel shift: low-roller catches"},
		// The intermediate roller lets third come on early; late flares into first.
		{simpson, "D2", "D3", "", shift.SafeIfEarly, shift.SafeEitherWay, "late flares to 2.48 (as D1)"},
		// With a band in its place 2-3 is timed.
		{depot, "D2", "D3", "", shift.Timed, shift.Timed, "timed: early ties up, late flares to 2.45 (as D1)"},
		{depot, "D3", "D2", "", shift.Timed, shift.Timed, "timed: early ties up, late flares to 2.45 (as D1)"},
		// A manual downshift into first is caught by the roller, but only when pulling.
		{depot, "D2", "L1", "", shift.SafeIfLate, shift.Timed, "freewheel shift: roller catches"},
		// Clutch to clutch, without one-way clutches, everything is timed.
		{"four-carrier-eight-speed", "D4", "D5", "", shift.Timed, shift.Timed, "late falls into neutral"},
		{"lepelletier-six-speed", "D3", "D4", "", shift.Timed, shift.Timed, "early ties up"},
		// Engaging.
		{depot, "N", "D1", "", shift.Engages, 0, "engages: drives forward at 2.45"},
		{depot, "N", "R", "", shift.Engages, 0, "engages: drives backward at 2.20"},
		// Between two ranges that drive, each its own way, it is engaged at a standstill.
		{depot, "R", "D1", "", shift.Engages, 0, "engages: drives forward at 2.45"},
		{depot, "D1", "R", "", shift.Engages, 0, "engages: drives backward at 2.20"},
		{depot, "D1", "N", "", shift.Releases, 0, "lets go"},

		// A forward clutch stuck on drives in neutral, binds in reverse, pushes on the pawl.
		{depot, "N", "D1", "forward=stuck", shift.AlreadyDrives, 0, "N already drives forward at 2.45 (as D1): nothing is left to engage"},
		{depot, "N", "R", "forward=stuck", shift.BoundAnyway, 0, "R ties up whatever the timing"},
		{depot, "D1", "N", "forward=stuck", shift.StillDrives, 0, "N drives forward at 2.45 (as D1), where it must not drive"},
		{depot, "P", "R", "forward=stuck", shift.BoundThroughout, 0, "P lurches forward against the pawl; R ties up"},
		// Without a forward clutch nothing engages.
		{depot, "N", "D1", "forward=open", shift.EngagesNothing, 0, "nothing engages: no drive"},
		{depot, "D1", "D2", "forward=open", shift.NeitherDrives, shift.Same, "neither range drives"},
		// A low brake stuck on drives in first and ties up from second on.
		{depot, "D1", "D2", "low-reverse=stuck", shift.BoundAnyway, shift.BoundAnyway, "D2 ties up whatever the timing"},
		{depot, "D2", "D3", "low-reverse=stuck", shift.BoundThroughout, shift.BoundThroughout, "D2 ties up, and so does D3"},
		// An overdrive brake stuck on holds the input: first can still roll on over its roller,
		// direct, where the rear sets turn as one, cannot.
		{"overdrive-simpson-four-speed", "D1", "D3", "overdrive-brake=stuck", shift.BoundThroughout, shift.BoundThroughout,
			"D1 holds the input; D3 ties up"},
		{depot, "D2", "L1", "low-reverse=stuck", shift.BoundBefore, shift.BoundBefore, "D2 ties up; L1 does not"},
		// A slipping low roller loses first: 2-1 falls into neutral, 1-2 takes hold.
		{depot, "D2", "D1", "roller=slips", shift.LosesDrive, shift.SafeEitherWay, "D1 does not drive: neutral whatever the timing"},
		{depot, "D1", "D2", "roller=slips", shift.TakesHold, shift.SafeEitherWay, "D1 does not drive; D2 takes hold"},
		// A seized intermediate roller is a band: only the shift shows it.
		{simpson, "D2", "D3", "intermediate-roller=seized", shift.Timed, shift.Timed, "early ties up"},
		// An intermediate band stuck on: first is second already.
		{depot, "D1", "D2", "intermediate=stuck", shift.Same, shift.Same, "nothing changes: 1.45 before and after"},
		// Neutral of the interlinked train holds the low brake: a reverse clutch stuck on backs up in it.
		{"interlinked-four-speed", "D1", "N", "reverse=stuck", shift.StillDrives, 0, "N drives backward at 2.19 (as R), where it must not drive"},
	} {
		train := library(t, c.train)
		var faults []kinematics.Fault
		if name, kind, faulty := strings.Cut(c.fault, "="); faulty {
			faults = append(faults, fault(t, train, name, kinematics.FaultKind(kind)))
		}
		s := find(t, train, c.from, c.to, faults...)
		if s.Pulling.Verdict != c.pulling || !s.Standing && s.Coasting.Verdict != c.coasting || !strings.Contains(s.PullingText(), c.text) {
			t.Errorf("%s %s %s: %v, coasting %v: %q, want %v, %v: %q", c.train, s.Name(), c.fault,
				s.Pulling.Verdict, s.Coasting.Verdict, s.PullingText(), c.pulling, c.coasting, c.text)
		}
	}
}

// effects lists the partial states of a shift with what they do while pulling.
func effects(s *shift.Shift) map[string]string {
	m := map[string]string{}
	for i := range s.Partial {
		x := &s.Partial[i]
		var holding []string
		for _, c := range x.Holding {
			holding = append(holding, s.Train.Couplings[c].Name)
		}
		m[strings.Join(holding, "+")] = x.Pulling.Kind.String() + ": " + x.Text()
	}
	return m
}

// TestThreeExchanged: partial states that differ from overlap and underlap.
func TestThreeExchanged(t *testing.T) {
	train := twoSets(t)
	s := find(t, train, "low-over", "high")
	// By hand: low-over 3/2 * 5/7 = 15/14, high 1.
	want := map[string]string{
		"od-brake+od-clutch+high": "locks: ties up",                                                                       // overlap
		"":                        "runs-free: no drive",                                                                  // underlap
		"od-brake+od-clutch":      "holds-input: input held: the engine is loaded as in a stall test; rolls forward only", // the front set stands
		"od-brake+high":           "dips: drives forward at 0.71 (as high-over)",                                          // 5/7
		"od-clutch":               "flares: drives forward at 1.50 (as low)",                                              // 3/2
		"high":                    "runs-free: no drive, but rolls forward only",                                          // the roller holds the sun, and with it the middle shaft, against turning backward
	}
	if d := cmp.Diff(want, effects(s)); d != "" {
		t.Errorf("low-over to high (-want +got):\n%s", d)
	}
	if s.Pulling.Verdict != shift.Timed || s.Pulling.Order != nil {
		t.Errorf("low-over to high: %v, order %v; no order is free of harm", s.Pulling.Verdict, s.Pulling.Order)
	}

	// Third to manual second of a Simpson set: overlap ties up and underlap
	// flares, and yet there is a safe way over the state between.
	train = library(t, "simpson-three-speed")
	s = find(t, train, "D3", "M2")
	want = map[string]string{
		"direct+intermediate+second-coast": "locks: ties up",
		"":                                 "flares: drives forward at 2.48 (as D1)",
		"direct+intermediate":              "as-from: drives forward at 1.00 (as D3)",
		"direct+second-coast":              "locks: ties up",
		"intermediate":                     "as-to: drives forward at 1.48 (as D2)",
		"second-coast":                     "as-to: drives forward at 1.48 (as D2)",
	}
	if d := cmp.Diff(want, effects(s)); d != "" {
		t.Errorf("D3 to M2 (-want +got):\n%s", d)
	}
	if want := "timed: early ties up, late flares to 2.48 (as D1); safe in this order: intermediate on, direct off, second-coast on"; s.PullingText() != want {
		t.Errorf("D3 to M2: %q, want %q", s.PullingText(), want)
	}
}

// TestOverlapAndUnderlapDecide: what the package comment says of more and less
// constrained states, for all library trains under all single faults.
func TestOverlapAndUnderlapDecide(t *testing.T) {
	harmful := func(e *shift.Effect) bool { return e != nil && !e.Kind.Harmless() }
	exchanges, mixed := 0, 0
	check := func(name string, s *shift.Shift, v *shift.View, effect func(*shift.State) *shift.Effect) {
		if s.Overlap == nil || s.Underlap == nil || v.Verdict > shift.Timed {
			return
		}
		exchanges++
		if harmful(v.Early) != harmful(effect(s.Overlap)) || harmful(v.Late) != harmful(effect(s.Underlap)) {
			t.Errorf("%s: early %+v, late %+v, overlap %+v, underlap %+v", name, v.Early, v.Late, *effect(s.Overlap), *effect(s.Underlap))
		}
		if v.Early == nil && v.Late == nil && v.Mixed != nil {
			t.Errorf("%s: only mixed orders do harm: %+v", name, v.Mixed)
		}
		if v.Mixed != nil {
			mixed++
		}
		if v.Early != nil {
			switch v.Early.Kind {
			case shift.Flares, shift.Runs, shift.LetsGo, shift.Slackens:
				t.Errorf("%s: early %v", name, v.Early.Kind)
			}
		}
		if v.Late != nil {
			switch v.Late.Kind {
			case shift.Locks, shift.Holds, shift.Dips, shift.PullsUp:
				t.Errorf("%s: late %v", name, v.Late.Kind)
			}
		}
	}
	for _, name := range append(gearsets.Names(), "two-sets") {
		train := twoSets(t)
		if name != train.Name {
			train = library(t, name)
		}
		finder := shift.NewPredictor(solve.Compile(train))
		cases := [][]kinematics.Fault{nil}
		for _, f := range train.SingleFaults() {
			cases = append(cases, []kinematics.Fault{f})
		}
		for _, p := range finder.Pairs() {
			for _, faults := range cases {
				s := finder.Shift(context.Background(), p, faults...)
				if s.Standing {
					continue
				}
				name := name + " " + s.Name() + " " + reading.FaultsIn(train, faults)
				check(name+" pulling", s, &s.Pulling, func(x *shift.State) *shift.Effect { return &x.Pulling })
				check(name+" coasting", s, &s.Coasting, func(x *shift.State) *shift.Effect { return &x.Coasting })
			}
		}
	}
	if exchanges < 1000 || mixed < 100 {
		t.Errorf("only %d exchanges were seen, %d of them with harm in mixed orders", exchanges, mixed)
	}
}

// TestTooMany: with more than six changes only overlap and underlap are known.
func TestTooMany(t *testing.T) {
	b := kinematics.NewBuilder("many")
	b.Simple("set", 30, 60, 0, false)
	var low, high []string
	for i := range 4 {
		l, h := fmt.Sprintf("l%d", i), fmt.Sprintf("h%d", i)
		b.Element(l, kinematics.Brake, "set.ring", kinematics.HousingName)
		b.Element(h, kinematics.Clutch, "set.ring", "set.sun")
		low, high = append(low, l), append(high, h)
	}
	b.Ports("set.sun", "set.carrier")
	b.Range("low", low...)
	b.Range("high", high...)
	s := find(t, build(t, b), "low", "high")
	if s.Every || len(s.Partial) != 2 || s.Overlap == nil || s.Underlap == nil {
		t.Fatalf("every %v, %d states, overlap %v, underlap %v", s.Every, len(s.Partial), s.Overlap, s.Underlap)
	}
	if s.Overlap.Outcome.Verdict != solve.TieUp || s.Underlap.Outcome.Verdict != solve.Neutral || s.Pulling.Verdict != shift.Timed {
		t.Errorf("overlap %v, underlap %v: %v", s.Overlap.Outcome.Verdict, s.Underlap.Outcome.Verdict, s.Pulling.Verdict)
	}
}

// TestFaultInOneRange: a cross leak applies an element with one range only, so
// it comes on with that range.
func TestFaultInOneRange(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	s := find(t, train, "D1", "D2", fault(t, train, "low-reverse", kinematics.Stuck, "D2"))
	unchanged, uncalled := s.Faulty()
	if len(unchanged) != 0 || len(uncalled) != 1 || train.Couplings[uncalled[0]].Name != "low-reverse" {
		t.Errorf("unchanged %v, uncalled %v, want low-reverse uncalled", unchanged, uncalled)
	}
	if s.Pulling.Verdict != shift.BoundAnyway {
		t.Errorf("%v, want that D2 ties up", s.Pulling.Verdict)
	}
	s = find(t, train, "D2", "D3", fault(t, train, "intermediate", kinematics.Stuck))
	unchanged, uncalled = s.Faulty()
	if len(unchanged) != 1 || len(uncalled) != 0 || len(s.Changes) != 1 {
		t.Errorf("unchanged %v, uncalled %v, %d changes, want intermediate unchanged", unchanged, uncalled, len(s.Changes))
	}
}

// TestReverse: a shift between two reverse ranges is measured rolling backward.
func TestReverse(t *testing.T) {
	b := kinematics.NewBuilder("two-reverses")
	b.StepPinions("set", kinematics.Step{Part: "sun", Teeth: 30, PinionTeeth: 20},
		kinematics.Step{Part: "big", Teeth: 90, PinionTeeth: 40, Ring: true}, kinematics.Step{Part: "small", Teeth: 70, PinionTeeth: 20, Ring: true})
	b.Shaft("out")
	b.Element("carrier", kinematics.Brake, "set.carrier", kinematics.HousingName)
	b.Element("slow", kinematics.Clutch, "set.big", "out")
	b.Element("fast", kinematics.Clutch, "set.small", "out")
	b.Ports("set.sun", "out")
	b.Range("R1", "carrier", "slow")
	b.Range("R2", "carrier", "fast")
	s := find(t, build(t, b), "R1", "R2")
	if s.Standing || s.Way != solve.Reverse {
		t.Fatalf("standing %v, way %v", s.Standing, s.Way)
	}
	if want := "timed: early ties up, late falls into neutral"; s.PullingText() != want {
		t.Errorf("%q, want %q", s.PullingText(), want)
	}
}

// TestEveryWord shows each kind of effect and each verdict on a train that has it.
func TestEveryWord(t *testing.T) {
	type example struct {
		train, from, to string
		faults          string
	}
	const depot, simpson, eight, coupled = "depot-shuttle-three-speed", "simpson-three-speed", "four-carrier-eight-speed", "coupled-four-speed"
	shifts := func(e example) *shift.Shift {
		train := twoSets(t)
		if e.train != train.Name {
			train = library(t, e.train)
		}
		var faults []kinematics.Fault
		for _, text := range strings.Fields(e.faults) {
			f, err := kinematics.ParseFault(train, text)
			if err != nil {
				t.Fatal(err)
			}
			faults = append(faults, f)
		}
		return find(t, train, e.from, e.to, faults...)
	}

	kinds := map[shift.Kind]struct {
		example
		coasting bool
		text     string
	}{
		shift.AsTo:     {example{simpson, "D3", "M2", ""}, false, "does as the second range"},
		shift.AsFrom:   {example{simpson, "D3", "M2", ""}, false, "does as the first range"},
		shift.Between:  {example{"two-sets", "low", "high-over", ""}, false, "does something between the two"},
		shift.Slackens: {example{eight, "D1", "D4", ""}, true, "engine braking falls to 1.28 (as D5)"},
		shift.Dips:     {example{"two-sets", "low-over", "high", ""}, false, "pulls the engine down to 0.71 (as high-over)"},
		shift.LetsGo:   {example{depot, "D2", "D3", ""}, true, "lets the engine fall to idle"},
		shift.PullsUp:  {example{coupled, "2", "3", "input:second.sun=sheared"}, true, "pulls the engine up to 4.00 (as 1)"},
		shift.Flares:   {example{depot, "D2", "D3", ""}, false, "flares to 2.45 (as D1)"},
		shift.Runs:     {example{eight, "D1", "D2", ""}, false, "falls into neutral"},
		shift.Reverses: {example{coupled, "1", "R", "second-band=stuck"}, false, "drives forward"},
		shift.Holds:    {example{"two-sets", "low-over", "high", ""}, false, "holds the input"},
		shift.Locks:    {example{depot, "D2", "D3", ""}, true, "locks the wheels"},
	}
	for k := shift.AsTo; k <= shift.Locks; k++ {
		e, ok := kinds[k]
		if !ok {
			t.Errorf("no example of %v", k)
			continue
		}
		s := shifts(e.example)
		var texts []string
		for _, x := range s.Partial {
			effect := x.Pulling
			if e.coasting {
				effect = x.Coasting
			}
			if effect.Kind == k {
				texts = append(texts, effect.Text())
			}
		}
		if !slices.Contains(texts, e.text) {
			t.Errorf("%v in %v: %q, want %q", k, e.example, texts, e.text)
		}
	}

	verdicts := map[shift.Verdict]struct {
		example
		text string
	}{
		shift.Same:            {example{depot, "D1", "L1", ""}, "nothing changes: 2.45 before and after"},
		shift.SafeEitherWay:   {example{depot, "D1", "D2", ""}, "safe either way (freewheel shift: roller overruns)"},
		shift.SafeIfEarly:     {example{simpson, "D2", "D3", ""}, "safe if early (freewheel shift: intermediate-roller overruns); late flares to 2.48 (as D1)"},
		shift.SafeIfLate:      {example{depot, "D2", "L1", ""}, "safe if late (freewheel shift: roller catches); early ties up"},
		shift.Timed:           {example{eight, "D1", "D2", ""}, "timed: early ties up, late falls into neutral"},
		shift.BoundAnyway:     {example{depot, "D1", "D2", "low-reverse=stuck"}, "D2 ties up whatever the timing"},
		shift.BoundThroughout: {example{depot, "D2", "D3", "low-reverse=stuck"}, "D2 ties up, and so does D3"},
		shift.BoundBefore:     {example{depot, "D2", "D1", "low-reverse=stuck"}, "D2 ties up; D1 does not"},
		shift.LosesDrive:      {example{depot, "D2", "D1", "roller=slips"}, "D1 does not drive: neutral whatever the timing"},
		shift.TakesHold:       {example{depot, "D1", "D2", "roller=slips"}, "D1 does not drive; D2 takes hold"},
		shift.NeitherDrives:   {example{depot, "D1", "D2", "forward=open"}, "neither range drives"},
		shift.WrongWay:        {example{depot, "D3", "D1", "forward=open@D1 direct=stuck low-reverse=stuck@D1"}, "D1 drives backward whatever the timing"},
		shift.Engages:         {example{depot, "N", "R", ""}, "engages: drives backward at 2.20"},
		shift.Lurches:         {example{depot, "D1", "R", "roller=slips"}, "engages: drives backward at 2.20; on the way it drives forward"},
		shift.Releases:        {example{depot, "R", "N", ""}, "lets go"},
		shift.AlreadyDrives:   {example{depot, "N", "D1", "forward=stuck"}, "N already drives forward at 2.45 (as D1): nothing is left to engage"},
		shift.EngagesNothing:  {example{depot, "N", "D1", "roller=reversed"}, "nothing engages: no drive, but coasting turns the engine at 2.45"},
		shift.StillDrives:     {example{depot, "D1", "N", "forward=stuck"}, "N drives forward at 2.45 (as D1), where it must not drive"},
	}
	for v := shift.Same; v <= shift.StillDrives; v++ {
		e, ok := verdicts[v]
		if !ok {
			t.Errorf("no example of %v", v)
			continue
		}
		if s := shifts(e.example); s.Pulling.Verdict != v || s.PullingText() != e.text {
			t.Errorf("%v: %v, %q, want %v, %q", e.example, s.Pulling.Verdict, s.PullingText(), v, e.text)
		}
	}
}

// TestHazards: only what the faults add is a hazard.
func TestHazards(t *testing.T) {
	train := library(t, "simpson-three-speed")
	finder := shift.NewPredictor(solve.Compile(train))
	hazards := func(from, to string, faults ...kinematics.Fault) map[reading.Hazard]bool {
		a, _ := train.Range(from)
		b, _ := train.Range(to)
		m := map[reading.Hazard]bool{}
		for _, h := range finder.Hazards(shift.Pair{From: a, To: b}, faults...) {
			m[h] = true
		}
		return m
	}
	for _, c := range []struct {
		from, to, fault string
		want            []reading.Hazard
	}{
		{"D2", "D3", "", nil},
		{"D2", "D3", "intermediate-roller=seized", []reading.Hazard{reading.Locks}}, // in overlap only
		{"D1", "D2", "low-reverse=stuck", []reading.Hazard{reading.Locks}},
		{"D1", "D2", "low-roller=slips", nil},
		{"N", "D1", "forward=stuck", []reading.Hazard{reading.Moves}},
		{"P", "R", "pawl=missing", []reading.Hazard{reading.Rolls}},
	} {
		var faults []kinematics.Fault
		if name, kind, faulty := strings.Cut(c.fault, "="); faulty {
			faults = append(faults, fault(t, train, name, kinematics.FaultKind(kind)))
		}
		want := map[reading.Hazard]bool{}
		for _, h := range c.want {
			want[h] = true
		}
		if d := cmp.Diff(want, hazards(c.from, c.to, faults...)); d != "" {
			t.Errorf("%s to %s, %s (-want +got):\n%s", c.from, c.to, c.fault, d)
		}
	}
}

// TestThereAndBack: the way back passes the same states, so what is timed or
// safe there is so here, for all library trains under all single faults.
func TestThereAndBack(t *testing.T) {
	turned := map[shift.Verdict]shift.Verdict{
		shift.BoundAnyway: shift.BoundBefore, shift.BoundBefore: shift.BoundAnyway,
		shift.LosesDrive: shift.TakesHold, shift.TakesHold: shift.LosesDrive,
	}
	for _, name := range gearsets.Names() {
		train := library(t, name)
		finder := shift.NewPredictor(solve.Compile(train))
		for _, p := range finder.Pairs() {
			cases := [][]kinematics.Fault{nil}
			for _, f := range train.SingleFaults() {
				cases = append(cases, []kinematics.Fault{f})
			}
			for _, faults := range cases {
				there := finder.Shift(context.Background(), p, faults...)
				back := finder.Shift(context.Background(), shift.Pair{From: p.To, To: p.From}, faults...)
				if there.Standing {
					continue
				}
				for _, v := range [][2]*shift.View{{&there.Pulling, &back.Pulling}, {&there.Coasting, &back.Coasting}} {
					want := v[0].Verdict
					if w, ok := turned[want]; ok {
						want = w
					}
					if v[1].Verdict != want && v[0].Verdict != shift.WrongWay && v[1].Verdict != shift.WrongWay {
						t.Errorf("%s %s, %s: %v there, %v back", name, there.Name(), reading.FaultsIn(train, faults), v[0].Verdict, v[1].Verdict)
					}
				}
			}
		}
	}
}

// TestSinglesPassNothing: one change passes no state, so its timing cannot
// matter.
func TestSinglesPassNothing(t *testing.T) {
	for _, name := range gearsets.Names() {
		train := library(t, name)
		finder := shift.NewPredictor(solve.Compile(train))
		for _, p := range finder.Pairs() {
			s := finder.Shift(context.Background(), p)
			if len(s.Changes) == 1 && !s.Standing && s.Pulling.Verdict != shift.SafeEitherWay && s.Pulling.Verdict != shift.Same {
				t.Errorf("%s %s: %v", name, s.Name(), s.Pulling.Verdict)
			}
		}
	}
}

func BenchmarkShiftsEightSpeed(b *testing.B) {
	train := library(b, "four-carrier-eight-speed")
	finder := shift.NewPredictor(solve.Compile(train))
	pairs := finder.Pairs()
	for b.Loop() {
		for _, p := range pairs {
			finder.Shift(context.Background(), p)
		}
	}
	b.ReportMetric(float64(len(pairs)), "shifts/op")
}

// From reverse to first the vehicle is taken up, but not where reverse drives forward already:
// with the direct clutch off and the forward clutch on in R, that is first with the low brake.
func TestReverseThatDrivesForward(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	if got := find(t, train, "R", "D1").Pulling.Verdict; got == shift.AlreadyDrives {
		t.Errorf("healthy: %v", got)
	}
	s := find(t, train, "R", "D1", fault(t, train, "direct", kinematics.OpenF, "R"), fault(t, train, "forward", kinematics.Stuck, "R"))
	if !s.Standing || s.First.Outcome.Verdict != solve.Forward || s.Pulling.Verdict != shift.AlreadyDrives {
		t.Errorf("R drives forward, and the shift to D1: %v", s.Pulling.Verdict)
	}
}
