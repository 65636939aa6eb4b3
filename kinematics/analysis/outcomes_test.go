package analysis_test

import (
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Where a range can come to several things every answer of it says so, and has the cautions
// of all of them: read one by one from the ways in which the faults of the controls can end.
func TestOutcomesInEveryAnswer(t *testing.T) {
	several := 0
	for _, name := range []string{"ravigneaux-four-speed", "depot-shuttle-three-speed", "interlinked-six-speed"} {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		a, reader := analysis.Open(train), reading.NewReader(solve.Compile(train))
		n := controls.Of(train)
		for _, f := range n.SingleFaults() {
			brought := n.Bring([]controls.Fault{f})
			var written analysis.WrittenFaults
			if err := written.Add(train, f.String()); err != nil {
				t.Fatal(err)
			}
			wrong := analysis.InForce(train, &written)
			for _, rng := range brought.Open {
				several++
				r := &train.Ranges[rng]
				var hazards []reading.Hazard
				for _, way := range brought.Ways() {
					hazards = append(hazards, reading.Hazards(reader.Read(r), reader.Read(r, way...))...)
				}
				want := reading.Cautions(train.Use, hazards)
				check := func(answer string, outcomes []analysis.RangeOutcomes, cautions []string, of ...*kinematics.Range) {
					t.Helper()
					has := slices.ContainsFunc(outcomes, func(o analysis.RangeOutcomes) bool {
						return o.Range == r.Name && len(o.Others) > 0
					})
					for _, line := range want {
						has = has && slices.Contains(cautions, line)
					}
					if !has {
						t.Errorf("%s, %s in %s: %s has %v and %q, want %q", name, f, r.Name, answer, outcomes, cautions, want)
					}
				}
				v, err := a.Verdict(rng, wrong)
				if err != nil {
					t.Fatal(err)
				}
				check("verdict", v.Outcomes, v.Cautions)
				one := analysis.Question{Ranges: []kinematics.Range{*r}, Condition: wrong}
				explained, err := a.Explain(t.Context(), one)
				if err != nil {
					t.Fatal(err)
				}
				check("explain", explained.Outcomes, explained.Cautions)
				check("why", explained.Ranges[0].Outcomes, explained.Ranges[0].Cautions)
				chart, err := a.Chart(t.Context(), one)
				if err != nil {
					t.Fatal(err)
				}
				check("chart", chart.Outcomes, chart.Cautions)
				solved, err := a.Solve(t.Context(), analysis.SolveQuestion{Question: one})
				if err != nil {
					t.Fatal(err)
				}
				check("solve", solved.Outcomes, solved.Cautions)
				for _, st := range solved.States {
					if !slices.Equal(st.Controls, []string{f.String()}) {
						t.Errorf("%s, %s in %s: a state has the faults %q of the controls", name, f, r.Name, st.Controls)
					}
				}
				s, err := a.Stage(t.Context(), rng, wrong)
				if err != nil {
					t.Fatal(err)
				}
				if s.Also == "" || len(s.Warnings) != max(len(want)-1, 0) { // the last of want is the standing line
					t.Errorf("%s, %s in %s: on the stage %q and %q, want %q", name, f, r.Name, s.Also, s.Warnings, want)
				}
			}
		}
	}
	if several < 10 {
		t.Errorf("only %d ranges can come to several things", several)
	}
}

// The same of those that take long: one range that can come to several things.
func TestOutcomesInLongAnswers(t *testing.T) {
	train, err := gearsets.Library("ravigneaux-four-speed")
	if err != nil {
		t.Fatal(err)
	}
	var written analysis.WrittenFaults
	if err := written.Add(train, "S2=stuck-on"); err != nil {
		t.Fatal(err)
	}
	a, wrong, ctx := analysis.Open(train), analysis.InForce(train, &written), t.Context()
	i, _ := train.Range("M1")
	r := &train.Ranges[i]
	q := analysis.Question{Ranges: []kinematics.Range{*r}, Condition: wrong}
	check := func(answer string, outcomes []analysis.RangeOutcomes, cautions []string, err error) {
		t.Helper()
		if err != nil || len(outcomes) == 0 || len(cautions) < 3 {
			t.Errorf("%s: %v, outcomes %v, cautions %q", answer, err, outcomes, cautions)
		}
	}
	loaded, err := a.Load(ctx, analysis.LoadQuestion{Question: q})
	check("load", loaded.Outcomes, loaded.Cautions, err)
	shifts, err := a.Shifts(ctx, analysis.ShiftsQuestion{Condition: wrong})
	check("shifts", shifts.Outcomes, shifts.Cautions, err)
	worn, err := a.Wear(ctx, analysis.WearQuestion{Condition: wrong, Ranges: []*kinematics.Range{r}, Torques: wearTorques(),
		RPM: 1000, Seconds: 10})
	check("wear", worn.Outcomes, worn.Cautions, err)
	broken, err := a.Breakaway(ctx, analysis.BreakawayQuestion{Range: r, Condition: wrong, Torques: wearTorques()})
	check("breakaway", broken.Outcomes, broken.Cautions, err)
	chains, err := a.Chains(ctx, q, wearTorques())
	check("chains", chains.Outcomes, chains.Cautions, err)
	d, _ := train.Range("D1")
	played, err := a.Play(ctx, analysis.PlayQuestion{From: r, To: &train.Ranges[d], Condition: wrong})
	check("play", played.Outcomes, played.Cautions, err)
}

// Whoever asks about faults of the controls is warned of all that somebody is who asks about
// what they come to, one thing after the other.
func TestCautionsOfEveryOutcome(t *testing.T) {
	compared := 0
	for _, name := range []string{"ravigneaux-four-speed", "depot-shuttle-three-speed", "interlinked-six-speed"} {
		train := gearsets.MustLibrary(name)
		a, ctx, n := analysis.Open(train), t.Context(), controls.Of(train)
		asks := map[string]func(int, analysis.Condition) ([]string, error){
			"breakaway": func(r int, c analysis.Condition) ([]string, error) {
				x, err := a.Breakaway(ctx, analysis.BreakawayQuestion{Range: &train.Ranges[r], Condition: c})
				if err != nil {
					return nil, err
				}
				return x.Cautions, nil
			},
			"chains": func(r int, c analysis.Condition) ([]string, error) {
				x, err := a.Chains(ctx, analysis.Question{Ranges: train.Ranges[r : r+1], Condition: c}, analysis.Torques{})
				if err != nil {
					return nil, err
				}
				return x.Cautions, nil
			},
			"load": func(r int, c analysis.Condition) ([]string, error) {
				x, err := a.Load(ctx, analysis.LoadQuestion{Question: analysis.Question{Ranges: train.Ranges[r : r+1], Condition: c}})
				if err != nil {
					return nil, err
				}
				return x.Cautions, nil
			},
			"shifts": func(r int, c analysis.Condition) ([]string, error) {
				to, err := a.ShiftsFrom(&train.Ranges[r])
				if err != nil {
					t.Fatal(err)
				}
				if to == nil {
					return nil, nil
				}
				x, err := a.Shifts(ctx, analysis.ShiftsQuestion{From: &train.Ranges[r], To: to[0], Condition: c})
				if err != nil {
					return nil, err
				}
				return x.Cautions, nil
			},
			"all faults": func(r int, c analysis.Condition) ([]string, error) {
				q := analysis.Question{Ranges: train.Ranges[r : r+1], Condition: c}
				x, err := a.WallChart(ctx, analysis.WallQuestion{Question: q})
				if err != nil {
					return nil, err
				}
				var list []string
				for _, row := range x.Charts {
					if row.Added == nil && row.Above == nil { // what was given alone
						list = append(list, reading.Cautions(train.Use, row.Rows[0].Hazards)...)
					}
				}
				return list, nil
			},
		}
		for _, f := range n.SingleFaults() {
			var written analysis.WrittenFaults
			if err := written.Add(train, f.String()); err != nil {
				t.Fatal(err)
			}
			wrong := analysis.InForce(train, &written)
			brought := n.Bring([]controls.Fault{f})
			for _, r := range brought.Open {
				for answer, ask := range asks {
					whole, err := ask(r, wrong)
					if err != nil {
						t.Fatal(err)
					}
					for _, way := range brought.Others[r] {
						part, err := ask(r, analysis.Under(way...))
						if err != nil {
							t.Fatal(err)
						}
						compared++
						for _, line := range part {
							if !slices.Contains(whole, line) {
								t.Errorf("%s of %s %s: with %s not warned as with %v: %q", answer, name, train.Ranges[r].Name, f, way, line)
							}
						}
					}
				}
			}
		}
	}
	if compared < 100 {
		t.Errorf("only %d answers were compared", compared)
	}
}

// Who plays a shift is warned of all that can happen on its way, and of a bind in the one that
// is played.
func TestCautionsOfPlayedShifts(t *testing.T) {
	train := gearsets.MustLibrary("ravigneaux-four-speed")
	a, ctx := analysis.Open(train), t.Context()
	of := func(name string) *kinematics.Range {
		i, err := train.FindRange(name)
		if err != nil {
			t.Fatal(err)
		}
		return &train.Ranges[i]
	}
	under := analysis.Under(train.MustFault("low-reverse=stuck@D1")) // early, intermediate locks the wheels
	shifts, err := a.Shifts(ctx, analysis.ShiftsQuestion{From: of("D1"), To: of("D2"), Condition: under})
	if err != nil {
		t.Fatal(err)
	}
	played, err := a.Play(ctx, analysis.PlayQuestion{From: of("D1"), To: of("D2"), Condition: under})
	if err != nil {
		t.Fatal(err)
	}
	if len(shifts.Cautions) < 2 || !slices.Equal(shifts.Cautions, played.Cautions) {
		t.Errorf("shifts warns of %q, transient of %q", shifts.Cautions, played.Cautions)
	}

	forward, _ := train.Coupling("forward")
	overdrive, _ := train.Coupling("overdrive")
	early := analysis.PlayQuestion{From: of("D3"), To: of("D4"),
		Release: map[int]kinematics.Ramp{forward: {Start: 0.8, End: 0.9}},
		Apply:   map[int]kinematics.Ramp{overdrive: {Start: 0, End: 0.1}}}
	if played, err = a.Play(ctx, early); err != nil || len(played.Cautions) < 2 {
		t.Errorf("a shift that binds: %v, %q", err, played.Cautions)
	}
	if played, err = a.Play(ctx, analysis.PlayQuestion{From: of("D3"), To: of("D4")}); err != nil || played.Cautions != nil {
		t.Errorf("a timed shift: %v, %q", err, played.Cautions)
	}
}
