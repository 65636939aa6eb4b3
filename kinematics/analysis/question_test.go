package analysis_test

import (
	"context"
	"errors"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// A question that names no range is about all of them: an answer about none would look
// safe, with no row and no caution.
func TestNoRangesAreAll(t *testing.T) {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	a, ctx := analysis.Open(train), context.Background()
	q := analysis.Question{Condition: analysis.Under(train.MustFault("forward=stuck"))}

	chart, err := a.Chart(ctx, q)
	if err != nil || len(chart.Rows) != len(train.Ranges) || len(chart.Cautions) < 2 {
		t.Errorf("chart: %d rows, cautions %q, %v", len(chart.Rows), chart.Cautions, err)
	}
	solved, err := a.Solve(ctx, analysis.SolveQuestion{Question: q})
	if err != nil || len(solved.States) != len(train.Ranges) || len(solved.Cautions) < 2 {
		t.Errorf("solve: %d states, cautions %q, %v", len(solved.States), solved.Cautions, err)
	}
	loaded, err := a.Load(ctx, analysis.LoadQuestion{Question: q})
	if err != nil || len(loaded.Ranges) != len(train.Ranges) {
		t.Errorf("load: %d ranges, %v", len(loaded.Ranges), err)
	}
	levers, err := a.Levers(ctx, q)
	if err != nil || len(levers.States) != len(train.Ranges) {
		t.Errorf("levers: %d states, %v", len(levers.States), err)
	}
	found, err := a.Diagnose(ctx, analysis.DiagnoseQuestion{})
	if err != nil || found == nil {
		t.Errorf("diagnose: %v", err)
	}
}

// Questions that have no answer are errors that say so.
func TestQuestionsWithoutAnswer(t *testing.T) {
	a, ctx := analysis.Open(gearsets.MustLibrary("depot-shuttle-three-speed")), context.Background()
	var bad *analysis.QuestionError
	made := analysis.Question{Ranges: []kinematics.Range{{Name: "made-up"}}}
	if _, err := a.Chart(ctx, made); !errors.As(err, &bad) {
		t.Errorf("chart of a range that the train has not: %v", err)
	}
	overall := exact.NewFrac(9, 10)
	if _, err := a.Load(ctx, analysis.LoadQuestion{Overall: &overall}); !errors.As(err, &bad) {
		t.Errorf("the efficiency of all ranges: %v", err)
	}
	if _, err := a.Why(ctx, nil, analysis.Condition{}); !errors.As(err, &bad) {
		t.Errorf("why without a range: %v", err)
	}
	if _, err := a.Breakaway(ctx, analysis.BreakawayQuestion{}); !errors.As(err, &bad) {
		t.Errorf("breakaway without a range: %v", err)
	}
}

// Ranges that are not given, and combinations that faults do not know, are refused by every
// question: an answer would leave out the faults.
func TestRangesThatAreNone(t *testing.T) {
	train := gearsets.MustLibrary("ravigneaux-four-speed")
	var w analysis.WrittenFaults
	if err := w.Add(train, "S2=stuck-on"); err != nil {
		t.Fatal(err)
	}
	under := map[string]analysis.Condition{
		"of the controls":    analysis.InForce(train, &w),
		"of some ranges":     analysis.Under(kinematics.Fault{Kind: kinematics.Stuck, Ranges: []string{"D3"}}),
		"of elements, known": {},
	}
	d4, made := &train.Ranges[6], train.Ranges[5]
	made.Name = ""
	type ask func(*kinematics.Range, analysis.Condition) error
	a, ctx := analysis.Open(train), context.Background()
	torques := analysis.AssumedTorques(train)
	list := func(r *kinematics.Range, c analysis.Condition) analysis.Question {
		return analysis.Question{Ranges: []kinematics.Range{*r}, Condition: c}
	}
	several := map[string]ask{
		"solve": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Solve(ctx, analysis.SolveQuestion{Question: list(r, c)})
			return err
		},
		"load": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Load(ctx, analysis.LoadQuestion{Question: list(r, c)})
			return err
		},
		"levers": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Levers(ctx, list(r, c))
			return err
		},
		"chains": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Chains(ctx, list(r, c), torques)
			return err
		},
	}
	one := map[string]ask{
		"why": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Why(ctx, r, c)
			return err
		},
		"breakaway": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Breakaway(ctx, analysis.BreakawayQuestion{Range: r, Condition: c, Torques: torques})
			return err
		},
		"play": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Play(ctx, analysis.PlayQuestion{From: d4, To: r, Condition: c})
			return err
		},
		"sweep": func(r *kinematics.Range, c analysis.Condition) error {
			play := analysis.PlayQuestion{From: r, To: d4, Condition: c}
			_, err := a.Sweep(ctx, analysis.SweepQuestion{PlayQuestion: play, Moves: analysis.Releases})
			return err
		},
		"wear": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Wear(ctx, analysis.WearQuestion{Condition: c, RPM: 1000, Seconds: 10, Torques: torques,
				Ranges: []*kinematics.Range{r}})
			return err
		},
		"shifts": func(r *kinematics.Range, c analysis.Condition) error {
			_, err := a.Shifts(ctx, analysis.ShiftsQuestion{From: d4, To: r, Condition: c})
			return err
		},
	}
	for name, ask := range one {
		if err := ask(nil, analysis.Condition{}); !errors.As(err, new(*analysis.QuestionError)) {
			t.Errorf("%s without a range: %v", name, err)
		}
	}
	for words, c := range under {
		for _, asks := range []map[string]ask{several, one} {
			for name, ask := range asks {
				err, refused := ask(&made, c), len(c.Faults) > 0 || name == "shifts"
				if (err != nil) != refused {
					t.Errorf("%s of a combination under faults %s: %v", name, words, err)
				}
			}
		}
	}
}

// A combination that the train cannot have is an error.
func TestCombinationsThatAreNone(t *testing.T) {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	a, ctx, d1 := analysis.Open(train), context.Background(), train.Ranges[3]
	for name, change := range map[string]func(*kinematics.Range){
		"applies number 99": func(r *kinematics.Range) { r.Apply = []int{99} },
		"no input":          func(r *kinematics.Range) { r.Input = kinematics.Housing },
		"one end":           func(r *kinematics.Range) { r.Input = r.Output },
		"no such member":    func(r *kinematics.Range) { r.Output = 999 },
	} {
		r := d1
		change(&r)
		if _, err := a.Why(ctx, &r, analysis.Condition{}); err == nil {
			t.Errorf("%s: why has an answer", name)
		}
	}
}
