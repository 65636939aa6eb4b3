package table

import (
	"bytes"
	"os"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
)

// complaint is what the first test shows of a suspect that it does not of a healthy train.
func complaint(a *diagnosis.Answer, tests []diagnosis.Proposal, s *diagnosis.Suspect) []diagnosis.Observation {
	healthy := &diagnosis.Suspect{}
	for i := range tests {
		x := &tests[i].Test
		if r := a.Reply(x, s); r.Key != a.Reply(x, healthy).Key && len(r.Seen) > 0 {
			return r.Seen
		}
	}
	return nil
}

// The next test stands on the first screen, of 24 lines of 80 columns, with what it
// can show: for what every single fault of every train (of one in three unless
// TIEUP_EXHAUSTIVE is set) would first be complained of.
func TestNextTestOnTheFirstScreen(t *testing.T) {
	cases := 0
	for k, name := range gearsets.Names() {
		if k%3 != 0 && os.Getenv("TIEUP_EXHAUSTIVE") == "" {
			continue
		}
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := diagnosis.New(t.Context(), solve.Compile(train), diagnosis.Default())
		if err != nil {
			t.Fatal(err)
		}
		a := analysis.Open(train)
		c := &diagnosis.Case{Train: train, Assume: diagnosis.Default()}
		all, err := f.Diagnose(t.Context(), c, diagnosis.Options{Faults: 1})
		if err != nil {
			t.Fatal(err)
		}
		tests, err := all.Split(t.Context(), 1000, func(x *diagnosis.Test) bool {
			return x.Kind.OnTheRoad() && x.Kind != diagnosis.Shifting
		})
		if err != nil {
			t.Fatal(err)
		}
		slices.SortStableFunc(tests, func(p, q diagnosis.Proposal) int { return p.Range - q.Range })
		done := map[string]bool{}
		for _, s := range all.Groups[0].Suspects {
			seen := complaint(all, tests, s)
			if seen == nil || done[seen[0].Place(train)+seen[0].Value(train)] {
				continue
			}
			done[seen[0].Place(train)+seen[0].Value(train)] = true
			c := &diagnosis.Case{Train: train, Assume: diagnosis.Default(), Seen: seen}
			answer, err := a.Diagnose(t.Context(), analysis.DiagnoseQuestion{Case: c, Tests: 3, Brief: true})
			if err != nil {
				t.Fatal(err)
			}
			d := Diagnosed{Diagnosed: answer}
			if len(d.Next) == 0 {
				continue
			}
			cases++
			var b bytes.Buffer
			if err := Text(&b, 80, d); err != nil {
				t.Fatal(err)
			}
			lines := strings.Split(b.String(), "\n")
			at, next, end := 0, 0, 0
			for i, line := range lines {
				if strings.HasPrefix(line, "The next test") {
					next = i
				}
				if at > 0 && line == "" {
					end = i
					break
				}
				if next > 0 && at == 0 && strings.HasPrefix(line, "1. ") {
					at = i
				}
			}
			most := 24
			if train.Controls != nil {
				most = 25 // what controls can do has more names
			}
			if at == 0 || end > most {
				t.Errorf("%s, %s: the next test ends in line %d\n%s", name, seen[0].Place(train)+"="+seen[0].Value(train), end, strings.Join(lines[:end], "\n"))
			}
		}
	}
	if cases < 20 {
		t.Errorf("only %d cases", cases)
	}
}

// Reverse of the depot's three-speed binds: what is stuck on there, or in first its
// forward clutch, agrees; the first line of the matrix has the first suspect, and text
// and JSON say the same of all.
func TestDiagnosedMatrix(t *testing.T) {
	a := opened(t, "depot-shuttle-three-speed")
	c := &diagnosis.Case{Train: a.Train, Assume: diagnosis.Default()}
	seen, err := diagnosis.Parse(a.Train, "R", "bind")
	if err != nil {
		t.Fatal(err)
	}
	c.Seen = append(c.Seen, seen...)
	answer, err := a.Diagnose(t.Context(), analysis.DiagnoseQuestion{Case: c, Tests: 3})
	if err != nil {
		t.Fatal(err)
	}
	d := Diagnosed{Diagnosed: answer}
	row := d.Matrix().Rows[0]
	if want := []string{"1", "forward always fed", "-", "agrees", "-"}; !slices.Equal(row[:5], want) {
		t.Errorf("row %q, want it to begin %q", row, want)
	}
	text, document := written(t, answer, d)
	for _, line := range document["cautions"].([]any) {
		if !strings.Contains(text, line.(string)) {
			t.Errorf("the text does not say %q", line)
		}
	}
	groups := document["groups"].([]any)
	first := groups[0].(map[string]any)["suspects"].([]any)[0].(map[string]any)
	if len(groups) != len(answer.Groups) || first["kind"] != "faults" || first["fits"].([]any)[0] != "agrees" {
		t.Errorf("%d groups in JSON, %d found; first %v", len(groups), len(answer.Groups), first["kind"])
	}
}
