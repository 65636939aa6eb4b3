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
	"strings"
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

// is says whether an amount has the bounds of an interval times a factor above 0, up to
// the rounding of JSON.
func (a amount) is(i exact.Interval, per float64) bool {
	return !i.Empty && alike(a.Min, floatOf(i.Min)*per) && alike(a.Max, floatOf(i.Max)*per)
}

func alike(x, y float64) bool { return x == y || math.Abs(x-y) <= 1e-12*math.Max(math.Abs(x), 1) }

// A roll is a way to coast in JSON.
type roll struct {
	Rolls bool
	Min   *exact.Bound `json:"input_min"`
	Max   *exact.Bound `json:"input_max"`
}

// is says whether it rolls as an interval has it.
func (r roll) is(i exact.Interval) bool {
	if i.Empty {
		return !r.Rolls && r.Min == nil && r.Max == nil
	}
	return r.Rolls && alike(floatOf(*r.Min), floatOf(i.Min)) && alike(floatOf(*r.Max), floatOf(i.Max))
}

// A solvedState is a state in the JSON of solve.
type solvedState struct {
	Train   string
	Range   string
	Apply   []string
	Faults  []string
	Verdict string
	Ratio   *float64
	Exact   *string `json:"ratio_exact"`
	At      struct {
		Input  float64
		Output any
	}
	Pull               struct{ Min, Max *exact.Bound }
	Coast              struct{ Forward, Backward roll }
	EngineBraking      *bool `json:"engine_braking"`
	EngineBrakingRatio struct {
		Ratio *float64
		Exact *string `json:"ratio_exact"`
	} `json:"engine_braking_ratio"`
	InputBackward bool `json:"input_backward"`
	Members       map[string]amount
	MembersExact  map[string]any `json:"members_exact"`
	PinionSpin    map[string]any `json:"pinion_spin"`
	Couplings     map[string]struct {
		Slip   amount
		Torque *amount
	}
	Reads, Coasting string
}

// One answer in every form: what solve says in JSON and in CSV is what the engine
// says, with the torques between the extremes of all ways to share the load; speeds in
// JSON are per turn of the input, or at the speed of the input that is asked for.
func TestSolveInEveryForm(t *testing.T) {
	eachState(t, func(t *testing.T, a *analysis.Analysis, r *kinematics.Range, faults []kinematics.Fault) {
		m := engineMotion(a.Train, r, faults)
		torques := extremes(t, a.Train, m)
		for _, rpm := range []float64{0, 750} {
			where := fmt.Sprintf("%s %v at %v rpm", r.Name, faults, rpm)
			answer, err := a.Solve(t.Context(), analysis.SolveQuestion{
				Question: analysis.Question{Ranges: []kinematics.Range{*r}, Condition: analysis.Under(faults...)}, InputRPM: rpm,
			})
			if err != nil {
				t.Fatal(where, err)
			}
			var d struct {
				InputRPM *float64 `json:"input_rpm"`
				States   []solvedState
			}
			document(t, answer, &d)
			st, per := d.States[0], 1.0
			if rpm != 0 {
				per = rpm
			}
			if (d.InputRPM != nil) != (rpm != 0) || rpm != 0 && *d.InputRPM != rpm {
				t.Errorf("%s: JSON gives the speed %v of the input", where, d.InputRPM)
			}
			st.does(t, where, m)
			st.speeds(t, where, a.Train, m, per)
			for i := range a.Train.ElementCount {
				name := a.Train.Couplings[i].Name
				got := st.Couplings[name]
				if !got.Slip.is(m.Slips[i].Interval, per) {
					t.Errorf("%s: JSON gives %s the slip %v, the engine %s", where, name, got.Slip, m.Slips[i].Interval)
				}
				if (got.Torque != nil) != (torques != nil) || torques != nil && !got.Torque.is(torques[i], 1) {
					t.Errorf("%s: JSON gives %s the torque %v, all ways %v", where, name, got.Torque, torques)
				}
			}
			inRows(t, where, answer, st, a.Train, m)
		}
	})
}

// does holds what a state does against the engine.
func (st *solvedState) does(t *testing.T, where string, m *solve.Motion) {
	t.Helper()
	differs := func(what string, got, want any) {
		t.Helper()
		t.Errorf("%s: JSON gives %s as %v, the engine %v", where, what, got, want)
	}
	ratioIs := func(got *float64, text *string, want exact.Frac, applies bool) bool {
		if !applies {
			return got == nil && text == nil
		}
		return got != nil && text != nil && alike(*got, want.Float()) && *text == want.String()
	}
	if st.Verdict != m.Verdict.String() {
		differs("the verdict", st.Verdict, m.Verdict)
	}
	if ratio, drives := m.Ratio(); !ratioIs(st.Ratio, st.Exact, ratio, drives) {
		differs("the ratio", st.Exact, ratio)
	}
	pull := amount{math.NaN(), math.NaN()}
	if st.Pull.Min != nil && st.Pull.Max != nil {
		pull = amount{floatOf(*st.Pull.Min), floatOf(*st.Pull.Max)}
	}
	if (st.Pull.Min == nil && st.Pull.Max == nil) != m.Pull.Empty || !m.Pull.Empty && !pull.is(m.Pull, 1) {
		differs("the pull", st.Pull, m.Pull)
	}
	if !st.Coast.Forward.is(m.CoastForward) {
		differs("rolling forward", st.Coast.Forward, m.CoastForward)
	}
	if !st.Coast.Backward.is(m.CoastBackward) {
		differs("rolling backward", st.Coast.Backward, m.CoastBackward)
	}
	ratio, brakes, rolls := m.EngineBraking()
	if (st.EngineBraking != nil) != rolls || rolls && *st.EngineBraking != brakes {
		differs("engine braking", st.EngineBraking, brakes)
	}
	if !ratioIs(st.EngineBrakingRatio.Ratio, st.EngineBrakingRatio.Exact, ratio, brakes) {
		differs("the ratio of engine braking", st.EngineBrakingRatio, ratio)
	}
	if st.InputBackward != m.InputBackward {
		differs("turning the input backward", st.InputBackward, m.InputBackward)
	}
}

