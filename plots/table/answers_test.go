package table

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// desk is a train that a pencil suffices for: sun 30 in, carrier out, ring 60. With
// the ring held the ratio is 1 + 60/30 = 3, by Willis' relation (common practice, no
// source); with sun and carrier joined all turns as one, at 1. The ring is held by a
// brake, or backward only by a one-way clutch.
func desk(t *testing.T) *analysis.Analysis {
	t.Helper()
	b := kinematics.NewBuilder("desk")
	b.Train().Title, b.Train().Sources = "A set on the desk", []string{"invented for demonstration"}
	b.Simple("set", 30, 60, 15, false)
	b.Element("low", kinematics.Brake, "set.ring", kinematics.HousingName)
	b.Element("direct", kinematics.Clutch, "set.sun", "set.carrier")
	b.Element("roller", kinematics.OneWay, "set.ring", kinematics.HousingName)
	b.Ports("set.sun", "set.carrier")
	b.Range("D1")
	b.Range("L1", "low")
	b.Range("D2", "direct")
	b.Position("D", "D1", "D2")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return analysis.Open(train)
}

// fault reads a fault of a train.
func fault(t *testing.T, a *analysis.Analysis, text string) []kinematics.Fault {
	t.Helper()
	f, err := kinematics.ParseFault(a.Train, text)
	if err != nil {
		t.Fatal(err)
	}
	return []kinematics.Fault{f}
}

// reads compares what an answer is in text, without the standing line, which is
// the last where there are cautions.
func reads(t *testing.T, want string, answer Answer) {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, 0, answer); err != nil {
		t.Fatal(err)
	}
	got := strings.Split(strings.TrimSpace(b.String()), "\n")
	if n := len(got) - 1; strings.HasPrefix(got[n], "tieup reasons about") {
		got = got[:n]
	}
	if diff := cmp.Diff(strings.Split(strings.TrimSpace(want), "\n"), got); diff != "" {
		t.Errorf("text (-want +got):\n%s", diff)
	}
}

// A spoken is what a document says to whoever reads its numbers.
type spoken struct {
	Remark   string
	Outcomes []struct{ Range, Depends string }
	Cautions []string
}

// forms are those of an answer for people and for machines: text, CSV where there is
// one, and what its JSON says.
func forms(t *testing.T, answer any, writer Answer) (forms map[string]string, document spoken) {
	t.Helper()
	var text, js, rows bytes.Buffer
	if err := Text(&text, 0, writer); err != nil {
		t.Fatal(err)
	}
	if err := WriteJSON(&js, answer); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(js.Bytes(), &document); err != nil {
		t.Fatal(err)
	}
	forms = map[string]string{"text": text.String()}
	if w, has := writer.(interface{ CSV(io.Writer) error }); has {
		if err := w.CSV(&rows); err != nil {
			t.Fatal(err)
		}
		forms["CSV"] = rows.String()
		r := csv.NewReader(&rows)
		r.Comment = '#'
		if _, err := r.ReadAll(); err != nil {
			t.Errorf("CSV: %v", err)
		}
	}
	return forms, document
}

// everywhere checks that cautions stand in all forms of an answer: in CSV as comments
// that a reader leaves out.
func everywhere(t *testing.T, cautions []string, answer any, writer Answer) {
	t.Helper()
	forms, document := forms(t, answer, writer)
	if !cmp.Equal(document.Cautions, cautions) || len(cautions) < 2 {
		t.Errorf("JSON has the cautions %q, the answer %q", document.Cautions, cautions)
	}
	for form, text := range forms {
		for _, c := range cautions {
			if !strings.Contains(text, c) {
				t.Errorf("%s does not say %q", form, c)
			}
		}
	}
}

