package verify_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A document is an answer that carries certificates.
type document struct {
	train *kinematics.Train
	name  string
	data  []byte
}

// answers returns what solve, why, load and breakaway say of a train under faults, range
// by range.
func answers(t testing.TB, a *analysis.Analysis, faults []kinematics.Fault) (list []document) {
	t.Helper()
	ctx := context.Background()
	add := func(name string, doc any, err error) {
		if err != nil {
			return // a question that has no answer: a rating that is not known, nothing that drives
		}
		data, err := json.Marshal(doc)
		if err != nil {
			t.Fatalf("%s %s: %v", a.Train.Name, name, err)
		}
		list = append(list, document{a.Train, name, data})
	}
	q := analysis.Question{Ranges: a.Train.Ranges, Condition: analysis.Under(faults...)}
	solved, err := a.Solve(ctx, analysis.SolveQuestion{Question: q})
	add("solve", solved, err)
	loaded, err := a.Load(ctx, analysis.LoadQuestion{Question: q})
	add("load", loaded, err)
	scale := analysis.ScaleOf(a.Train)
	for i := range a.Train.Ranges {
		r := &a.Train.Ranges[i]
		why, err := a.Why(ctx, r, analysis.Under(faults...))
		add("why "+r.Name, why, err)
		broken, err := a.Breakaway(ctx, analysis.BreakawayQuestion{Range: r, Condition: analysis.Under(faults...), Torques: analysis.Torques{
			Scale: scale, Reserve: solve.DefaultReserve(), Available: scale.Rated, Resistance: exact.NewFrac(1, 3),
		}})
		add("breakaway "+r.Name, broken, err)
	}
	return list
}

// each calls f with the answers to every train of the library, healthy and under
// single faults, one of every so many, and where that is all under pairs, too.
func each(t *testing.T, every int, f func(document)) {
	t.Helper()
	n := 0
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		a := analysis.Open(train)
		for _, x := range answers(t, a, nil) {
			f(x)
		}
		single := train.SingleFaults()
		for i, x := range single {
			if n++; n%every == 0 {
				for _, y := range answers(t, a, []kinematics.Fault{x}) {
					f(y)
				}
			}
			if every > 1 {
				continue
			}
			for j := range i {
				if single[j].Coupling != x.Coupling {
					for _, y := range answers(t, a, []kinematics.Fault{single[j], x}) {
						f(y)
					}
				}
			}
		}
		if every == 1 {
			t.Logf("%s: %d single faults, and their pairs", name, len(single))
		}
	}
}

// sample is made by the first test that needs it: the answers under one single fault of
// 90, of 24 with TIEUP_EXHAUSTIVE.
var sample struct {
	once sync.Once
	list []document
}

func sampled(t *testing.T) []document {
	t.Helper()
	every := 90
	if os.Getenv("TIEUP_EXHAUSTIVE") != "" {
		every = 24
	}
	sample.once.Do(func() { each(t, every, func(a document) { sample.list = append(sample.list, a) }) })
	return sample.list
}

// Every answer of the library is proved, and the checker knows nothing of how.
func TestAnswers(t *testing.T) {
	n := 0
	check := func(a document) {
		checked, err := verify.Answer(a.train, a.data)
		if err != nil {
			t.Errorf("%s: %s: %v", a.train.Name, a.name, err)
		}
		n += checked
	}
	for _, a := range sampled(t) {
		check(a)
	}
	if os.Getenv("TIEUP_EXHAUSTIVE") == "1" {
		each(t, 1, check)
	}
	if n < 80 {
		t.Errorf("only %d certificates", n)
	}
}

// leaf is a value in a document.
type leaf struct {
	path string
	set  func(any)
	is   any
}

// leaves lists the values of a document.
func leaves(v any, path string, set func(any), list *[]leaf) {
	switch x := v.(type) {
	case map[string]any:
		for k, y := range x {
			leaves(y, path+"."+k, func(z any) { x[k] = z }, list)
		}
	case []any:
		for i, y := range x {
			leaves(y, path+".#", func(z any) { x[i] = z }, list)
		}
	default:
		*list = append(*list, leaf{path, set, v})
	}
}

// covered says whether a certificate proves the value at a path.
func covered(path string) bool {
	for _, part := range []string{
		".states.#.verdict", ".states.#.ratio", ".states.#.pull.", ".states.#.coast.", ".states.#.input_backward",
		".states.#.members.", ".states.#.members_exact.",
		".verdict", ".ratio", ".conflicts.#.motive", ".conflicts.#.elements.", ".conflicts.#.torques.",
		".loads.#.ways.#.output_torque", ".loads.#.ways.#.couplings.",
		".loads.#.ways_with_losses.#.output_torque", ".loads.#.ways_with_losses.#.couplings.",
		".stretches.#.resistance_", ".stretches.#.at_from.", ".stretches.#.torque_per_resistance", ".rolling.#.torque", ".rolling.#.end",
		".losses.external", ".losses.internal", ".losses.chain",
		".resistance.torque_exact", ".elements.#.holds",
		".standing.torque", ".standing.end", ".certificate.",
	} {
		if strings.HasPrefix(path, part) || part == ".certificate." && strings.Contains(path, part) {
			return !strings.HasSuffix(path, ".housing") && !strings.HasSuffix(path, ".group")
		}
	}
	return false
}

