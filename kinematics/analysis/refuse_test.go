package analysis_test

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/bench"
	"tieup/kinematics/controls"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
)

// tried is the error of a question, one that says so where it panics.
func tried(ask func() error) (err error, panics bool) {
	defer func() {
		if x := recover(); x != nil {
			err, panics = fmt.Errorf("panic: %v", x), true
		}
	}()
	return ask(), false
}

// refused fails where a question has an answer, or panics.
func refused(t *testing.T, what string, ask func() error) {
	t.Helper()
	if err, panics := tried(ask); err == nil || panics {
		t.Errorf("%s: %v", what, err)
	}
}

// underFaults are the questions of an analysis that have a condition, or bare faults, as it
// asks them.
func underFaults(t *testing.T, a *analysis.Analysis) map[string]func(analysis.Condition) error {
	ctx, train := t.Context(), a.Train
	from, to := train.Ranges[len(train.Ranges)-3], train.Ranges[len(train.Ranges)-2]
	play := func(c analysis.Condition) analysis.PlayQuestion {
		return analysis.PlayQuestion{From: &from, To: &to, Condition: c}
	}
	of := func(c analysis.Condition) analysis.Question { return analysis.Question{Condition: c} }
	torques := analysis.AssumedTorques(train)
	return map[string]func(analysis.Condition) error{
		"Breakaway": func(c analysis.Condition) error {
			return second(a.Breakaway(ctx, analysis.BreakawayQuestion{Range: &to, Condition: c, Torques: torques}))
		},
		"Chains":  func(c analysis.Condition) error { return second(a.Chains(ctx, of(c), torques)) },
		"Chart":   func(c analysis.Condition) error { return second(a.Chart(ctx, of(c))) },
		"Explain": func(c analysis.Condition) error { return second(a.Explain(ctx, of(c))) },
		"Ladder": func(c analysis.Condition) error {
			return second(a.Ladder(ctx, analysis.LadderQuestion{Question: of(c)}))
		},
		"LessonGiven": func(c analysis.Condition) error {
			_, _, err := a.LessonGiven(c)
			return err
		},
		"Levers": func(c analysis.Condition) error { return second(a.Levers(ctx, of(c))) },
		"Load": func(c analysis.Condition) error {
			return second(a.Load(ctx, analysis.LoadQuestion{Question: of(c)}))
		},
		"Play": func(c analysis.Condition) error { return second(a.Play(ctx, play(c))) },
		"PlayOverlaps": func(c analysis.Condition) error {
			return second(a.PlayOverlaps(ctx, play(c), analysis.Releases, nil))
		},
		"RightAnswers": func(c analysis.Condition) error { return second(a.RightAnswers(c)) },
		"Shifts": func(c analysis.Condition) error {
			return second(a.Shifts(ctx, analysis.ShiftsQuestion{From: &from, To: &to, Condition: c}))
		},
		"Solve": func(c analysis.Condition) error {
			return second(a.Solve(ctx, analysis.SolveQuestion{Question: of(c)}))
		},
		"Stage": func(c analysis.Condition) error { return second(a.Stage(ctx, 1, c)) },
		"Sweep": func(c analysis.Condition) error {
			return second(a.Sweep(ctx, analysis.SweepQuestion{PlayQuestion: play(c), Moves: analysis.Releases}))
		},
		"Verdict": func(c analysis.Condition) error { return second(a.Verdict(1, c)) },
		"WallChart": func(c analysis.Condition) error {
			return second(a.WallChart(ctx, analysis.WallQuestion{Question: of(c)}))
		},
		"Wear": func(c analysis.Condition) error {
			return second(a.Wear(ctx, analysis.WearQuestion{Condition: c, RPM: 1000, Seconds: 10,
				Ranges: []*kinematics.Range{&to}}))
		},
		"Why":       func(c analysis.Condition) error { return second(a.Why(ctx, &to, c)) },
		"Worksheet": func(c analysis.Condition) error { return second(a.Worksheet(ctx, c, 1, 1)) },

		"Diagnose": func(c analysis.Condition) error {
			claim := analysis.ClaimedFault{Faults: controls.Faults{Own: c.Faults}}
			return second(a.Diagnose(ctx, analysis.DiagnoseQuestion{Claims: []analysis.ClaimedFault{claim}}))
		},
		"States": func(c analysis.Condition) error {
			return second(a.States(ctx, analysis.StatesQuestion{Faults: c.Faults}))
		},
		"Turn": func(c analysis.Condition) error {
			return second(a.Turn(ctx, analysis.TurnQuestion{Faults: c.Faults}))
		},
		"Verdicts": func(c analysis.Condition) error { return second(a.Verdicts(c.Faults...)) },
	}
}