// A remark on what the numbers leave open stands in all forms, or in none.
func TestRemarkInEveryForm(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	a := analysis.Open(train)
	check := func(name string, remarks bool, answer any, writer Answer, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		forms, document := forms(t, answer, writer)
		if (document.Remark == reading.TorqueRemark) != remarks || !remarks && document.Remark != "" {
			t.Errorf("%s: JSON remarks %q", name, document.Remark)
		}
		for form, text := range forms {
			if strings.Contains(text, reading.TorqueRemark) != remarks {
				t.Errorf("%s: %s remarks %v, want %v", name, form, !remarks, remarks)
			}
		}
	}
	weak := fault(t, a, "forward=weak 0.6")
	// Forward is applied in D1 and not in R: a weak clutch that is not applied lets through nothing.
	for _, asked := range []struct {
		name    string
		remarks bool
	}{{"D1", true}, {"R", false}} {
		i, err := train.FindRange(asked.name)
		if err != nil {
			t.Fatal(err)
		}
		r := &train.Ranges[i]
		solved, err := a.Solve(t.Context(), analysis.SolveQuestion{
			Question: analysis.Question{Ranges: []kinematics.Range{*r}, Condition: analysis.Under(weak...)},
		})
		check("solve "+r.Name, asked.remarks, solved, Solved{Solved: solved}, err)
		check("solve in detail "+r.Name, asked.remarks, solved, Solved{Solved: solved, Detail: true}, err)
		why, err := a.Why(t.Context(), r, analysis.Under(weak...))
		check("why "+r.Name, asked.remarks, why, Reasons{Reasons: why}, err)
		turned, err := a.Turn(t.Context(), analysis.TurnQuestion{
			Given: []analysis.Given{{Member: train.Input, Speed: exact.Int(1)}}, Apply: r.Apply, Faults: weak,
		})
		check("turn "+r.Name, asked.remarks, turned, Turned{turned}, err)
	}
}