// uncovered says whether the document says of a field that it is not proved.
func uncovered(a document, path string) bool {
	_, name, _ := strings.Cut(strings.Replace(path, ".members_exact.", ".members.", 1), ".members.")
	id, ok := a.train.Member(name)
	return ok && a.train.Members[id].Unknown ||
		strings.HasPrefix(path, ".losses.") && bytes.Contains(a.data, []byte(`"loads":[]`)) ||
		strings.Contains(path, ".ways_with_losses.") && !bytes.Contains(a.data, []byte(`"ways.determinate","ways_with_losses"]`))
}

// other returns another value of the same kind.
func other(r *rand.Rand, x any) any {
	switch x := x.(type) {
	case json.Number:
		if x == "0" {
			return json.Number("1")
		}
		if strings.Trim(string(x), "-0123456789") == "" {
			return json.Number(x + "1")
		}
		if b := []byte(x); b[0] == '-' {
			return json.Number(b[1:])
		}
		return json.Number("-" + x)
	case bool:
		return !x
	case string:
		if strings.Trim(x, "-/0123456789") == "" {
			f, err := exact.Parse(x)
			if err != nil {
				return "1/7"
			}
			return f.Add(exact.NewFrac(1+r.Int64N(3), 1+r.Int64N(5))).String()
		}
		return x + "x"
	}
	return json.Number("0.5")
}

// A certificate or an answer in which anything is changed that is proved is refused.
// What is accepted changes a certificate alone, into another that is right.
func TestMutations(t *testing.T) {
	pool := sampled(t)
	r := rand.New(rand.NewPCG(1, 13))
	refused, accepted := 0, 0
	many := 1000
	if os.Getenv("TIEUP_EXHAUSTIVE") == "" {
		many = 300
	}
	for n := range many {
		a := pool[r.IntN(len(pool))]
		d := json.NewDecoder(bytes.NewReader(a.data))
		d.UseNumber()
		var doc any
		if err := d.Decode(&doc); err != nil {
			t.Fatal(err)
		}
		var list []leaf
		leaves(doc, "", nil, &list)
		kept := list[:0]
		for _, l := range list {
			if covered(l.path) && l.is != nil && !uncovered(a, l.path) {
				kept = append(kept, l)
			}
		}
		if len(kept) == 0 {
			continue
		}
		l := kept[r.IntN(len(kept))]
		if n%2 == 0 { // in the answer itself as often as in its certificate
			for range 50 {
				if l = kept[r.IntN(len(kept))]; !strings.Contains(l.path, ".certificate.") {
					break
				}
			}
		}
		l.set(other(r, l.is))
		data, err := json.Marshal(doc)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := verify.Answer(a.train, data); err != nil {
			refused++
			continue
		}
		if accepted++; !strings.Contains(l.path, ".certificate.") {
			t.Errorf("%s: %s: %s was %v and is accepted as %v", a.train.Name, a.name, l.path, l.is, other(r, l.is))
		}
	}
	if t.Logf("%d refused, %d accepted", refused, accepted); refused < many*9/10 {
		t.Errorf("only %d refused, %d accepted", refused, accepted)
	}
}

// The resistance that an answer states is that of its proof where the input jams, too.
func TestResistanceOfAJam(t *testing.T) {
	jams := 0
	for _, a := range sampled(t) {
		old := []byte(`"torque_exact":"1/3"`)
		var says struct{ Standing struct{ End string } }
		if err := json.Unmarshal(a.data, &says); err != nil || says.Standing.End != "jams" || jams == 5 {
			continue
		}
		jams++
		if _, err := verify.Answer(a.train, a.data); err != nil {
			t.Errorf("%s: %s: %v", a.train.Name, a.name, err)
		}
		if _, err := verify.Answer(a.train, bytes.Replace(a.data, old, []byte(`"torque_exact":"2/3"`), 1)); err == nil {
			t.Errorf("%s: %s: another resistance is accepted", a.train.Name, a.name)
		}
	}
	if jams == 0 {
		t.Error("nothing jams")
	}
}

// No document makes the checker panic, and none that it accepts has another verdict.
func FuzzVerify(f *testing.F) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		f.Fatal(err)
	}
	for _, a := range answers(f, analysis.Open(train), nil) {
		f.Add(a.data)
	}
	f.Add([]byte(`{"schema":"tieup.solve/1","states":[{"range":"R","certificate":{"slices":[{"field":"pull","min":{}}]}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		_, _ = verify.Answer(train, data)
	})
}