// bareFaults are those of the questions that have no condition.
var bareFaults = []string{"Diagnose", "States", "Turn", "Verdicts"}

// faultless are the methods that take no faults, or none that is in force; TestNonsense asks
// those of them that can be asked nonsense.
var faultless = []string{"Climbing", "ControlChart", "Controls", "FirstForward", "Identify", "Interview", "NextFault",
	"Plan", "Report", "RoadForm", "ShiftPairs", "ShiftsFrom", "Show", "TurnDrawn"}

// s9 is a fault of no train.
var s9 = []controls.Fault{{Part: "S9", Kind: controls.StuckOn}}

func second[T any](_ T, err error) error { return err }

// Faults that the train cannot have are errors, whoever asks.
func TestFaultsThatAreNone(t *testing.T) {
	train, other := gearsets.MustLibrary("depot-shuttle-three-speed"), gearsets.MustLibrary("ravigneaux-four-speed")
	a := analysis.Open(train)
	asks := underFaults(t, a)
	for i := range reflect.TypeOf(a).NumMethod() {
		name := reflect.TypeOf(a).Method(i).Name
		if _, asked := asks[name]; asked == slices.Contains(faultless, name) {
			t.Errorf("%s is not asked under faults, nor among those that have none, or both", name)
		}
	}
	var w analysis.WrittenFaults
	if err := w.Add(other, "S2=stuck-on"); err != nil {
		t.Fatal(err)
	}
	roller := train.MustFault("roller=slips").Coupling
	half := kinematics.Share{Num: 1, Den: 2}
	above := map[string]analysis.Condition{
		"another train": analysis.InForce(other, &w),
		"no controls":   analysis.InForce(gearsets.MustLibrary("simple-planetary"), &w),
		"no such part":  analysis.InForce(other, &analysis.WrittenFaults{Above: s9}),
	}
	for name, faults := range map[string][]kinematics.Fault{
		"number 99":       {{Coupling: 99, Kind: kinematics.Stuck}},
		"number -1":       {{Coupling: -1, Kind: kinematics.Stuck}},
		"no kind":         {{}},
		"no such kind":    {{Kind: "melted"}},
		"not its kind":    {{Coupling: roller, Kind: kinematics.Stuck}},
		"no such range":   {{Kind: kinematics.Stuck, Ranges: []string{"D1", "D9"}}},
		"no share":        {{Kind: kinematics.Weak}},
		"a share of open": {{Kind: kinematics.OpenF, Share: half}},
		"no such share":   {{Kind: kinematics.Dragging, Share: kinematics.Share{Num: -1, Den: 2}}},
		"contradicting":   {{Kind: kinematics.Stuck}, {Kind: kinematics.OpenF}},
		"twice":           {{Kind: kinematics.Stuck}, {Kind: kinematics.Stuck}},
	} {
		for ask, f := range asks {
			refused(t, name+": "+ask, func() error { return f(analysis.Under(faults...)) })
		}
	}
	for ask, f := range asks {
		for name, c := range above {
			if !slices.Contains(bareFaults, ask) {
				refused(t, name+": "+ask, func() error { return f(c) })
			}
		}
		if err, _ := tried(func() error { return f(analysis.Under(train.MustFault("roller=slips"))) }); err != nil {
			t.Errorf("%s of a fault that is one: %v", ask, err)
		}
	}
}

// What controls bring about may stand beside what it contradicts, and what is weak when it is
// applied may drag when it is released.
func TestFaultsBesideOthers(t *testing.T) {
	train := gearsets.MustLibrary("ravigneaux-four-speed")
	a := analysis.Open(train)
	var above []string
	for _, f := range controls.Of(train).SingleFaults() {
		above = append(above, f.String())
	}
	for _, f := range above {
		for _, own := range []string{"forward=open", "forward=stuck", "forward=weak 0.5"} {
			var w analysis.WrittenFaults
			for _, text := range []string{f, own} {
				if err := w.Add(train, text); err != nil {
					t.Fatal(err)
				}
			}
			if _, err := a.Verdict(4, analysis.InForce(train, &w)); err != nil {
				t.Errorf("%s beside %s: %v", f, own, err)
			}
		}
	}
	both := analysis.Under(train.MustFault("forward=weak 0.5"), train.MustFault("forward=dragging 0.1"))
	if _, err := a.Verdict(4, both); err != nil {
		t.Error(err)
	}
}