// speeds holds the speeds of a state against the engine, so many for a turn of the input.
func (st *solvedState) speeds(t *testing.T, where string, train *kinematics.Train, m *solve.Motion, per float64) {
	t.Helper()
	if st.At.Input != float64(m.At.Input)*per {
		t.Errorf("%s: JSON has the input at %v", where, st.At.Input)
	}
	if out, settled := st.At.Output.(float64); settled == m.At.OutputFree || settled && !alike(out, m.At.Output.Float()*per) {
		t.Errorf("%s: JSON has the output at %v, the engine at %s", where, st.At.Output, m.At.Output)
	}
	for i, member := range train.Members {
		if member.Kind == kinematics.JointHub {
			continue
		}
		got, there := st.Members[member.Name]
		if there == m.Members[i].Empty || there && !got.is(m.Members[i].Interval, per) {
			t.Errorf("%s: JSON gives %s %v, the engine %s", where, member.Name, got, m.Members[i].Interval)
		}
		if one, fixed := m.Members[i].Point(); fixed && st.MembersExact[member.Name] != one.String() {
			t.Errorf("%s: JSON gives %s exactly %v, the engine %s", where, member.Name, st.MembersExact[member.Name], one)
		}
	}
	for _, g := range train.Gearsets {
		for _, p := range g.Pinions {
			name := train.Members[p.Member].Name
			got, known := st.PinionSpin[name]
			seen, teeth := p.Member, 1.0
			if g.Across() {
				if seen = g.Gears[0].Member; g.Gears[0].PinionTeeth > 0 {
					teeth = float64(g.Gears[0].Teeth) / float64(g.Gears[0].PinionTeeth)
				}
			}
			a, fixedA := m.Members[seen].Point()
			c, fixedC := m.Members[g.Carrier].Point()
			if !known || !fixedA || !fixedC {
				continue
			}
			want := (a.Float() - c.Float()) * teeth * per
			if g.Across() {
				want = math.Abs(want)
			}
			if got, ok := got.(float64); !ok || math.Abs(got-want) > 1e-9*per {
				t.Errorf("%s: JSON has %s spin at %v, its members at %v", where, name, st.PinionSpin[name], want)
			}
		}
	}
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

// inRows checks every column of the one row of an answer in CSV.
func inRows(
	t *testing.T, where string, answer *analysis.Solved, st solvedState, train *kinematics.Train, m *solve.Motion,
) {
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
	want := map[string]string{
		"train": train.Name, "range": st.Range, "apply": strings.Join(st.Apply, " "), "faults": strings.Join(st.Faults, " "),
		"verdict": m.Verdict.String(), "ratio": "", "ratio_exact": "", "pull_min": "", "pull_max": "",
		"rolls_forward": fmt.Sprint(!m.CoastForward.Empty), "rolls_backward": fmt.Sprint(!m.CoastBackward.Empty),
		"engine_braking": "", "engine_braking_ratio_exact": "", "input_backward": fmt.Sprint(m.InputBackward),
		"free": "", "reads": st.Reads, "coasting": st.Coasting, "control_faults": "", "or": "false",
	}
	if ratio, drives := m.Ratio(); drives {
		want["ratio"], want["ratio_exact"] = strconv.FormatFloat(ratio.Float(), 'g', -1, 64), ratio.String()
	}
	if !m.Pull.Empty {
		want["pull_min"], want["pull_max"] = m.Pull.Min.String(), m.Pull.Max.String()
	}
	if ratio, brakes, rolls := m.EngineBraking(); rolls {
		want["engine_braking"] = fmt.Sprint(brakes)
		if brakes {
			want["engine_braking_ratio_exact"] = ratio.String()
		}
	}
	// Free are the first of those that turn as one with no bound either way, pinions apart.
	var free []string
	grouped := map[int]bool{}
	for i, w := range m.Members {
		if train.Members[i].Kind == kinematics.PinionMember || grouped[m.Groups[i]] || m.Groups[i] < 0 {
			grouped[m.Groups[i]] = true
			continue
		}
		grouped[m.Groups[i]] = true
		if _, fixed := w.Point(); !w.Empty && !fixed {
			free = append(free, train.Members[i].Name)
		}
	}
	want["free"] = strings.Join(free, " ")
	if len(rows[0]) != len(want) {
		t.Errorf("%s: %d columns, want %d", where, len(rows[0]), len(want))
	}
	for i, head := range rows[0] {
		if w, known := want[head]; !known || rows[1][i] != w {
			t.Errorf("%s: CSV has %s %q, want %q", where, head, rows[1][i], w)
		}
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
