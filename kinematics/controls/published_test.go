package controls_test

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/solve"
)

// A published is a unit of testdata/published/controls.json; what was not read is null.
type published struct {
	ID        string
	Solenoids map[string]any `json:"solenoid_table"`
	Chart     any            `json:"application_chart"`
	Failures  []struct {
		Commanded, Results *string
		Range              string
	}
	Hydraulics any
}

// A claim is what a row of the failure table says, in the words of a train file.
type claim struct {
	printed string   // the result as printed, so that the claim is of that row
	faults  []string // set off by which
	at      []string // "lever/range" commanded
	gives   []string // parallel to at
	before  bool     // no fail-safe
}

// A unit is a published unit with the train file that models it.
type unit struct {
	id, train string
	ranges    map[string][]string // "lever/range" by the printed name
	rename    map[string]string   // solenoids and elements
	claims    map[int]claim
	reasons   map[string]string // cells that are not compared, and why
}

// toy is a train on which elements can be put together at will: each brakes the sun of a
// set of its own. It stands for units whose gear train was not read; only what is fed is
// compared there.
func toy(elements []string, ranges, positions, controls string) string {
	sets, rings, list := "", "", ""
	for i, e := range elements {
		sets += fmt.Sprintf("  g%d: {kind: simple, sun: 30, ring: 66}\n", i)
		rings += fmt.Sprintf(", g%d.ring", i)
		list += fmt.Sprintf("  %s: {brake: g%d.sun}\n", e, i)
	}
	return "tieup: 1\nname: toy\nsource: invented for this test\nshafts: [turbine, output-shaft]\ngearsets:\n" + sets +
		"joined:\n  in: [turbine" + rings + "]\n  out: [output-shaft, g0.carrier]\ninput: turbine\noutput: output-shaft\nelements:\n" + list +
		"ranges:\n" + ranges + "positions: " + positions + "\ncontrols:\n  source: testdata/published/controls.json\n" + controls
}

