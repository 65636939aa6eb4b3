package diagnosis

import (
	"cmp"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A FitTable says how observations fit what a range, or a shift, can do.
type FitTable struct {
	Title   string
	Columns []string
	Rows    []FitRow
}

// A FitRow is one observation.
type FitRow struct {
	Word string
	Fits []Fit // parallel to FitTable.Columns
}

// That returns the columns that an observation fits so.
func (t *FitTable) That(row *FitRow, fit Fit) []string {
	var list []string
	for i, x := range row.Fits {
		if x == fit {
			list = append(list, t.Columns[i])
		}
	}
	return list
}

// Less returns the columns that an observation fits less than fully: by slip, which they
// say, or partly.
func (t *FitTable) Less(row *FitRow) []string {
	list := t.That(row, Partly)
	for _, c := range t.That(row, BySlip) {
		list = append(list, c+" (by slip)")
	}
	return list
}

// FitTables returns how every observation fits: the tables of the package
// comment, asked from the same function that a diagnosis asks.
func FitTables() []FitTable {
	ratio := exact.NewFrac
	own, rests := Pull{solve.Forward, ratio(2, 1)}, Pull{Verdict: solve.Neutral}
	anyway := exact.Interval{Min: exact.Bound{Inf: -1}, Max: exact.Bound{Inf: 1}}
	at := func(p Pull) Behaviour {
		return Behaviour{Light: p, Full: p, Forward: anyway, Backward: anyway, Sense: 1, Slip: noSlip}
	}
	drives, lower, higher := at(own), at(Pull{solve.Forward, ratio(3, 1)}), at(Pull{solve.Forward, ratio(1, 1)})
	other, neutral := at(Pull{solve.Reverse, ratio(2, 1)}), at(rests)
	outputHeld, inputHeld, tiedUp := at(Pull{Verdict: solve.OutputHeld}), at(Pull{Verdict: solve.InputHeld}),
		at(Pull{Verdict: solve.TieUp})
	outputHeld.Forward, outputHeld.Backward = exact.None, exact.None
	tiedUp.Forward, tiedUp.Backward = outputHeld.Forward, outputHeld.Backward
	lightOnly, slipping := drives, drives
	lightOnly.Full = rests
	slipping.Full = lower.Light
	slipping.Slip = Slip{exact.Interval{Min: exact.Finite(ratio(1, 3)), Max: exact.Finite(ratio(1, 2))},
		exact.Interval{Min: exact.Finite(ratio(2, 1)), Max: exact.Finite(ratio(3, 1))}}
	runsUp := slipping
	runsUp.Light, runsUp.Full, runsUp.Slip.Pulling.Min = rests, rests, exact.Finite(exact.Int(0))
	oneWay := neutral
	oneWay.Backward = exact.None
	creeps, creepsBack, lurches, lurchesBack := neutral, neutral, tiedUp, tiedUp
	creeps.Creeps, creepsBack.Creeps, lurches.Lurch, lurchesBack.Lurch = 1, -1, 1, -1

	// Range 0 is meant to drive at 2, range 1 at 3, range 2 to rest.
	g := &road{healthy: []Behaviour{drives, lower, neutral}, tolerance: exact.NewFrac(1, 50)}
	table := func(title string, r int, columns []string, behaviours []Behaviour, words ...Observation) FitTable {
		t := FitTable{Title: title, Columns: columns}
		for _, o := range words {
			o.Range, o.To = r, -1
			row := FitRow{Word: cmp.Or(o.Text, string(o.Word))}
			for i := range behaviours {
				row.Fits = append(row.Fits, g.fit(&o, &behaviours[i]))
			}
			t.Rows = append(t.Rows, row)
		}
		return t
	}
	say := func(words ...Word) []Observation {
		return kinematics.Map(words, func(w Word) Observation { return Observation{Word: w} })
	}
	keys := func(words ...Word) []Reply {
		return kinematics.Map(words, func(w Word) Reply { return Reply{Key: string(w)} })
	}
	pushed := uses[kinematics.InVehicle]
	faults := kinematics.AllFaultKinds()
	faulty := kinematics.Map(faults, func(k kinematics.FaultKind) Word { return Word(k) })
	turn := exact.NewFrac(41, 100)
	turns := func(text string, w exact.Frac) Observation { return Observation{Word: Turns, Text: text, Ratio: w} }
	further := Observation{Word: Turns, Text: "0.41+", Ratio: turn, Further: true}
	roll := func(forward, backward exact.Interval) Behaviour {
		b := drives
		b.Forward, b.Backward = forward, backward
		return b
	}
	geared, none := exact.Between(ratio(2, 1), ratio(2, 1)), exact.None
	return []FitTable{
		table("a range that is meant to drive, and then", 0,
			[]string{"drives in its gear", "in a lower gear", "in a higher gear", "the other way", "no drive",
				"no drive but rolls one way only", "output held", "input held", "ties up",
				"holds at light throttle only", "slips at full throttle to a lower gear", "slips until the engine runs up"},
			[]Behaviour{drives, lower, higher, other, neutral, oneWay, outputHeld, inputHeld, tiedUp, lightOnly, slipping,
				runsUp},
			append(say(OK, Forward, Reverse, None, Revs, Loaded, Bind, Slips, SlipsLight, SlipsFull, HoldsFull, StallHolds,
				StallRuns, StallLow),
				Observation{Word: As, Text: "as lower gear", Other: 1},
				Observation{Word: Ratio, Text: "its own ratio", Ratio: ratio(2, 1)},
				Observation{Word: Ratio, Text: "a ratio between it and a lower gear", Ratio: ratio(5, 2)},
				Observation{Word: Slips, Text: "slips that ratio", Ratio: ratio(5, 2)},
				Observation{Word: Engine, Text: "engine that ratio", Ratio: ratio(5, 2)})...),
		table("a range that is meant to rest, and then", 2,
			[]string{"no drive", "output held", "drives forward", "drives backward", "creeps forward", "creeps backward",
				"lurches forward", "lurches backward", "ties up"},
			[]Behaviour{neutral, outputHeld, drives, other, creeps, creepsBack, lurches, lurchesBack, tiedUp},
			say(OK, Forward, Reverse, None, Bind, Lurch, LurchForward, LurchBackward, Creeps, CreepsForward,
				CreepsBackward)...),
		table("coasting and pushing, when the vehicle", 0,
			[]string{"turns the input", "lets it rest", "rolls forward only", "rolls backward only", "does not roll"},
			[]Behaviour{roll(geared, geared.Neg()), roll(anyway, anyway), roll(anyway, none), roll(none, anyway),
				roll(none, none)},
			slices.Insert(say(EngineBraking, NoEngineBraking, Locks, Held, Rolls, RollsForwardOnly, RollsBackOnly), 2,
				Observation{Word: Coasts, Text: "coasts own ratio", Ratio: ratio(2, 1)})...),
		shiftTable(),
		shopTable(g, "the vehicle pushed with the engine off that", Test{Kind: Rolling},
			[]string{pushed.both, pushed.neither, pushed.forwardOnly, pushed.backwardOnly}, keys(offWords...),
			say(offWords...)...),
		shopTable(g, "the fluid where", Test{Kind: Fluid},
			[]string{"pressure is low", "an element slips or drags", "neither is so"},
			[]Reply{{Key: string(Low)}, {Key: string(OK), burns: true}, {Key: string(OK)}},
			say(OK, Low, Foamy, BurntFluid, Milky)...),
		shopTable(g, "the line whose pressure", Test{Kind: Line},
			[]string{"is right", "falls by the seals of an element", "is low", "is high", "is none"},
			slices.Insert(keys(OK, Low, High, NotFed), 1, Reply{Key: string(OK), leaks: true}),
			slices.Insert(say(OK, Low, NotFed, High), 1, Observation{Word: OK, When: WhenLoad})...),
		shopTable(g, "the tap of an element that", Test{Kind: PressureAt},
			[]string{"is fed", "is fed though it fails", "is fed with low pressure", "is not fed"},
			slices.Insert(keys(Fed, Low, NotFed), 1, Reply{Key: string(Fed), leaks: true}),
			say(Fed, Low, NotFed)...),
		shopTable(g, "air to an element that", Test{Kind: Air},
			[]string{"is good", "never holds or is stuck on", "is worn or drags"},
			[]Reply{{Key: string(Good)}, {Key: string(Bad)}, {}}, say(Good, Bad)...),
		shopTable(g, "an element in hand that", Test{Kind: Element},
			append([]string{"is good"}, kinematics.Map(faults, reading.FaultInHand)...),
			keys(append([]Word{Good}, faulty...)...), say(append([]Word{Good, Bad}, faulty...)...)...),
		shopTable(g, "the train turned by hand on the bench that", Test{Kind: Bench, Turning: FreeOutput},
			[]string{"locks", "turns the output by 0.41", "by 0.41 or further", "by 0.41 the other way", "not at all",
				"as it likes"},
			[]Reply{{Key: string(Locks)}, {Key: "41/100", ratio: turn}, {Key: "least", ratio: turn, further: true},
				{Key: "-41/100", ratio: turn.Neg()}, {Key: "0"}, {Key: free}},
			Observation{Word: Locks}, turns("0.41", turn), further, turns("-0.41", turn.Neg()),
			turns("0", exact.Frac{}), turns(free, exact.Frac{})),
	}
}

// shopTable says how words fit what tests of a kind show.
func shopTable(g *road, title string, x Test, columns []string, replies []Reply, words ...Observation) FitTable {
	t := FitTable{Title: title, Columns: columns}
	for _, o := range words {
		o.Shop = &x
		row := FitRow{Word: string(o.Word) + o.When.String()}
		if o.Text != "" {
			row.Word += " " + o.Text
		}
		row.Fits = kinematics.Map(replies, func(r Reply) Fit { return g.shop(&o, r) })
		t.Rows = append(t.Rows, row)
	}
	return t
}

func shiftTable() FitTable {
	t := FitTable{Title: "a shift that", Columns: []string{"binds anyway", "binds if ill timed", "flares anyway",
		"flares if ill timed", "is timed early", "is timed late", "brings on what is weak", "releases what drags",
		"has too much pressure", "leaves the gear in", "ends in another gear", "does none of it"}}
	can := []shifting{{binds: always}, {binds: illTimed}, {flares: always}, {flares: illTimed}, {early: true},
		{late: true}, {weak: true}, {drags: true}, {hard: true}, {stays: always}, {stays: illTimed}, {}}
	for _, w := range shiftWords[:len(shiftWords)-1] { // notes are not weighed
		fits := kinematics.Map(can, func(x shifting) Fit { return x.fit(w) })
		t.Rows = append(t.Rows, FitRow{string(w), fits})
	}
	return t
}