func TestSolvedText(t *testing.T) {
	a := desk(t)
	ask := func(q analysis.SolveQuestion) *analysis.Solved {
		answer, err := a.Solve(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		return answer
	}
	all := analysis.Question{Ranges: a.Train.Ranges}
	reads(t, `
desk: A set on the desk

range  applied  reads                    ratio  exact  coasting                            output rpm
─────────────────────────────────────────────────────────────────────────────────────────────────────
D1     nothing  drives forward at 3.00  3.0000      3  freewheels                              +200.0
L1     low      drives forward at 3.00  3.0000      3  engine braking                          +200.0
D2     direct   drives forward at 1.00  1.0000      1  engine braking, does not roll back      +600.0

ratio = input speed / output speed; a minus sign: the output turns against the input`, Solved{Solved: ask(analysis.SolveQuestion{Question: all, InputRPM: 600})})

	one := analysis.Question{Ranges: a.Train.Ranges[:1]}
	reads(t, `
desk, range D1: nothing applied

reads             drives forward at 3.00
ratio             3 (input set.sun, output set.carrier)
output            turns as the input, 0.3333 = 1/3 per input turn
coasting          freewheels
rolling forward   rolls; the input turns 3 or less per output turn
rolling backward  rolls; the input turns -3 or less per output turn
input backward    can be turned backward

speeds per turn of the input
member         speed  exact  on its carrier  note
───────────────────────────────────────────────────
set.carrier  +0.3333    1/3                  output
set.sun      +1.0000      1                  input
set.ring      0.0000      0
set.pinion   -1.0000     -1  -1.3333 = -4/3

elements
element  kind     between               state       slip  exact
───────────────────────────────────────────────────────────────
low      brake    set.ring              open      0.0000      0
direct   clutch   set.sun, set.carrier  open     +0.6667    2/3
roller   one-way  set.ring, housing     holding   0.0000      0

+ is the sense in which the input turns; slip is the first member seen from the second`, Solved{Solved: ask(analysis.SolveQuestion{Question: one}), Detail: true})

	all.Faults = fault(t, a, "direct=stuck")
	stuck := ask(analysis.SolveQuestion{Question: all})
	reads(t, `
desk: A set on the desk
fault: direct is stuck on

range  applied  reads                            ratio  exact  coasting
─────────────────────────────────────────────────────────────────────────────────────────────────
D1     nothing  drives forward at 1.00 (as D2)  1.0000      1  engine braking, does not roll back
L1     low      ties up                                        does not roll
D2     direct   drives forward at 1.00          1.0000      1  engine braking, does not roll back

ratio = input speed / output speed; a minus sign: the output turns against the input

Caution: The wheels can lock without warning: drive only on a dry, straight, clear road, slowly, with nobody behind, and stop at the first bind.`, Solved{Solved: stuck})
	everywhere(t, stuck.Cautions, stuck, Solved{Solved: stuck})
}

func TestReasonsText(t *testing.T) {
	a := desk(t)
	drives, err := a.Why(t.Context(), &a.Train.Ranges[0], analysis.Condition{})
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk, range D1: nothing applied

Range D1 drives forward at 3.00, and freewheels on the overrun.

How it drives
  1. in gearset set, set.sun drives set.carrier; set.ring is held
  Reaction: set.ring is held by roller (one-way clutch).`, Reasons{Reasons: drives, All: true})
	ties, err := a.Why(t.Context(), &a.Train.Ranges[1], analysis.Under(fault(t, a, "direct=stuck")...))
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk, range L1: low applied
fault: direct is stuck on

Range L1 ties up; the vehicle does not roll.

Why the input cannot turn forward and the vehicle cannot roll forward
  low (applied in L1) and direct (stuck on) contradict each other.

if this lets go  the others              output per input turn  the range
──────────────────────────────────────────────────────────────────────────────────────
low              drives forward at 1.00                  +1.00  drives forward at 1.00
direct           drives forward at 3.00                  +0.33  drives forward at 3.00
  direct asks the output for +1.00 turns per input turn, low for +0.33: only standing still satisfies both.

Why the vehicle cannot roll backward (1 of 2)
  direct (stuck on) and roller (one-way clutch) contradict each other.

if this lets go  the range
───────────────────────────────────────────────────────────
direct           drives forward at 3.00, engine braking
roller           ties up, does not roll: conflict 2 remains
  As the vehicle rolls backward, roller asks the input for -3.00 turns per output turn or less, direct for -1.00: no speed satisfies both.

Why the vehicle cannot roll backward (2 of 2)
  low (applied in L1) and direct (stuck on) contradict each other.

if this lets go  the range
───────────────────────────────────────────────────────────────────────────────────────────────
low              drives forward at 1.00, engine braking, does not roll back: conflict 1 remains
direct           drives forward at 3.00, engine braking
  As the vehicle rolls backward, direct asks the input for -1.00 turns per output turn, low for -3.00: no speed satisfies both.

Locks that agree
  roller (one-way clutch) asks for nothing that low (applied in L1) does not ask for already: nothing would change without it.

What would make it drive

change       then it
────────────────────────────────────────────────────
free direct  drives forward at 3.00, as when healthy
release low  drives forward at 1.00 (as D2)

Caution: The wheels can lock without warning: drive only on a dry, straight, clear road, slowly, with nobody behind, and stop at the first bind.`, Reasons{Reasons: ties, All: true})
	everywhere(t, ties.Cautions, ties, Reasons{Reasons: ties, All: true})
}

func TestChartText(t *testing.T) {
	a := desk(t)
	healthy, err := a.Chart(t.Context(), analysis.Question{Ranges: a.Train.Ranges})
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk: A set on the desk

range  low  direct  roller     ratio  reads           coasting
────────────────────────────────────────────────────────────────────────────────────────
D1                  holds     3.0000  drives forward  freewheels
L1     on                     3.0000  drives forward  engine braking
D2          on      overruns  1.0000  drives forward  engine braking, does not roll back

on = applied; holds, overruns = one-way clutch under drive; ratio = input speed / output speed`, Chart{healthy})
	faulty, err := a.Chart(t.Context(), analysis.Question{Ranges: a.Train.Ranges, Condition: analysis.Under(fault(t, a, "direct=stuck")...)})
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk: A set on the desk
fault: direct is stuck on

range  applied  healthy                 with the fault                  coasting then                       what changes
───────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────
D1     nothing  drives forward at 3.00  drives forward at 1.00 (as D2)  engine braking, does not roll back  wrong ratio, engine braking, does not roll back
L1     low      drives forward at 3.00  ties up                         does not roll                       ties up
D2     direct   drives forward at 1.00  as when healthy

position D starts in second

Caution: The wheels can lock without warning: drive only on a dry, straight, clear road, slowly, with nobody behind, and stop at the first bind.`, Chart{faulty})
	everywhere(t, faulty.Cautions, faulty, Chart{faulty})
}

