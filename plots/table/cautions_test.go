package table

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"slices"
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
	sheet, err := desk(t).Worksheet(ctx, analysis.Under(), 1, 2)
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

	asked := 0
	for name, s := range answerTypes(t) {
		if !cautious(s) {
			continue
		}
		if asked++; !reached[name] {
			t.Errorf("no check asks %s for its cautions", name)
		}
	}
	if asked == 0 {
		t.Error("no answer has cautions")
	}
}

// Every answer of a range that can come to several things says so in every form: with what it
// can come to besides where one thing is shown, and on what it depends where all are.
func TestOutcomesEverywhere(t *testing.T) {
	a := opened(t, "ravigneaux-four-speed")
	train := a.Train
	var written analysis.WrittenFaults
	if err := written.Add(train, "S2=stuck-on"); err != nil {
		t.Fatal(err)
	}
	m1, d2 := &train.Ranges[7], &train.Ranges[4]
	wrong, ctx, step := analysis.InForce(train, &written), t.Context(), 0.001
	q := analysis.Question{Ranges: train.Ranges[7:8], Condition: wrong}
	// A verdict is of a sweep in Go, a ladder of a drawing, which plots tests; states and what is
	// turned are of no range.
	reached := map[string]bool{"Verdict": true, "Ladder": true, "States": true, "Turned": true}
	check := func(answer any, err error, outcomes []analysis.RangeOutcomes, writer Answer,
		says func(analysis.RangeOutcomes) string) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		reached[reflect.TypeOf(answer).Elem().Name()] = true
		if len(outcomes) == 0 || outcomes[0].Range != "M1" {
			t.Errorf("%T has the outcomes %v", answer, outcomes)
		}
		forms, document := forms(t, answer, writer)
		if len(document.Outcomes) != len(outcomes) || document.Outcomes[0].Range != "M1" ||
			document.Outcomes[0].Depends == "" {
			t.Errorf("%T: JSON has the outcomes %v", answer, document.Outcomes)
		}
		for form, text := range forms {
			behind := strings.Index(text, "\nCaution")
			before := "\n"
			if form == "CSV" {
				behind, before = strings.Index(text, "\n# Caution"), "\n# "
			}
			for _, o := range outcomes {
				if at := strings.Index(text, before+says(o)+"\n"); at < 0 || at > behind {
					t.Errorf("%T: %s does not say %q before it cautions:\n%s", answer, form, says(o), text)
				}
			}
		}
	}
	one, all := analysis.RangeOutcomes.Words, analysis.RangeOutcomes.Several

	solved, err := a.Solve(ctx, analysis.SolveQuestion{Question: q})
	check(solved, err, solved.Outcomes, Solved{Solved: solved}, all)
	check(solved, err, solved.Outcomes, Solved{Solved: solved, Detail: true}, all)
	chart, err := a.Chart(ctx, q)
	check(chart, err, chart.Outcomes, Chart{chart}, all)
	why, err := a.Why(ctx, m1, wrong)
	check(why, err, why.Outcomes, Reasons{Reasons: why}, one)
	loaded, err := a.Load(ctx, analysis.LoadQuestion{Question: q})
	check(loaded, err, loaded.Outcomes, Loaded{loaded}, one)
	shifts, err := a.Shifts(ctx, analysis.ShiftsQuestion{Condition: wrong})
	check(shifts, err, shifts.Outcomes, Shifts{Shifts: shifts}, one)
	scale := analysis.Scale{NewtonMetres: true, Rated: exact.Int(250)}
	torques := analysis.Torques{Scale: scale, Available: scale.Rated, Reserve: exact.NewFrac(3, 2), Resistance: exact.Int(0)}
	broken, err := a.Breakaway(ctx, analysis.BreakawayQuestion{Range: m1, Condition: wrong, Torques: torques})
	check(broken, err, broken.Outcomes, BrokenAway{broken}, one)
	worn, err := a.Wear(ctx, analysis.WearQuestion{Condition: wrong, Ranges: []*kinematics.Range{m1},
		Shifts: [][2]*kinematics.Range{}, Torques: torques, RPM: 1000, Seconds: 10})
	check(worn, err, worn.Outcomes, Worn{worn}, one)
	play := analysis.PlayQuestion{From: m1, To: d2, Condition: wrong, Step: &step}
	played, err := a.Play(ctx, play)
	check(played, err, played.Outcomes, Played{played}, one)
	swept, err := a.Sweep(ctx, analysis.SweepQuestion{PlayQuestion: play, Moves: analysis.Releases})
	check(swept, err, swept.Outcomes, Swept{swept}, one)
	sheet, err := a.Worksheet(ctx, wrong, 1, 2)
	check(sheet, err, sheet.Outcomes, Worksheet{sheet, false}, all)
	check(sheet, err, sheet.Outcomes, Worksheet{sheet, true}, all)

	types := answerTypes(t)
	for name, s := range types {
		if cautious(s) && open(types, s) && !reached[name] {
			t.Errorf("no check asks %s what ranges can come to", name)
		}
	}
}

// open says whether a type holds what ranges can come to, itself or by a type that it embeds.
func open(types map[string]*ast.StructType, s *ast.StructType) bool {
	return slices.ContainsFunc(s.Fields.List, func(f *ast.Field) bool {
		switch x := f.Type.(type) {
		case *ast.Ident:
			return len(f.Names) == 0 && types[x.Name] != nil && open(types, types[x.Name])
		case *ast.ArrayType:
			of, _ := x.Elt.(*ast.Ident)
			return of != nil && of.Name == "RangeOutcomes"
		}
		return false
	})
}

// cautious says whether the JSON of a type has cautions.
func cautious(s *ast.StructType) bool {
	return slices.ContainsFunc(s.Fields.List, func(f *ast.Field) bool {
		return f.Tag != nil && strings.Contains(f.Tag.Value, `json:"cautions`)
	})
}

// answerTypes are the structs of analysis, from its source.
func answerTypes(t *testing.T) map[string]*ast.StructType {
	t.Helper()
	files, err := filepath.Glob("../../kinematics/analysis/*.go")
	if err != nil {
		t.Fatal(err)
	}
	types := map[string]*ast.StructType{}
	for _, name := range files {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if spec, _ := n.(*ast.TypeSpec); spec != nil {
				if s, ok := spec.Type.(*ast.StructType); ok {
					types[spec.Name.Name] = s
				}
			}
			return true
		})
	}
	return types
}
