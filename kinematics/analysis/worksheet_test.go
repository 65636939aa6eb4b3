package analysis_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Of a range that can come to several things a worksheet asks what it does, with each as a right
// answer, and nothing else; a lesson takes each, too.
func TestOutcomesInWorksheets(t *testing.T) {
	charts, complaints := 0, 0
	for _, tt := range []struct{ name, fault string }{
		{"ravigneaux-four-speed", "S2=stuck-on"}, {"interlinked-six-speed", "direct-regulator=spring-broken"},
	} {
		train, err := gearsets.Library(tt.name)
		if err != nil {
			t.Fatal(err)
		}
		a, reader := analysis.Open(train), reading.NewReader(solve.Compile(train))
		var written analysis.WrittenFaults
		if err := written.Add(train, tt.fault); err != nil {
			t.Fatal(err)
		}
		brought := controls.Of(train).Bring(written.Above)
		wrong := analysis.InForce(train, &written)
		s, err := a.Worksheet(t.Context(), wrong, 1, 12)
		if err != nil {
			t.Fatal(err)
		}
		open := train.NamesOfRanges(brought.Open)
		if got := kinematics.Map(s.Outcomes, func(o analysis.RangeOutcomes) string { return o.Range }); !slices.Equal(got, open) {
			t.Errorf("%s: outcomes of %v, want %v", tt.name, got, open)
		}
		right, err := a.RightAnswers(wrong)
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Exercises {
			e := &s.Exercises[i]
			for _, rng := range open {
				if strings.Contains(e.Task, "in "+rng+":") {
					t.Errorf("%s, %d: one thing of several is told: %s", tt.name, i+1, e.Task)
				}
				if slices.ContainsFunc(e.Seen, func(x analysis.Sight) bool { return x.Range == rng }) {
					t.Errorf("%s, %d: %s was seen", tt.name, i+1, rng)
				}
				for _, x := range e.Tests {
					if at, _ := x.Get("range"); at == rng {
						t.Errorf("%s, %d: %s is a test", tt.name, i+1, rng)
					}
				}
			}
			if len(e.Rows) == 0 {
				complaints++
				continue
			}
			charts++
			own := e.Faults[len(wrong.Faults):] // of the exercise
			for rng := range train.Ranges {
				r := &train.Ranges[rng]
				var want []string
				for _, way := range brought.Ways() {
					all := controls.Merge(kinematics.Map(own, func(f analysis.Fault) kinematics.Fault { return f.Fault }), way)
					cell := reader.Read(r, all...)
					want = kinematics.Union(want, cell.Text())
					if len(own) == 0 && !slices.Contains(right[rng], analysis.LessonAnswer(cell.Outcome.Verdict.String())) && cell.Lurch == "" {
						t.Errorf("%s: in %s %v are right, and not %s", tt.name, r.Name, right[rng], cell.Text())
					}
				}
				var got []string
				for _, row := range e.Rows {
					if row.Range == r.Name {
						got = append(got, row.Reads)
					}
				}
				slices.Sort(got)
				if slices.Sort(want); !slices.Equal(got, want) {
					t.Errorf("%s, %d: right of %s are %q, want %q", tt.name, i+1, r.Name, got, want)
				}
			}
		}
	}
	if charts < 6 || complaints < 6 {
		t.Errorf("only %d charts and %d complaints", charts, complaints)
	}
}