func TestWallChartText(t *testing.T) {
	a := desk(t)
	wall, err := a.WallChart(t.Context(), analysis.WallQuestion{Question: analysis.Question{Ranges: a.Train.Ranges}})
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk: A set on the desk

fault            D1                               L1                 D2
──────────────────────────────────────────────────────────────────────────────────
healthy          .                                .                  .
low=stuck        engine braking                   .                  ties up
low=open         .                                no engine braking  .
direct=stuck     fwd 1.00 D2                      ties up            .
direct=open      .                                .                  fwd 3.00 D1
roller=slips     no drive                         .                  can roll back
roller=seized    engine braking                   .                  ties up
roller=reversed  no drive, coasting turns engine  .                  ties up

. = as when healthy; fwd, rev = drives forward, backward at that ratio; a range behind it = the ratio of that range; lurches = pushes against the pawl; engine braking, no engine braking, can roll back, does not roll back = it pulls as when healthy but coasts so

Caution: The wheels can lock without warning: drive only on a dry, straight, clear road, slowly, with nobody behind, and stop at the first bind.`, WallChart{wall})
	everywhere(t, wall.Cautions, wall, WallChart{wall})
}

func TestStatesText(t *testing.T) {
	a := desk(t)
	states, err := a.States(t.Context(), analysis.StatesQuestion{})
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk: A set on the desk
2 elements can be applied or not, in 4 combinations; one-way clutches act in all of them

drive forward
 ratio  exact  coasting                            ranges  combinations
───────────────────────────────────────────────────────────────────────
3.0000      3  freewheels                          D1      nothing
3.0000      3  engine braking                      L1      low
1.0000      1  engine braking, does not roll back  D2      direct

do not drive
reads    count  combinations
──────────────────────────────────────────────
ties up      1  whatever contains low + direct

ratio = input speed / output speed; a minus sign: the output turns against the input
the ranges use every ratio that the train can give`, States{states})
}

func TestTurnedText(t *testing.T) {
	a := desk(t)
	sun, _ := a.Train.Member("set.sun")
	ring, _ := a.Train.Member("set.ring")
	given := []analysis.Given{{Member: sun, Speed: exact.Int(1)}, {Member: ring, Speed: exact.Int(0)}}
	turned, err := a.Turn(t.Context(), analysis.TurnQuestion{Given: given})
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk: A set on the desk

member         speed  exact  on its carrier  direction         note
─────────────────────────────────────────────────────────────────────
set.carrier  +0.3333    1/3                  clockwise
set.sun      +1.0000      1                  clockwise         turned
set.ring      0.0000      0                  at rest           held
set.pinion   -1.0000     -1  -1.3333 = -4/3  counterclockwise

directions seen from the input end: clockwise is +, the way the engine turns the input

Caution: Springs and servo covers are under load; no fingers between gears; a held member can jump.`, Turned{turned})
	everywhere(t, turned.Cautions, turned, Turned{turned})

	locked, err := a.Turn(t.Context(), analysis.TurnQuestion{Given: given, Apply: []int{1}})
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk: A set on the desk
applied: direct

locks: these cannot all be so at once
  set.sun turned at 1
  set.ring held
  direct holding (clutch, joins set.sun and set.carrier)
Let any one of these go, and the others no longer fight.

Caution: Springs and servo covers are under load; no fingers between gears; a held member can jump.`, Turned{locked})
}

