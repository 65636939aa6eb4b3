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
