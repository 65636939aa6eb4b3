package table

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// opened opens a train of the library.
func opened(t *testing.T, name string) *analysis.Analysis {
	t.Helper()
	f, err := gearsets.Open(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	return analysis.Open(f.Train)
}

// stuck is the fault of an element that is stuck on.
func stuck(t *testing.T, train *kinematics.Train, element string) []kinematics.Fault {
	t.Helper()
	i, ok := train.Element(element)
	if !ok {
		t.Fatalf("no element %s", element)
	}
	return []kinematics.Fault{{Coupling: i, Kind: kinematics.Stuck}}
}

// played plays a shift in coarse steps.
func played(t *testing.T, name, from, to, element string) Played {
	t.Helper()
	a := opened(t, name)
	i, _ := a.Train.Range(from)
	j, _ := a.Train.Range(to)
	step := 0.001
	q := analysis.PlayQuestion{From: &a.Train.Ranges[i], To: &a.Train.Ranges[j], Step: &step}
	if element != "" {
		q.Faults = stuck(t, a.Train, element)
	}
	answer, err := a.Play(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return Played{answer}
}

// written returns an answer as its writer writes it, and as JSON.
func written(t *testing.T, answer any, writer Answer) (text string, document map[string]any) {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, 0, writer); err != nil {
		t.Fatal(err)
	}
	text = b.String()
	b.Reset()
	if err := WriteJSON(&b, answer); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b.Bytes(), &document); err != nil {
		t.Fatal(err)
	}
	return text, document
}

// A shift in time cautions in text and JSON alike.
func TestPlayedCautions(t *testing.T) {
	a := played(t, "simpson-three-speed", "N", "R", "forward")
	text, document := written(t, a.Played, a)
	list, _ := document["cautions"].([]any)
	if len(list) != 3 {
		t.Fatalf("cautions %q, want that it moves, that it locks, and the standing line", list)
	}
	for _, line := range list {
		if !strings.Contains(text, "\n"+line.(string)+"\n") {
			t.Errorf("the text does not say %q", line)
		}
	}
	a = played(t, "simpson-three-speed", "N", "R", "")
	text, document = written(t, a.Played, a)
	if list, _ := document["cautions"].([]any); len(list) > 0 || strings.Contains(text, "Caution") {
		t.Errorf("a healthy shift cautions: %q", list)
	}
}

// The table of elements has the numbers of the answer in their units.
func TestPlayedElements(t *testing.T) {
	a := played(t, "depot-shuttle-three-speed", "D2", "D3", "")
	e, ok := a.Elements.Get("direct")
	if !ok || e.Heat < 100 || e.HeatArea == nil || e.Before != 0 || math.IsInf(float64(e.After), 0) {
		t.Fatalf("direct takes no heat or hold: %+v", e)
	}
	want := []string{"direct", "takes hold", "0.3 to 0.7", fmt.Sprintf("%.0f", e.After), fmt.Sprintf("%.2f", e.SlipTime),
		fmt.Sprintf("%.0f", e.PeakSlip), fmt.Sprintf("%.0f to %.0f", e.Torque.Min, e.Torque.Max), fmt.Sprintf("%.2f", e.Heat/1000),
		fmt.Sprintf("%.2f", *e.HeatTimed/1000),
		fmt.Sprintf("%.2f", *e.HeatArea)}
	rows := a.elements().Rows
	if i := slices.IndexFunc(rows, func(row []string) bool { return row[0] == "direct" }); !slices.Equal(rows[i], want) {
		t.Errorf("row %q\nwant %q", rows[i], want)
	}
	g := a.CourseGrid()
	k := slices.IndexFunc(a.Course.Time, func(s float64) bool { return fmt.Sprintf("%.2f", s) == g.Rows[0][0] })
	if got := g.Rows[0][1]; got != fmt.Sprintf("%.0f", a.Course.Input[k]) {
		t.Errorf("at %s s the course has %s rpm, want %g", g.Rows[0][0], got, a.Course.Input[k])
	}
	if len(g.Rows) > 16 {
		t.Errorf("a course of %d lines", len(g.Rows))
	}
}

// A window of timing is as wide as from its one end to the other, in the answer
// and in the words.
func TestSweptWindow(t *testing.T) {
	a := opened(t, "depot-shuttle-three-speed")
	i, _ := a.Train.Range("D2")
	j, _ := a.Train.Range("D3")
	step, least := 0.001, 60.0
	answer, err := a.Sweep(t.Context(), analysis.SweepQuestion{
		PlayQuestion: analysis.PlayQuestion{From: &a.Train.Ranges[i], To: &a.Train.Ranges[j], Step: &step},
		Moves:        analysis.Releases, Limits: analysis.SweptLimits{Least: &least},
	})
	if err != nil {
		t.Fatal(err)
	}
	text, document := written(t, answer, Swept{answer})
	windows := document["windows"].([]any)
	if len(windows) != 1 {
		t.Fatalf("windows %v", windows)
	}
	w := windows[0].(map[string]any)
	from, to, width := w["from"].(float64), w["to"].(float64), w["width"].(float64)
	if math.Abs(to-from-width) > 1e-6 || width < 0.05 {
		t.Errorf("from %g to %g the window is %g wide", from, to, width)
	}
	if words := fmt.Sprintf("to %.3f s: a window of %.0f ms.\n", to, 1000*(to-from)); !strings.Contains(text, words) {
		t.Errorf("the text does not say %q:\n%s", words, text)
	}
}
