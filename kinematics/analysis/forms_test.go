package analysis_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
	"tieup/plots/table"
)

// fewTrains are swept over where not all are asked for.
var fewTrains = []string{"simpson-three-speed", "depot-shuttle-three-speed", "bevel-differential"}

// eachState calls check for the ranges of trains, healthy and with each single fault.
func eachState(t *testing.T, check func(t *testing.T, a *analysis.Analysis, r *kinematics.Range, faults []kinematics.Fault)) {
	names := fewTrains
	switch os.Getenv("TIEUP_EXHAUSTIVE") {
	case "":
	case "1":
		names = gearsets.Names()
	default: // one in three
		for i := 0; i < len(gearsets.Names()); i += 3 {
			names = append(names, gearsets.Names()[i])
		}
		slices.Sort(names)
		names = slices.Compact(names)
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			train, err := gearsets.Library(name)
			if err != nil {
				t.Fatal(err)
			}
			a := analysis.Open(train)
			for i := range train.Ranges {
				check(t, a, &train.Ranges[i], nil)
				for _, f := range train.SingleFaults() {
					check(t, a, &train.Ranges[i], []kinematics.Fault{f})
				}
			}
		})
	}
}

// document decodes the JSON of an answer.
func document(t *testing.T, answer any, into any) {
	t.Helper()
	b, err := json.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatal(err)
	}
}

// An amount is a number in JSON, or bounds.
type amount struct{ Min, Max float64 }

// UnmarshalJSON reads a number, or bounds that may be "inf" or "-inf".
func (a *amount) UnmarshalJSON(data []byte) error {
	var one float64
	if json.Unmarshal(data, &one) == nil {
		*a = amount{one, one}
		return nil
	}
	var bounds struct{ Min, Max exact.Bound }
	if err := json.Unmarshal(data, &bounds); err != nil {
		return err
	}
	*a = amount{floatOf(bounds.Min), floatOf(bounds.Max)}
	return nil
}

func floatOf(b exact.Bound) float64 {
	if b.Inf != 0 {
		return math.Inf(int(b.Inf))
	}
	return b.Float()
}

// is says whether an amount has the bounds of an interval, up to the rounding of JSON.
func (a amount) is(i exact.Interval) bool {
	near := func(x, y float64) bool { return x == y || math.Abs(x-y) <= 1e-12*math.Max(math.Abs(x), 1) }
	return !i.Empty && near(a.Min, floatOf(i.Min)) && near(a.Max, floatOf(i.Max))
}

// One answer in every form: what solve says in JSON and in CSV is what the engine
// says, with the torques between the extremes of all ways to share the load.
func TestSolveInEveryForm(t *testing.T) {
	eachState(t, func(t *testing.T, a *analysis.Analysis, r *kinematics.Range, faults []kinematics.Fault) {
		where := fmt.Sprintf("%s %v", r.Name, faults)
		answer, err := a.Solve(t.Context(), analysis.SolveQuestion{
			Question: analysis.Question{Ranges: []kinematics.Range{*r}, Condition: analysis.Under(faults...)},
		})
		if err != nil {
			t.Fatal(where, err)
		}
		var d struct {
			States []struct {
				Verdict   string
				Ratio     *float64
				Members   map[string]amount
				Couplings map[string]struct {
					Slip   amount
					Torque *amount
				}
				Reads string
			}
			Cautions []string
		}
		document(t, answer, &d)
		st, m := d.States[0], engineMotion(a.Train, r, faults)
		ratio, drives := m.Ratio()
		if st.Verdict != m.Verdict.String() || (st.Ratio != nil) != drives || drives && *st.Ratio != ratio.Float() {
			t.Errorf("%s: JSON says %s at %v, the engine %s at %s", where, st.Verdict, st.Ratio, m.Verdict, ratio)
		}
		for i, member := range a.Train.Members {
			if got, there := st.Members[member.Name]; there && !got.is(m.Members[i].Interval) {
				t.Errorf("%s: JSON gives %s %v, the engine %s", where, member.Name, got, m.Members[i].Interval)
			}
		}
		torques := extremes(t, a.Train, m)
		for i := range a.Train.ElementCount {
			got := st.Couplings[a.Train.Couplings[i].Name]
			if !got.Slip.is(m.Slips[i].Interval) {
				t.Errorf("%s: JSON gives %s the slip %v", where, a.Train.Couplings[i].Name, got.Slip)
			}
			if (got.Torque != nil) != (torques != nil) || torques != nil && !got.Torque.is(torques[i]) {
				t.Errorf("%s: JSON gives %s the torque %v, all ways %v", where, a.Train.Couplings[i].Name, got.Torque, torques)
			}
		}
		inRows(t, where, answer, st.Reads, st.Ratio)
	})
}

