package diagnosis_test

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"tieup/kinematics/diagnosis"
)

// A roadCase is a case of testdata/published/road-cases.json put into the words
// of observations, on a train of the library of its arrangement.
type roadCase struct {
	id, train string
	seen      []string
	element   string   // the fault that the source names
	or        []string // other faults that would be as good a reading of the source
}

// The cases. "slips" stays slips: a weak element slips at full throttle, one that
// never holds at any. "holds" and "ok" are ok.
var roadCases = []roadCase{
	{id: "C01", train: "simpson-three-speed", seen: []string{"D1", "slips", "M1", "ok", "R", "ok"}, element: "low-roller=slips"},
	{id: "C02", train: "simpson-three-speed", seen: []string{"D1", "slips", "D2", "slips", "R", "ok"}, element: "forward=open", or: []string{"forward=weak 0.6"}},
	{id: "C02", train: "simpson-three-speed", seen: []string{"D2", "slips", "D3", "slips", "R", "ok"}, element: "forward=open"},
	{id: "C03a", train: "simpson-three-speed", seen: []string{"D3", "slips", "R", "slips", "D1", "ok", "D2", "ok"}, element: "direct=open"},
	{id: "C03b", train: "simpson-three-speed", seen: []string{"D3", "slips", "R", "ok"}, element: "forward=open"},
	{id: "C04a", train: "simpson-rear-overdrive-four-speed", seen: []string{"D4", "slips", "D3", "ok"}, element: "overdrive=open"},
	{id: "C07", train: "overdrive-simpson-four-speed", seen: []string{"M2", "no-engine-braking"}, element: "second-coast=open"},
	{id: "C07", train: "overdrive-simpson-four-speed", seen: []string{"M1", "no-engine-braking"}, element: "low-reverse=open"},
	{id: "C19", train: "depot-shuttle-three-speed", seen: []string{"R", "bind", "D1", "forward"}, element: "intermediate=stuck"},
	// "1 then 3, no 2" is second in the gear of first; "2 held stays in 1st and
	// freewheels" is the same without engine braking.
	{id: "C26", train: "simpson-rear-overdrive-four-speed",
		seen:    []string{"D2", "as D1, no-engine-braking", "M1", "ok, engine-braking", "D3", "ok", "D4", "ok"},
		element: "intermediate=open"},
}

// Every case ranks the element that its source names in the top group.
func TestRoadCases(t *testing.T) {
	var published []struct {
		ID, Element string
		Source      []string
	}
	src, err := os.ReadFile("../../testdata/published/road-cases.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(src, &published); err != nil {
		t.Fatal(err)
	}
	asked := map[string]bool{}
	for _, c := range roadCases {
		asked[c.id] = true
		t.Run(c.id+" "+c.element, func(t *testing.T) {
			train := library(t, c.train)
			b := newBench(train, diagnosis.Default())
			a := b.diagnose(see(t, train, c.seen...)...)
			top := a.Groups[0]
			if top.Halves() != 0 {
				t.Errorf("nothing agrees with everything")
			}
			for _, text := range append([]string{c.element}, c.or...) {
				h := suspect(fault(t, train, text)).Hypothesis
				if r := rank(a, &h); r != 1 {
					t.Errorf("%s: rank %d", text, r)
				}
			}
			var names []string
			for _, s := range top.Suspects {
				names = append(names, s.Short(train))
			}
			t.Logf("%d suspects in the top group: %s", len(names), strings.Join(names, "; "))
		})
	}
	for _, p := range published {
		if !asked[p.ID] {
			t.Errorf("road case %s (%s; %s) is not asked", p.ID, p.Element, strings.Join(p.Source, "; "))
		}
	}
}