func units(t *testing.T) []unit {
	file := func(name string) string {
		src, err := os.ReadFile("../../testdata/controls/" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		return string(src)
	}
	d := func(ranges ...string) (list []string) {
		for _, r := range ranges {
			list = append(list, "D/"+r)
		}
		return list
	}
	return []unit{
		{
			id: "ravigneaux4-two-onoff", train: file("ravigneaux4-two-onoff"),
			ranges: map[string][]string{"P/N": {"P/P", "N/N"}, "R": {"R/R"}, "D1": {"D/D1"}, "D2": {"D/D2"}, "D4": {"D/D4"},
				"M1": {"1/M1"}, "D2/M2": {"D/D2"}, "D3/M3 lock-up": {"D/D3"}},
			claims: map[int]claim{
				0: {"only a 2-3 shift; no 1st, no 4th", []string{"S1=stuck-off"}, d("D1", "D2", "D3", "D4"), []string{"D2", "D2", "D3", "D3"}, true},
				1: {"only a 1-4 shift", []string{"S1=stuck-on"}, d("D1", "D2", "D3", "D4"), []string{"D1", "D1", "D4", "D4"}, true},
				2: {"only a 4-3 shift", []string{"S2=stuck-off"}, d("D1", "D2", "D3", "D4"), []string{"D4", "D3", "D3", "D4"}, true},
				7: {"1", []string{"C1=open"}, d("D3"), []string{"D1"}, true},
				8: {"2", []string{"C1=open"}, d("D4"), []string{"D2"}, true},
			},
			reasons: map[string]string{"chart D3/M3 lock-up": "printed with the converter clutch, which is no element of the train: compared without it"},
		},
		{
			id: "od-ahead-of-simpson4-two-onoff", train: string(gearsets.Source("overdrive-simpson-four-speed")),
			ranges: map[string][]string{"1": {"D/D1"}, "2": {"D/D2"}, "3": {"D/D3"}, "4": {"D/D4"}, "2 in range 2": {"2/M2"}, "L 1": {"L/M1"}},
			rename: map[string]string{"No1": "S1", "No2": "S2", "C0": "overdrive-direct", "C1": "forward", "C2": "direct", "B0": "overdrive-brake",
				"B1": "second-coast", "B2": "second", "B3": "low-reverse"},
			claims: map[int]claim{
				0:  {"4", []string{"supply"}, d("D1", "D2", "D3", "D4"), []string{"D4", "D4", "D4", "D4"}, true},
				1:  {"3", []string{"supply"}, []string{"2/D1", "2/M2"}, []string{"D3", "D3"}, true},
				2:  {"1", []string{"supply"}, []string{"L/M1"}, []string{"D1"}, true},
				4:  {"3", []string{"S1=no-current"}, d("D2"), []string{"D3"}, false},
				7:  {"1", []string{"S2=no-current"}, d("D1"), []string{"D1"}, false},
				8:  {"4", []string{"S2=no-current"}, d("D2"), []string{"D4"}, false},
				9:  {"4", []string{"S2=no-current"}, d("D3"), []string{"D4"}, false},
				10: {"4", []string{"S2=no-current"}, d("D4"), []string{"D4"}, false},
				11: {"3", []string{"S1=no-current"}, []string{"2/M2"}, []string{"D3"}, false},
				12: {"1", []string{"S2=no-current"}, []string{"2/D1"}, []string{"D1"}, false},
				13: {"3", []string{"S2=no-current"}, []string{"2/M2"}, []string{"D3"}, false},
				15: {"1", []string{"S1=no-current"}, []string{"L/M1"}, []string{"D1"}, false},
				16: {"1", []string{"S2=no-current"}, []string{"L/M1"}, []string{"D1"}, false},
				17: {"1", []string{"supply"}, []string{"L/M1"}, []string{"D1"}, false},
			},
			reasons: map[string]string{
				"failure 14": "third commanded with the lever in 2: the train offers first and second there",
				"failure 18": "second commanded in L when rolling too fast: the train offers first alone there",
				"failure 19": "second commanded in L when rolling too fast: the train offers first alone there",
			},
		},
		{
			id: "transaxle4-two-linear-one-onoff",
			train: toy([]string{"a", "b", "c", "e"}, "  D1: {apply: [a]}\n  D2: {apply: [b]}\n  D3: {apply: [c]}\n  D4: {apply: [e]}\n", "{D: [D1, D2, D3, D4]}",
				`  solenoids: {SL1: {}, SL2: {}, S4: {}}
  table:
    - {on: [SL1, SL2], gives: D1}
    - {on: [SL2], gives: D2}
    - {on: [], gives: D3}
    - {on: [S4], gives: D4}
    - {on: [SL2, S4], apply: [c]}
  command: {D3: []}
  fail-safe:
    SL1: {when: [no-current], D1: [SL2], D2: [SL2], D3: [SL2, S4], D4: [SL2, S4]}
    SL2: {when: [no-current], D1: [], D2: [], D3: [], D4: [S4]}
    S4:  {when: [no-current], D1: [SL1, SL2], D2: [SL2], D3: [], D4: []}
`),
			ranges: map[string][]string{"1": {"D/D1"}, "2": {"D/D2"}, "3": {"D/D3"}, "4": {"D/D4"}},
			claims: map[int]claim{
				0: {"2", []string{"SL1=no-current"}, d("D1"), []string{"D2"}, false}, 1: {"2", []string{"SL1=no-current"}, d("D2"), []string{"D2"}, false},
				2: {"3", []string{"SL1=no-current"}, d("D3"), []string{"D3"}, false}, 3: {"3", []string{"SL1=no-current"}, d("D4"), []string{"D3"}, false},
				4: {"3", []string{"SL2=no-current"}, d("D1"), []string{"D3"}, false}, 5: {"3", []string{"SL2=no-current"}, d("D2"), []string{"D3"}, false},
				6: {"3", []string{"SL2=no-current"}, d("D3"), []string{"D3"}, false}, 7: {"4", []string{"SL2=no-current"}, d("D4"), []string{"D4"}, false},
				8: {"1", []string{"S4=no-current"}, d("D1"), []string{"D1"}, false}, 9: {"2", []string{"S4=no-current"}, d("D2"), []string{"D2"}, false},
				10: {"3", []string{"S4=no-current"}, d("D3"), []string{"D3"}, false}, 11: {"3", []string{"S4=no-current"}, d("D4"), []string{"D3"}, false},
			},
		},
		{
			id: "lepelletier6-bands", train: file("lepelletier6-bands"),
			ranges: map[string][]string{"1": {"D/D1"}, "2": {"D/D2"}, "3": {"D/D3"}, "R": {"R/R"}, "all off": {"D/D4"}},
			claims: map[int]claim{
				0: {"4", []string{"supply"}, d("D1", "D2", "D3", "D4"), []string{"D4", "D4", "D4", "D4"}, true},
				1: {"R", []string{"supply"}, []string{"R/R"}, []string{"R"}, true},
			},
			reasons: map[string]string{"solenoid P/S1": "what is applied in park was not read", "solenoid P/S2": "what is applied in park was not read"},
		},
		{
			id: "transaxle6-four-linear-one-onoff",
			train: toy([]string{"forward", "intermediate", "direct", "overdrive", "low-reverse"},
				"  P: {}\n  R: {apply: [direct, low-reverse]}\n  N: {}\n  D1: {apply: [forward]}\n  D2: {apply: [forward, intermediate]}\n  D3: {apply: [forward, direct]}\n"+
					"  D4: {apply: [forward, overdrive]}\n  D5: {apply: [direct, overdrive]}\n  D6: {apply: [intermediate, overdrive]}\n",
				"{P: [P], R: [R], N: [N], D: [D1, D2, D3, D4, D5, D6], L: [D1]}",
				`  solenoids: {SSA: {}, SSB: {}, SSC: {}, SSD: {}, SSE: {}}
  circuits: {drive: lever(D L), c456: drive and regulator-D and not bypass, low: regulator-D and bypass}
  valves: {regulator-A: {up: SSA}, regulator-B: {up: not SSB}, regulator-C: {up: SSC}, regulator-D: {up: not SSD}, bypass: {up: SSE}}
  feeds:
    forward: drive and regulator-A
    intermediate: drive and regulator-C
    direct: {apply: regulator-B}
    overdrive: c456
    low-reverse: low
  command:
    P: {on: [SSB, SSE], apply: [low-reverse]}
    R: [SSE]
    N: [{on: [SSB, SSD, SSE]}, {on: [SSB]}, {on: [SSB, SSE], apply: [low-reverse]}]
    D1: [{on: [SSA, SSB, SSD]}, {on: [SSA, SSB, SSE], apply: [forward, low-reverse]}]
    D2: [SSA, SSB, SSC, SSD]
    D3: [SSA, SSD]
    D4: [SSA, SSB]
    D5: []
    D6: [SSB, SSC]
`),
			ranges: map[string][]string{"P": {"P/P"}, "R": {"R/R"}, "1": {"D/D1"}, "2": {"D/D2"}, "3": {"D/D3"}, "4": {"D/D4"}, "5": {"D/D5"}, "6": {"D/D6"},
				"L 1": {"L/D1"}, "N (1)": {"N/N"}, "N (2)": {"N/N"}, "N (3)": {"N/N"}},
			rename:  map[string]string{"low/reverse": "low-reverse"},
			claims:  map[int]claim{0: {"5", []string{"supply"}, d("D1", "D2", "D3", "D4", "D5", "D6"), []string{"D5", "D5", "D5", "D5", "D5", "D5"}, true}},
			reasons: map[string]string{"chart how": "a remark, no row"},
		},
		{
			id: "ten-speed-six-linear",
			train: toy([]string{"A", "B", "C", "D", "E", "F"},
				"  P: {apply: [A, B, D]}\n  R: {apply: [A, B, D, F]}\n  N: {apply: [A, B, D]}\n  D1: {apply: [A, D, E]}\n  D2: {apply: [A, C, D]}\n  D3: {apply: [A, C, D, E]}\n"+
					"  D4: {apply: [A, C, D, F]}\n  D5: {apply: [A, C, E, F]}\n  D6: {apply: [A, D, E, F]}\n  D7: {apply: [C, D, E, F]}\n  D8: {apply: [B, D, E, F]}\n"+
					"  D9: {apply: [B, C, E, F]}\n  D10: {apply: [B, C, D, F]}\n  M1: {apply: [A, B, D, E]}\n  M2: {apply: [A, B, C, D]}\n",
				"{P: [P], R: [R], N: [N], D: [D1, D2, D3, D4, D5, D6, D7, D8, D9, D10], M: [M1, M2]}",
				`  solenoids: {SSA: {}, SSB: {}, SSC: {}, SSD: {}, SSE: {}, SSF: {}}
  feeds: {A: SSA, B: SSB, C: SSC, D: SSD, E: SSE, F: SSF}
  command:
    P: [SSA, SSB, SSD]
    R: [SSA, SSB, SSD, SSF]
    N: [SSA, SSB, SSD]
    D1: [{on: [SSA, SSD, SSE]}, {on: [SSA, SSB, SSD, SSE], apply: [A, B, D, E]}]
    D2: [{on: [SSA, SSC, SSD]}, {on: [SSA, SSB, SSC, SSD], apply: [A, B, C, D]}]
    D3: [SSA, SSC, SSD, SSE]
    D4: [SSA, SSC, SSD, SSF]
    D5: [SSA, SSC, SSE, SSF]
    D6: [SSA, SSD, SSE, SSF]
    D7: [SSC, SSD, SSE, SSF]
    D8: [SSB, SSD, SSE, SSF]
    D9: [SSB, SSC, SSE, SSF]
    D10: [SSB, SSC, SSD, SSF]
    M1: [SSA, SSB, SSD, SSE]
    M2: [SSA, SSB, SSC, SSD]
`),
			ranges: map[string][]string{"P": {"P/P"}, "R": {"R/R"}, "N": {"N/N"}, "1": {"D/D1"}, "2": {"D/D2"}, "3": {"D/D3"}, "4": {"D/D4"}, "5": {"D/D5"}, "6": {"D/D6"},
				"7": {"D/D7"}, "8": {"D/D8"}, "9": {"D/D9"}, "10": {"D/D10"}, "M1": {"M/M1"}, "M2": {"M/M2"}},
			reasons: map[string]string{"application_chart": "printed in another file, charts.json"},
		},
		{
			id: "five-speed-longitudinal-unplugged",
			train: toy([]string{"a", "b", "c", "e", "r"}, "  R: {apply: [r]}\n  D1: {apply: [a]}\n  D3: {apply: [c]}\n  D4: {apply: [e]}\n",
				`{R: [R], D: [D4], "4": [D4], "3": [D3], "2": [D1], L: [D1]}`,
				`  solenoids: {S1: {}, S2: {}, SR: {}, SL1: {}, SL2: {}}
  table:
    - {lever: [L, "2"], on: [], gives: D1}
    - {lever: "3", on: [], gives: D3}
    - {lever: ["4", D], on: [], gives: D4}
    - {lever: R, on: [], gives: R}
    - {lever: R, on: [S1, SL2], gives: R}
  command: {R: [S1, SL2]}
`),
			ranges: map[string][]string{"R": {"R/R"}},
			claims: map[int]claim{
				0: {"1", []string{"supply"}, []string{"L/D1"}, []string{"D1"}, true}, 1: {"1", []string{"supply"}, []string{"2/D1"}, []string{"D1"}, true},
				2: {"3", []string{"supply"}, []string{"3/D3"}, []string{"D3"}, true}, 3: {"4", []string{"supply"}, []string{"4/D4"}, []string{"D4"}, true},
				4: {"4", []string{"supply"}, []string{"D/D4"}, []string{"D4"}, true}, 5: {"R", []string{"supply"}, []string{"R/R"}, []string{"R"}, true},
			},
			reasons: map[string]string{"failure 6": "that the control does not shift up is no state of solenoids"},
		},
		{id: "six-speed-longitudinal-valve-map", reasons: map[string]string{"hydraulics": "which solenoid moves which valve alone was read: no table, no chart and no failure to compare"}},
	}
}

func words(n *controls.Network, list []int) (out []string) {
	for _, e := range list {
		out = append(out, n.Train.Couplings[e].Name)
	}
	return out
}

// TestPublishedControls compares every cell of testdata/published/controls.json that was
// read with the controls written for the unit, and logs those that are not compared with
// the reason.
func TestPublishedControls(t *testing.T) {
	src, err := os.ReadFile("../../testdata/published/controls.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Units []published }
	if err := json.Unmarshal(src, &file); err != nil {
		t.Fatal(err)
	}
	list := units(t)
	if len(list) != len(file.Units) {
		t.Errorf("%d units are published, %d are here", len(file.Units), len(list))
	}
	for i, u := range list {
		t.Run(u.id, func(t *testing.T) {
			p := file.Units[i]
			if p.ID != u.id {
				t.Fatalf("the published unit is %s", p.ID)
			}
			c := &comparison{t: t, unit: u}
			if u.train != "" {
				f, err := gearsets.Read(u.id, []byte(u.train))
				if err != nil {
					t.Fatal(f.Problems.Excerpts())
				}
				c.n = controls.Of(f.Train)
				c.solenoids(p)
				c.chart(p)
				c.failures(p)
			}
			t.Logf("%d cells agree", c.agree)
			for cell, why := range u.reasons {
				t.Logf("not compared: %s: %s", cell, why)
			}
		})
	}
}

type comparison struct {
	t *testing.T
	unit
	n     *controls.Network
	agree int
}

func (c *comparison) excused(cell string) bool { return c.reasons[cell] != "" }

func (c *comparison) name(printed string) string {
	if own := c.rename[printed]; own != "" {
		return own
	}
	return printed
}

// nodes are the commands of a printed range.
func (c *comparison) nodes(places []string) (list []int) {
	for k, x := range c.n.Nodes() {
		if slices.Contains(places, c.n.PositionName(x.Position)+"/"+c.n.Train.Ranges[x.Range].Name) {
			list = append(list, k)
		}
	}
	return list
}

func (c *comparison) solenoids(p published) {
	for rng, row := range p.Solenoids {
		cells, _ := row.(map[string]any)
		for solenoid, value := range cells {
			cell := fmt.Sprintf("solenoid %s/%s", rng, solenoid)
			word, _ := value.(string)
			if value == nil || solenoid == "note" || c.excused(cell) {
				continue
			}
			word = strings.TrimSuffix(strings.TrimSuffix(word, "*"), "(friction)")
			nodes := c.nodes(c.ranges[rng])
			if len(nodes) == 0 {
				c.t.Errorf("%s: no command is given for it", cell)
				continue
			}
			at := slices.Index(c.n.Solenoids(), c.name(solenoid))
			// Of several patterns one must have it so; an optional one may be either.
			found := slices.ContainsFunc(nodes, func(k int) bool { return word == "optional" || (word == "on") == (c.n.Nodes()[k].On>>at&1 != 0) })
			if at < 0 || !found || word != "on" && word != "off" && word != "optional" {
				c.t.Errorf("%s is printed %s", cell, word)
				continue
			}
			c.agree++
		}
	}
}

// chart compares what is fed, of which one-way clutches and the converter clutch are
// no part; a remark beside an element says when.
func (c *comparison) chart(p published) {
	rows, _ := p.Chart.(map[string]any)
	for rng, row := range rows {
		if m, ok := row.(map[string]any); ok {
			row = m["applied"]
		}
		printed, ok := row.([]any)
		if !ok || rng == "how" {
			continue
		}
		var want []string
		optional := false
		for _, e := range printed {
			name := c.name(e.(string))
			if first, remark, ok := strings.Cut(e.(string), " "); ok && remark != "" && strings.HasPrefix(remark, "below") {
				name, optional = c.name(first), true
			}
			if i, ok := c.n.Train.Element(name); ok && c.n.Train.Couplings[i].Kind != kinematics.OneWay {
				want = append(want, name)
			}
		}
		if rng == "M1" && c.id == "ravigneaux4-two-onoff" {
			want = append(want, "C4") // as the note of the row says
		}
		for _, k := range c.nodes(c.ranges[rng]) {
			sets := c.n.Survey([][]controls.Fault{nil}).Sets(0, k)
			fed, _, _ := sets[0].Elements()
			got := words(c.n, fed)
			slices.Sort(got)
			slices.Sort(want)
			if len(sets) != 1 || !slices.Equal(got, want) && !optional {
				c.t.Errorf("chart %s: printed %v, fed %v", rng, want, got)
				continue
			}
			c.agree++
		}
		if len(c.nodes(c.ranges[rng])) == 0 && !c.excused("chart "+rng) {
			c.t.Errorf("chart %s: no command is given for it", rng)
		}
	}
}

func (c *comparison) failures(p published) {
	for i, row := range p.Failures {
		claim, given := c.claims[i]
		switch cell := fmt.Sprintf("failure %d", i); {
		case row.Results == nil && given:
			c.t.Errorf("%s was not read", cell)
		case row.Results == nil || c.excused(cell):
		case !given:
			c.t.Errorf("%s: %s is not compared, and no reason is given", cell, *row.Results)
		case claim.printed != *row.Results:
			c.t.Errorf("%s is printed %q", cell, *row.Results)
		default:
			c.claim(cell, claim)
		}
	}
}

// claim compares the ratio of what the faults give with that of the range.
func (c *comparison) claim(cell string, x claim) {
	t := c.n.Train
	var own []kinematics.Fault
	var above []controls.Fault
	for _, text := range x.faults {
		if c.n.Knows(text) {
			above = append(above, faults(c.t, c.n, text)...)
			continue
		}
		f, err := kinematics.ParseFault(t, text)
		if err != nil {
			c.t.Fatal(err)
		}
		own = append(own, f)
	}
	a, after := c.n.Evaluate(above...)
	if !x.before {
		if after == nil {
			c.t.Errorf("%s: no fail-safe acts", cell)
			return
		}
		a = after
	}
	k := solve.Compile(t).Kernel()
	for i, at := range x.at {
		p, r, _ := strings.Cut(at, "/")
		rng := index(c.t, t, r)
		out := a.Of(slices.IndexFunc(t.Positions, func(x kinematics.Position) bool { return x.Name == p }), rng)
		want := &t.Ranges[index(c.t, t, x.gives[i])]
		for _, o := range out.List {
			for _, set := range o.Sets {
				sameSet := own == nil && slices.Equal(set.Applied(&t.Ranges[rng]), want.Set())
				for _, brought := range c.n.Causes(rng, set, above) {
					got := k.Outcome(t.In(&t.Ranges[rng], controls.Merge(own, brought)...))
					ratio, drives := got.Ratio()
					printed, _ := k.Outcome(t.In(want)).Ratio()
					if !sameSet && (!drives || t.Name == "toy" || ratio.Cmp(printed) != 0) {
						c.t.Errorf("%s, %s commanded: %s is printed, but %s is fed", cell, at, want.Name, fed(c.t, a, p, r))
					}
				}
			}
		}
	}
	c.agree++
}