// engineMotion asks the engine, apart from the analysis.
func engineMotion(t *kinematics.Train, r *kinematics.Range, faults []kinematics.Fault) *solve.Motion {
	return solve.Compile(t).Motion(t.In(r, faults...))
}

// extremes are the least and the most that each coupling carries in any way to share
// the load, nil if the state does not drive.
func extremes(t *testing.T, train *kinematics.Train, m *solve.Motion) []exact.Interval {
	if !m.Drives() {
		return nil
	}
	ways, all := solve.Compile(train).Carrying(t.Context(), m, solve.Limit{})
	if !all || len(ways) == 0 {
		t.Fatalf("%d ways, all %v", len(ways), all)
	}
	torques := make([]exact.Interval, len(train.Couplings))
	for i := range torques {
		torques[i] = exact.None
		for _, way := range ways {
			torques[i] = torques[i].Include(way.Torque[i])
		}
	}
	return torques
}

// inRows checks the one row of an answer in CSV.
func inRows(t *testing.T, where string, answer *analysis.Solved, reads string, ratio *float64) {
	t.Helper()
	var b bytes.Buffer
	if err := (table.Solved{Solved: answer}).CSV(&b); err != nil {
		t.Fatal(err)
	}
	reader := csv.NewReader(&b)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("%s: %d rows, %v", where, len(rows), err)
	}
	row := map[string]string{}
	for i, head := range rows[0] {
		row[head] = rows[1][i]
	}
	want := ""
	if ratio != nil {
		want = strconv.FormatFloat(*ratio, 'g', -1, 64)
	}
	if row["reads"] != reads || row["ratio"] != want {
		t.Errorf("%s: CSV reads %q at %q, JSON %q at %q", where, row["reads"], row["ratio"], reads, want)
	}
}

// What why says in JSON contradicts itself where it says so: the speeds that are asked
// of a witness have nothing in common, each torque has its sign, and every element
// that lets go is one of the conflict.
func TestWhyInJSON(t *testing.T) {
	eachState(t, func(t *testing.T, a *analysis.Analysis, r *kinematics.Range, faults []kinematics.Fault) {
		where := fmt.Sprintf("%s %v", r.Name, faults)
		answer, err := a.Why(t.Context(), r, analysis.Under(faults...))
		if err != nil {
			t.Fatal(where, err)
		}
		var d struct {
			Verdict   string
			Conflicts []struct {
				Elements []string
				Torques  map[string]float64
				Witness  *string
				Lettings []struct {
					Element string
					Asks    exact.Interval `json:"others_ask_witness"`
				}
			}
		}
		document(t, answer, &d)
		m := engineMotion(a.Train, r, faults)
		if d.Verdict != m.Verdict.String() {
			t.Errorf("%s: JSON says %s, the engine %s", where, d.Verdict, m.Verdict)
		}
		for k, c := range d.Conflicts {
			engine := answer.Why.Conflicts[k]
			for i, torque := range engine.Torque {
				if got := c.Torques[a.Train.Couplings[i].Name]; got != torque.Float() {
					t.Errorf("%s: JSON gives %s %v, the engine %s", where, a.Train.Couplings[i].Name, got, torque)
				}
			}
			if len(c.Lettings) != len(c.Elements) || (c.Witness == nil) != (engine.Witness < 0) {
				t.Errorf("%s: conflict %d has %d lettings for %d elements", where, k, len(c.Lettings), len(c.Elements))
			}
			if c.Witness == nil {
				continue
			}
			least, most := exact.Infinite(-1), exact.Infinite(1)
			for n, l := range c.Lettings {
				if l.Element != c.Elements[n] || l.Asks.Empty {
					t.Errorf("%s: letting %d is of %s and asks %s", where, n, l.Element, l.Asks)
				}
				if l.Asks.Min.Cmp(least) > 0 {
					least = l.Asks.Min
				}
				if l.Asks.Max.Cmp(most) < 0 {
					most = l.Asks.Max
				}
			}
			if least.Cmp(most) <= 0 {
				t.Errorf("%s: the lettings of conflict %d agree on %s to %s", where, k, least, most)
			}
		}
	})
}
