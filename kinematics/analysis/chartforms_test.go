package analysis_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
	"tieup/plots/table"
)

// rowsOf reads an answer in CSV: a row for each line, by the heads of the columns.
func rowsOf(t *testing.T, answer interface{ CSV(io.Writer) error }) []map[string]string {
	t.Helper()
	var b bytes.Buffer
	if err := answer.CSV(&b); err != nil {
		t.Fatal(err)
	}
	reader := csv.NewReader(&b)
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, head := range lines[0] {
			row[head] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// sayRatio is a ratio in CSV, "" for what does not drive.
func sayRatio(ratio *float64) string {
	if ratio == nil {
		return ""
	}
	return strconv.FormatFloat(*ratio, 'g', -1, 64)
}

// cell is what a range does, in JSON.
type cell struct {
	Verdict string
	Ratio   *float64
	Reads   string
}

// is says whether a cell is an outcome of the engine.
func (c *cell) is(o solve.Outcome) bool {
	ratio, drives := o.Ratio()
	return c != nil && c.Verdict == o.Verdict.String() && (c.Ratio != nil) == drives && (!drives || *c.Ratio == ratio.Float())
}

// One answer in every form: what a chart says in JSON and in CSV of every range, healthy
// and under every single fault, is what the engine says, and it warns in both.
func TestChartInEveryForm(t *testing.T) {
	for _, name := range fewTrains {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		a, kernel := analysis.Open(train), solve.Compile(train).Kernel()
		for _, f := range train.SingleFaults() {
			faults := []kinematics.Fault{f}
			answer, err := a.Chart(t.Context(), analysis.Question{Ranges: train.Ranges, Condition: analysis.Under(faults...)})
			if err != nil {
				t.Fatal(err)
			}
			var d struct {
				States []struct {
					Range           string
					Healthy, Faulty *cell
					Changes         []string
				}
				Cautions []string
			}
			document(t, answer, &d)
			rows := rowsOf(t, table.Chart{Chart: answer})
			if len(d.States) != len(train.Ranges) || len(rows) != len(train.Ranges) {
				t.Fatalf("%s: %d ranges in JSON, %d in CSV", train.FaultText(f), len(d.States), len(rows))
			}
			for i := range train.Ranges {
				r, st, row := &train.Ranges[i], &d.States[i], rows[i]
				where := fmt.Sprintf("%s %s, %s", name, r.Name, train.FaultText(f))
				if st.Range != r.Name || !st.Healthy.is(kernel.Outcome(train.In(r))) || !st.Faulty.is(kernel.Outcome(train.In(r, f))) {
					t.Errorf("%s: JSON says %+v", where, *st)
				}
				want := []string{r.Name, st.Healthy.Reads, sayRatio(st.Healthy.Ratio), st.Faulty.Reads, sayRatio(st.Faulty.Ratio), strings.Join(st.Changes, ", ")}
				got := []string{row["range"], row["healthy"], row["healthy_ratio"], row["reads"], row["ratio"], row["changes"]}
				if !slices.Equal(got, want) {
					t.Errorf("%s: CSV says %q, JSON %q", where, got, want)
				}
			}
		}
	}
}

// One answer in every form: every combination of the elements stands once in JSON and
// once in CSV, under the verdict and the ratio that the engine gives it.
func TestStatesInEveryForm(t *testing.T) {
	for _, name := range fewTrains[:2] {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		kernel := solve.Compile(train).Kernel()
		answer, err := analysis.Open(train).States(t.Context(), analysis.StatesQuestion{})
		if err != nil {
			t.Fatal(err)
		}
		var d struct {
			Combinations int
			Groups       []struct {
				cell
				Count int
				Ways  []struct{ Combinations [][]string }
			}
		}
		document(t, answer, &d)
		said := map[string]string{} // of each combination
		for _, g := range d.Groups {
			count := 0
			for _, w := range g.Ways {
				for _, names := range w.Combinations {
					count++
					r := &kinematics.Range{Input: train.Input, Output: train.Output}
					for _, n := range names {
						e, _ := train.Coupling(n)
						r.Apply = append(r.Apply, e)
					}
					if !g.is(kernel.Outcome(train.In(r))) {
						t.Errorf("%s %v: JSON says %s at %s", name, names, g.Verdict, sayRatio(g.Ratio))
					}
					said[strings.Join(names, " ")] = g.Verdict + sayRatio(g.Ratio)
				}
			}
			if count != g.Count {
				t.Errorf("%s: a group of %d lists %d", name, g.Count, count)
			}
		}
		rows := rowsOf(t, table.States{States: answer})
		if len(said) != d.Combinations || len(rows) != d.Combinations || d.Combinations != 1<<len(answer.Elements) {
			t.Errorf("%s: %d combinations, %d in JSON, %d in CSV", name, d.Combinations, len(said), len(rows))
		}
		for _, row := range rows {
			if got := row["verdict"] + row["ratio"]; said[row["apply"]] != got {
				t.Errorf("%s %s: CSV says %s, JSON %s", name, row["apply"], got, said[row["apply"]])
			}
		}
	}
}

// One answer in every form: a train that is turned by hand can turn as the range does whose
// elements are applied, with the same speeds in JSON and in CSV; and it locks where the
// range lets the input not turn.
func TestTurnInEveryForm(t *testing.T) {
	eachState(t, func(t *testing.T, a *analysis.Analysis, r *kinematics.Range, faults []kinematics.Fault) {
		if r.Input != a.Train.Input || len(faults) > 0 && len(faults[0].Ranges) > 0 {
			return
		}
		where := fmt.Sprintf("%s %v", r.Name, faults)
		answer, err := a.Turn(t.Context(), analysis.TurnQuestion{
			Given: []analysis.Given{{Member: r.Input, Speed: exact.Int(1)}}, Apply: r.Apply, Faults: faults,
		})
		if err != nil {
			t.Fatal(where, err)
		}
		var d struct {
			Locks   bool
			Members map[string]amount
		}
		document(t, answer, &d)
		m := engineMotion(a.Train, r, faults)
		if d.Locks != m.Pull.Empty {
			t.Errorf("%s: turned by hand it locks: %v, the range is a %s", where, d.Locks, m.Verdict)
		}
		if d.Locks {
			return
		}
		rows := map[string]map[string]string{}
		for _, row := range rowsOf(t, table.Turned{Turned: answer}) {
			rows[row["member"]] = row
		}
		for i, member := range a.Train.Members {
			got, there := d.Members[member.Name]
			if !there {
				continue
			}
			in := m.Members[i].Interval // of all that the train can do so, what it does when it is loaded
			if m.Drives() && (floatOf(in.Min) < got.Min-1e-12 || floatOf(in.Max) > got.Max+1e-12) {
				t.Errorf("%s: turned by hand %s runs at %v, in the range at %s", where, member.Name, got, in)
			}
			row := rows[member.Name]
			if lo, hi := parseBound(t, row["min"]), parseBound(t, row["max"]); !got.is(exact.Interval{Min: lo, Max: hi}, 1) {
				t.Errorf("%s: CSV gives %s %s to %s, JSON %v", where, member.Name, row["min"], row["max"], got)
			}
			if one := got.Min == got.Max; one != (row["speed"] != "") || one && row["speed"] != strconv.FormatFloat(got.Min, 'g', -1, 64) {
				t.Errorf("%s: CSV gives %s the speed %q, JSON %v", where, member.Name, row["speed"], got)
			}
		}
	})
}

// parseBound reads a bound in CSV: a fraction, inf or -inf.
func parseBound(t *testing.T, text string) exact.Bound {
	t.Helper()
	switch text {
	case "inf":
		return exact.Infinite(1)
	case "-inf":
		return exact.Infinite(-1)
	}
	var n, d int64 = 0, 1
	if _, err := fmt.Sscanf(text, "%d/%d", &n, &d); err != nil {
		if n, err = strconv.ParseInt(text, 10, 64); err != nil {
			t.Fatalf("%q is no bound", text)
		}
		d = 1
	}
	return exact.Finite(exact.NewFrac(n, d))
}
