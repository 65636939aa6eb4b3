package table

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
)

// What the answers caution about, as they begin.
const (
	canMove  = "Caution: The vehicle can move when it should not"
	canLock  = "Caution: The wheels can lock without warning"
	canJump  = "Caution: Springs and servo covers are under load"
	standing = "tieup reasons about"
)

// Every answer that can be dangerous says so in every form. The depot's three-speed with
// its forward clutch stuck on drives in neutral and ties up in reverse.
func TestCautionsEverywhere(t *testing.T) {
	a := opened(t, "depot-shuttle-three-speed")
	train := a.Train
	at := func(name string) *kinematics.Range {
		i, err := train.FindRange(name)
		if err != nil {
			t.Fatal(err)
		}
		return &train.Ranges[i]
	}
	faults, ctx, step := stuck(t, train, "forward"), t.Context(), 0.001
	all := analysis.Question{Ranges: train.Ranges, Condition: analysis.Under(faults...)}
	// A report is of the page, a verdict of a sweep in Go, a ladder of a drawing, which plots tests.
	reached := map[string]bool{"Report": true, "Verdict": true, "Ladder": true}
	// check takes what an analysis answers with its error, and asks for what it must say.
	check := func(answer any, err error, writer Answer, begin ...string) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		v := reflect.ValueOf(answer).Elem()
		reached[v.Type().Name()] = true
		cautions := v.FieldByName("Cautions").Convert(reflect.TypeFor[[]string]()).Interface().([]string)
		for _, want := range append(begin, standing) {
			if !strings.Contains("\n"+strings.Join(cautions, "\n"), "\n"+want) {
				t.Errorf("%s does not say %q: %q", v.Type(), want, cautions)
			}
		}
		everywhere(t, cautions, answer, writer)
	}

	solved, err := a.Solve(ctx, analysis.SolveQuestion{Question: all})
	check(solved, err, Solved{Solved: solved}, canMove, canLock)
	check(solved, err, Solved{Solved: solved, Detail: true}, canMove, canLock)
	why, err := a.Why(ctx, at("R"), analysis.Under(faults...))
	check(why, err, Reasons{Reasons: why}, canLock)
	chart, err := a.Chart(ctx, all)
	check(chart, err, Chart{chart}, canMove, canLock)
	wall, err := a.WallChart(ctx, analysis.WallQuestion{Question: all})
	check(wall, err, WallChart{wall}, canMove, canLock)
	loaded, err := a.Load(ctx, analysis.LoadQuestion{Question: all})
	check(loaded, err, Loaded{loaded}, canMove, canLock)
	turned, err := a.Turn(ctx, analysis.TurnQuestion{Given: []analysis.Given{{Member: train.Input, Speed: exact.Int(1)}}})
	check(turned, err, Turned{turned}, canJump)
	shifts, err := a.Shifts(ctx, analysis.ShiftsQuestion{Condition: analysis.Under(faults...)})
	check(shifts, err, Shifts{Shifts: shifts}, canMove, canLock)
	states, err := a.States(ctx, analysis.StatesQuestion{Faults: faults})
	check(states, err, States{states}, canMove, canLock)

	scale := analysis.Scale{NewtonMetres: true, Rated: exact.Int(250)}
	torques := analysis.Torques{Scale: scale, Available: scale.Rated, Reserve: exact.NewFrac(3, 2), Resistance: exact.Int(0)}
	broken, err := a.Breakaway(ctx, analysis.BreakawayQuestion{Range: at("R"), Condition: analysis.Under(faults...), Torques: torques})
	check(broken, err, BrokenAway{broken}, canLock)
	worn, err := a.Wear(ctx, analysis.WearQuestion{Condition: analysis.Under(faults...), Ranges: []*kinematics.Range{at("N"), at("R")},
		Shifts: [][2]*kinematics.Range{}, Torques: torques, RPM: 1000, Seconds: 10})
	check(worn, err, Worn{worn}, canMove, canLock)
	play := analysis.PlayQuestion{From: at("N"), To: at("R"), Condition: analysis.Under(faults...), Step: &step}
	played, err := a.Play(ctx, play)
	check(played, err, Played{played}, canMove, canLock)
	still := 0.0
	play.From, play.To, play.Faults, play.Speed = at("D2"), at("D3"), stuck(t, train, "low-reverse"), &still
	swept, err := a.Sweep(ctx, analysis.SweepQuestion{PlayQuestion: play, Moves: analysis.Releases})
	check(swept, err, Swept{swept}, canLock)

	speeds := []analysis.Measured{{Member: train.Input, Speed: exact.Int(1600)}, {Member: train.Output, Speed: exact.Int(1600)}}
	identified, err := a.Identify(ctx, analysis.IdentifyQuestion{
		Readings: analysis.Readings{Tolerance: exact.NewFrac(1, 50), Speeds: speeds}, Commanded: at("R"),
	})
	check(identified, err, Identified{Identified: identified}, canMove)
	c := &diagnosis.Case{Train: train, Assume: diagnosis.Default()}
	c.Seen, err = diagnosis.Parse(train, "R", "bind")
	if err != nil {
		t.Fatal(err)
	}
	diagnosed, err := a.Diagnose(ctx, analysis.DiagnoseQuestion{Case: c, Tests: 3, Brief: true})
	check(diagnosed, err, Diagnosed{Diagnosed: diagnosed}, canLock)
	sheet, err := desk(t).Worksheet(ctx, nil, 1, 2)
	check(sheet, err, Worksheet{sheet, true}, canLock, canJump)
	planned, err := desk(t).Plan(ctx, analysis.PlanQuestion{})
	check(planned, err, Planned{Planned: planned}, canJump)
	if planned, err = a.Plan(ctx, analysis.PlanQuestion{}); err != nil {
		t.Fatal(err)
	}
	shown := analysis.NewCaseShown(diagnosed, c, planned)
	check(shown, nil, CaseShown{shown}, canLock, canJump)

	// A lever between 2 and L applies what both do.
	a = opened(t, "overdrive-simpson-four-speed")
	between, err := controls.Of(a.Train).ParseFault("lever=between 2 L")
	if err != nil {
		t.Fatal(err)
	}
	controlled, err := a.Controls(ctx, analysis.ControlsQuestion{Faults: []controls.Fault{between}})
	check(controlled, err, Controlled{controlled}, canLock)
	controlChart, err := a.ControlChart(ctx)
	check(controlChart, err, ControlChart{controlChart}, canLock)

	for _, name := range cautious(t) {
		if !reached[name] {
			t.Errorf("no check asks %s for its cautions", name)
		}
	}
}

// cautious are the types of analysis whose JSON has cautions, from its source.
func cautious(t *testing.T) (names []string) {
	t.Helper()
	files, err := filepath.Glob("../../kinematics/analysis/*.go")
	if err != nil {
		t.Fatal(err)
	}
	inspect := func(n ast.Node) bool {
		spec, _ := n.(*ast.TypeSpec)
		if spec == nil {
			return true
		}
		if s, ok := spec.Type.(*ast.StructType); ok {
			for _, f := range s.Fields.List {
				if f.Tag != nil && strings.Contains(f.Tag.Value, `json:"cautions`) {
					names = append(names, spec.Name.Name)
				}
			}
		}
		return true
	}
	for _, name := range files {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, inspect)
	}
	if len(names) == 0 {
		t.Fatal("no answer has cautions")
	}
	return names
}