// Questions of nonsense have one error each, and none a panic or an answer.
func TestNonsense(t *testing.T) {
	train, other := gearsets.MustLibrary("depot-shuttle-three-speed"), gearsets.MustLibrary("ravigneaux-four-speed")
	a, b, ctx := analysis.Open(train), analysis.Open(other), t.Context()
	simple := analysis.Open(gearsets.MustLibrary("simple-planetary"))
	nan, inf, none := math.NaN(), math.Inf(1), exact.Frac{}
	identify := func(output analysis.Measured) error {
		readings := analysis.Readings{Tolerance: exact.NewFrac(1, 50),
			Speeds: []analysis.Measured{{Member: train.Input, Speed: exact.Int(1)}, output}}
		return second(a.Identify(ctx, analysis.IdentifyQuestion{Readings: readings}))
	}
	d1, d2 := &train.Ranges[3], &train.Ranges[4]
	var healthy analysis.Condition
	plan, err := a.Plan(ctx, analysis.PlanQuestion{})
	if err != nil {
		t.Fatal(err)
	}
	for what, ask := range map[string]func() error{
		"Why of another train": func() error { return second(a.Why(ctx, &other.Ranges[4], healthy)) },
		"Shifts of another train": func() error {
			return second(a.Shifts(ctx, analysis.ShiftsQuestion{From: &other.Ranges[4], To: &other.Ranges[5]}))
		},

		"Verdict -1": func() error { return second(a.Verdict(-1, healthy)) },
		"Verdict 99": func() error { return second(a.Verdict(99, healthy)) },
		"Stage -1":   func() error { return second(a.Stage(ctx, -1, healthy)) },
		"Stage 99":   func() error { return second(a.Stage(ctx, 99, healthy)) },

		"ShiftsFrom nil":  func() error { return second(a.ShiftsFrom(nil)) },
		"ShiftsFrom made": func() error { return second(a.ShiftsFrom(&kinematics.Range{Name: "made-up"})) },

		"Controls 99": func() error { return second(b.Controls(ctx, analysis.ControlsQuestion{Ranges: []int{99}})) },
		"Controls S9": func() error {
			return second(b.Controls(ctx, analysis.ControlsQuestion{Faults: s9}))
		},
		"Plan 99":      func() error { return second(a.Plan(ctx, analysis.PlanQuestion{Air: []int{99}})) },
		"Plan -1":      func() error { return second(a.Plan(ctx, analysis.PlanQuestion{Air: []int{-1}})) },
		"Plan without": func() error { return second(a.Plan(ctx, analysis.PlanQuestion{Without: bench.Missing(9)})) },

		"TurnDrawn nil":   func() error { return second(a.TurnDrawn(ctx, nil, 0)) },
		"TurnDrawn -1":    func() error { return second(a.TurnDrawn(ctx, plan, -1)) },
		"TurnDrawn 99":    func() error { return second(a.TurnDrawn(ctx, plan, 99)) },
		"TurnDrawn other": func() error { return second(b.TurnDrawn(ctx, plan, 0)) },

		"Turn applies 99": func() error { return second(a.Turn(ctx, analysis.TurnQuestion{Apply: []int{99}})) },
		"Turn no speed":   func() error { return second(a.Turn(ctx, analysis.TurnQuestion{Given: []analysis.Given{{}}})) },
		"Turn member 1 at no number": func() error {
			return second(a.Turn(ctx, analysis.TurnQuestion{Given: []analysis.Given{{Member: 1}}}))
		},
		"Turn member 999": func() error {
			return second(a.Turn(ctx, analysis.TurnQuestion{Given: []analysis.Given{{Member: 999, Speed: exact.Int(1)}}}))
		},

		"Identify member 999": func() error { return identify(analysis.Measured{Member: 999, Speed: exact.Int(1)}) },
		"Identify no number":  func() error { return identify(analysis.Measured{Member: train.Output}) },
		"Identify no range": func() error {
			return second(a.Identify(ctx, analysis.IdentifyQuestion{Commanded: &kinematics.Range{Name: "made-up"}}))
		},

		"Diagnose tests -1":  func() error { return second(a.Diagnose(ctx, analysis.DiagnoseQuestion{Tests: -1})) },
		"Diagnose faults -1": func() error { return second(a.Diagnose(ctx, analysis.DiagnoseQuestion{Faults: -1})) },
		"Diagnose claims S9": func() error {
			claim := analysis.ClaimedFault{Faults: controls.Faults{Above: s9}}
			return second(b.Diagnose(ctx, analysis.DiagnoseQuestion{Claims: []analysis.ClaimedFault{claim}}))
		},
		"Diagnose claims no controls": func() error {
			claim := analysis.ClaimedFault{Faults: controls.Faults{Above: controls.Of(other).SingleFaults()[:1]}}
			return second(simple.Diagnose(ctx, analysis.DiagnoseQuestion{Claims: []analysis.ClaimedFault{claim}}))
		},
		"Report kind": func() error {
			return second(a.Report(ctx, analysis.ReportQuestion{Kind: "x", Case: analysis.NewCase(train)}))
		},
	} {
		refused(t, what, ask)
	}

	cases := map[string]*analysis.Case{
		"nil": nil, "empty": {}, "of another train": analysis.NewCase(other), "that assumes nothing": {Train: train},
	}
	for name, o := range map[string]analysis.Observation{
		"a range 99": {Range: 99, To: -1}, "no place": {Range: -1, To: -1}, "a shift to itself": {Range: 3, To: 3},
		"no word": {Range: 3, To: -1, Word: "x"}, "no ratio": {Range: 3, To: -1, Word: analysis.SeenRatio, Text: "2.45"},
		"another range -1": {Range: 3, To: -1, Word: analysis.SeenAs, Other: -1},
		"no test":          {Range: -1, To: -1, Shop: &diagnosis.Test{Kind: 99}},
		"an element -1":    {Range: -1, To: -1, Word: "good", Shop: &diagnosis.Test{Kind: diagnosis.Air, Coupling: -1}},
	} {
		c := analysis.NewCase(train)
		c.Seen = []analysis.Observation{o}
		cases["of "+name] = c
	}
	for name, change := range map[string]func(*analysis.Case){
		"circumstance": func(c *analysis.Case) { c.Circumstances = []analysis.Circumstance{99} },
		"found part":   func(c *analysis.Case) { c.Found = []diagnosis.Found{{Part: "x", Word: diagnosis.FoundGood}} },
	} {
		c := analysis.NewCase(train)
		change(c)
		cases["with no such "+name] = c
	}
	for name, c := range cases {
		refused(t, "Interview "+name, func() error { return second(a.Interview(ctx, c)) })
		refused(t, "RoadForm "+name, func() error { return second(a.RoadForm(c)) })
		refused(t, "Report "+name, func() error {
			return second(a.Report(ctx, analysis.ReportQuestion{Kind: analysis.ForBench, Case: c}))
		})
		if c != nil {
			refused(t, "Diagnose "+name, func() error { return second(a.Diagnose(ctx, analysis.DiagnoseQuestion{Case: c})) })
		}
	}

	for _, x := range []float64{nan, inf, -inf, 1e300} {
		x := x
		whatever := func(what string, change func(*analysis.PlayQuestion)) {
			q := analysis.PlayQuestion{From: d1, To: d2}
			change(&q)
			refused(t, fmt.Sprintf("Play %s %g", what, x), func() error { return second(a.Play(ctx, q)) })
		}
		whatever("torque", func(q *analysis.PlayQuestion) { q.Torque = &x })
		whatever("no-load", func(q *analysis.PlayQuestion) { q.NoLoad = &x })
		whatever("speed", func(q *analysis.PlayQuestion) { q.Speed = &x })
		whatever("rpm", func(q *analysis.PlayQuestion) { q.Input = &x })
		whatever("brakes", func(q *analysis.PlayQuestion) { q.Brakes = x })
		whatever("until", func(q *analysis.PlayQuestion) { q.Until = &x })
		whatever("step", func(q *analysis.PlayQuestion) { q.Step = &x })
		whatever("rated", func(q *analysis.PlayQuestion) { q.Ratings = &analysis.Ratings{Rated: x, Reserve: exact.Int(2)} })
		whatever("ramp", func(q *analysis.PlayQuestion) { q.Apply = map[int]kinematics.Ramp{1: {Start: x, End: 1}} })
		play := analysis.PlayQuestion{From: d1, To: d2}
		limited := func(l analysis.SweptLimits) analysis.SweepQuestion {
			return analysis.SweepQuestion{PlayQuestion: play, Moves: analysis.Applies, Limits: l}
		}
		for what, ask := range map[string]func() error{
			"PlayOverlaps": func() error { return second(a.PlayOverlaps(ctx, play, analysis.Applies, []float64{x})) },
			"Sweep least":  func() error { return second(a.Sweep(ctx, limited(analysis.SweptLimits{Least: &x}))) },
			"Sweep flare":  func() error { return second(a.Sweep(ctx, limited(analysis.SweptLimits{Flare: &x}))) },
			"Sweep heat":   func() error { return second(a.Sweep(ctx, limited(analysis.SweptLimits{Heat: &x}))) },
			"Solve rpm":    func() error { return second(a.Solve(ctx, analysis.SolveQuestion{InputRPM: x})) },
			"Load torque":  func() error { return second(a.Load(ctx, analysis.LoadQuestion{Torque: x})) },
			"Load drag":    func() error { return second(a.Load(ctx, analysis.LoadQuestion{Drag: x})) },
			"Load rpm":     func() error { return second(a.Load(ctx, analysis.LoadQuestion{InputRPM: x})) },
			"Wear rpm":     func() error { return second(a.Wear(ctx, analysis.WearQuestion{RPM: x, Seconds: 10})) },
			"Wear time":    func() error { return second(a.Wear(ctx, analysis.WearQuestion{RPM: 1000, Seconds: x})) },
			"Ladder": func() error {
				return second(a.Ladder(ctx, analysis.LadderQuestion{ShiftAt: []float64{x}}))
			},
		} {
			refused(t, fmt.Sprintf("%s %g", what, x), ask)
		}
	}

	roller := train.MustFault("roller=slips")
	assumed := analysis.AssumedTorques(train)
	for what, change := range map[string]func(*analysis.Torques){
		"rated":      func(q *analysis.Torques) { q.Scale.Rated = none },
		"reserve":    func(q *analysis.Torques) { q.Reserve = exact.Int(0) },
		"available":  func(q *analysis.Torques) { q.Available = none },
		"rating":     func(q *analysis.Torques) { q.Given = map[int]exact.Frac{0: none} },
		"holds 0":    func(q *analysis.Torques) { q.Given = map[int]exact.Frac{0: exact.Int(0)} },
		"roller":     func(q *analysis.Torques) { q.Given = map[int]exact.Frac{roller.Coupling: exact.Int(1)} },
		"element 99": func(q *analysis.Torques) { q.Given = map[int]exact.Frac{99: exact.Int(1)} },
	} {
		q := assumed
		change(&q)
		refused(t, "Breakaway "+what, func() error {
			return second(a.Breakaway(ctx, analysis.BreakawayQuestion{Range: d1, Torques: q}))
		})
		refused(t, "Chains "+what, func() error { return second(a.Chains(ctx, analysis.Question{}, q)) })
		refused(t, "Wear "+what, func() error {
			return second(a.Wear(ctx, analysis.WearQuestion{RPM: 1000, Seconds: 10, Torques: q}))
		})
	}
	for what, ask := range map[string]func() error{
		"Play no reserve": func() error {
			return second(a.Play(ctx, analysis.PlayQuestion{From: d1, To: d2, Ratings: &analysis.Ratings{}}))
		},
		"Play ramp of 99": func() error {
			return second(a.Play(ctx, analysis.PlayQuestion{From: d1, To: d2,
				Release: map[int]kinematics.Ramp{99: {End: 1, Shape: kinematics.Line}}}))
		},
		"Wear at rest": func() error { return second(a.Wear(ctx, analysis.WearQuestion{Seconds: 10})) },
		"Wear no time": func() error { return second(a.Wear(ctx, analysis.WearQuestion{RPM: 1000})) },
		"Wear shift": func() error {
			return second(a.Wear(ctx, analysis.WearQuestion{RPM: 1000, Seconds: 10, Shifts: [][2]*kinematics.Range{{d1, nil}}}))
		},
		"Load losses": func() error { return second(a.Load(ctx, analysis.LoadQuestion{Losses: &analysis.Losses{}})) },
		"Load overall": func() error {
			return second(a.Load(ctx, analysis.LoadQuestion{Question: analysis.Question{Ranges: train.Ranges[3:4]}, Overall: &none}))
		},
		"Sweep moves nothing": func() error {
			return second(a.Sweep(ctx, analysis.SweepQuestion{PlayQuestion: analysis.PlayQuestion{From: d1, To: d2}, Moves: "x"}))
		},
		"Worksheet -1": func() error { return second(a.Worksheet(ctx, healthy, 1, -1)) },
	} {
		refused(t, what, ask)
	}
}