func TestOverviewText(t *testing.T) {
	shown, err := desk(t).Show(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
desk: A set on the desk
input   set.sun, behind a torque converter
output  set.carrier
source  invented for demonstration

gearsets
gearset  kind    teeth
───────────────────────────────────────────
set      simple  sun 30, ring 60, pinion 15

elements
element  what it does
────────────────────────────────────────────────────────────────────────────────────
low      brake, holds set.ring
direct   clutch, joins set.sun and set.carrier
roller   one-way clutch: set.ring may turn forward, is held against turning backward

forward here means: as the input turns

applied in each range
range  low  direct  roller
───────────────────────────────
D1                  holding
L1     on           idle
D2          on      overrunning

ratios
range  reads                    ratio  exact  step to the next  coasting
──────────────────────────────────────────────────────────────────────────────────────────────────
D1     drives forward at 3.00  3.0000      3      3.0000 to D2  freewheels
L1     drives forward at 3.00  3.0000      3                    engine braking
D2     drives forward at 1.00  1.0000      1                    engine braking, does not roll back

spread of the forward ratios: 3
positions of the selector: D (D1, D2)`, Overview{shown})
}

func TestTrainsText(t *testing.T) {
	reads(t, `
train  gearsets  forward          reverse  what
───────────────────────────────────────────────────────────────────────
desk   1 simple  2: 3.00 to 1.00  none     A set on the desk (invented)

forward, reverse: how many ratios, input speed / output speed, from the largest to the smallest
the sources of a train: tieup show TRAIN`, Trains{analysis.Summarize([]*kinematics.Train{desk(t).Train})})
}

// The ratio of low is printed as 3.00, which agrees, that of direct as 1.01, which
// does not.
func TestCheckedText(t *testing.T) {
	train := *desk(t).Train
	train.Ranges = append([]kinematics.Range(nil), train.Ranges...)
	train.Ranges[1].Published = &kinematics.Published{Text: "3.00", Source: "made up"}
	train.Ranges[2].Published = &kinematics.Published{Text: "1.01", Source: "made up"}
	checked := analysis.Check([]*kinematics.Train{&train}, func(*kinematics.Train) []analysis.Finding {
		return []analysis.Finding{{Gearset: "set", Condition: "assembly", State: "warning", Text: "30 + 60 = 90", Hint: "count again", Fails: true}}
	})
	if !checked.Differs {
		t.Error("nothing differs")
	}
	reads(t, `
desk: A set on the desk

range  published  computed  exact  difference  allowed  result
─────────────────────────────────────────────────────────────────────
D1                  3.0000      3                       not published
L1     3.00         3.0000      3           0    0.005  agrees
D2     1.01         1.0000      1       -0.01    0.005  differs

ratios: 1 of 2 published differ
printed for L1, D2: made up

gearset  condition  result   in numbers
─────────────────────────────────────────
set      assembly   warning  30 + 60 = 90

teeth: 1 of 1 conditions fail
hint: set: count again`, Checked{checked})
}

func TestWorksheetText(t *testing.T) {
	sheet, err := desk(t).Worksheet(t.Context(), analysis.Under(), 1, 2)
	if err != nil {
		t.Fatal(err)
	}
	reads(t, `
Answer key 1: desk: A set on the desk

1. Fill in the chart of the healthy train: which way does it drive in each range, and at what ratio, or does it not drive?
range  applied  what it does
──────────────────────────────────────
D1     nothing  drives forward at 3.00
L1     low      drives forward at 3.00
D2     direct   drives forward at 1.00

2. What does each range do? What is wrong: direct is stuck on.
range  applied  what it does                    why
──────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────
D1     nothing  drives forward at 1.00 (as D2)  Nothing is held against the housing: the power goes straight through. Brought by the fault: direct (stuck on).
L1     low      ties up                         The input cannot turn forward: low (applied in L1) and direct (stuck on) contradict each other.
D2     direct   drives forward at 1.00          Nothing is held against the housing: the power goes straight through.

Caution: The vehicle can move when it should not, or the wrong way: wheels chocked, parking and service brake on, nobody in front or behind; treat every position as live.
Caution: The wheels can lock without warning: drive only on a dry, straight, clear road, slowly, with nobody behind, and stop at the first bind.
Caution: The vehicle can roll away: chock the wheels; neither the selector nor the pawl holds it.
Caution: Springs and servo covers are under load; no fingers between gears; a held member can jump.`, Worksheet{sheet, true})
	everywhere(t, sheet.Cautions, sheet, Worksheet{sheet, true})
}
