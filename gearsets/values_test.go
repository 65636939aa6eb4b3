package gearsets

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets/internal/yamlfile"
	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// choices lists every value that the tables of the train file enumerate, as
// "path: value".
func choices(path string, t *yamlfile.Table) []string {
	var list []string
	var add func(path string, of yamlfile.Type)
	add = func(path string, of yamlfile.Type) {
		switch of := of.(type) {
		case yamlfile.Choice:
			for _, w := range of {
				list = append(list, path+": "+w)
			}
		case yamlfile.Flag:
			list = append(list, path+": true", path+": false")
		case yamlfile.Map:
			add(path, of.Of)
		case *yamlfile.Table:
			list = append(list, choices(path, of)...)
		case gearsetForm:
			for _, k := range kinematics.Kinds {
				list = append(list, choices(path+"."+string(k), setTables[k])...)
			}
		}
	}
	for _, k := range t.Keys {
		add(strings.TrimPrefix(path+"."+k.Name, "."), k.Type)
	}
	return list
}

// TestEnumeratedValues reads a train with every value that the format enumerates
// and sees that it means what it says. A value without a case fails.
func TestEnumeratedValues(t *testing.T) {
	const set = "  front: {kind: simple, sun: 30, ring: 66, pinions: 4}\n"
	read := func(edits ...string) *kinematics.Train { return parse(t, strings.NewReplacer(edits...).Replace(small)) }
	top := func(line string) *kinematics.Train { return parse(t, small+line+"\n") }
	gearset := func(line string) *kinematics.Gearset {
		x := read(set, set+"  extra: "+line+"\n")
		return &x.Gearsets[1]
	}
	mesh := func(word string) kinematics.MeshKind {
		x := read(set, set+"  extra: {kind: pair, a: 24, b: 77, mesh: "+word+"}\n")
		return x.Meshes[len(x.Meshes)-1].Kind
	}
	low := func(text string) *kinematics.Coupling {
		x := read("low:  {band: front.sun}", "low:  {band: front.sun}\n  extra: "+text)
		i, _ := x.Element("extra")
		return &x.Couplings[i]
	}
	d1 := func(text string) *kinematics.Range { x := read("{apply: [low]}", text); return &x.Ranges[1] }
	housing := func(c *kinematics.Coupling) bool { return c.B == kinematics.Housing }
	wired := func(hydraulic string) int {
		x := top("controls:\n  source: invented\n  solenoids: {S1: {hydraulic: " + hydraulic + "}}\n" +
			"  circuits: {drive: lever(D), second: drive and S1, first: drive and not S1}\n" +
			"  feeds: {low: first, high: second}\n  command: {N: [], D1: [], D2: [S1]}")
		return len(controls.Of(x).Wired())
	}
	cases := map[string]func() bool{
		"controls.solenoids.hydraulic: true":  func() bool { return wired("true") == 0 },
		"controls.solenoids.hydraulic: false": func() bool { return wired("false") == 1 },
		"drive: converter":                    func() bool { return top("drive: converter").Drive == kinematics.Converter },
		"drive: direct":                       func() bool { return top("drive: direct").Drive == kinematics.Direct },
		"forward: same":                       func() bool { return top("forward: same").Forward == 1 },
		"forward: opposite":                   func() bool { return oppositeSmall(t).Forward == -1 },
		"published-as: in/out":                func() bool { return !published(t, "published-as: in/out", "").OutIn },
		"published-as: out/in":                func() bool { return published(t, "published-as: out/in", "").OutIn },
		"rounding: rounded":                   func() bool { return !published(t, "rounding: rounded", "").Truncated },
		"rounding: truncated":                 func() bool { return published(t, "rounding: truncated", "").Truncated },
		"ranges.rounding: rounded":            func() bool { return !published(t, "rounding: truncated", ", rounding: rounded").Truncated },
		"ranges.rounding: truncated": func() bool {
			return published(t, "rounding: rounded", ", rounding: truncated").Truncated
		},
		"ranges.published-as: in/out": func() bool {
			return !published(t, "published-as: out/in", ", published-as: in/out").OutIn
		},
		"ranges.published-as: out/in": func() bool {
			return published(t, "published-as: in/out", ", published-as: out/in").OutIn
		},
		"ranges.intended: true":      func() bool { return d1("{apply: [low, high], intended: true}").Intended },
		"ranges.intended: false":     func() bool { return !d1("{apply: [low], intended: false}").Intended },
		"elements.switched: true":    func() bool { return low("{one-way: [turbine, front.sun], switched: true}").Switched },
		"elements.switched: false":   func() bool { return !low("{one-way: front.sun, overruns: forward, switched: false}").Switched },
		"elements.overruns: forward": func() bool { return housing(low("{one-way: front.sun, overruns: forward}")) },
		"elements.overruns: backward": func() bool {
			c := low("{one-way: front.sun, overruns: backward, switched: true}")
			return c.A == kinematics.Housing
		},
		"gearsets.pair.mesh: external": func() bool { return mesh("external") == kinematics.External },
		"gearsets.pair.mesh: internal": func() bool { return mesh("internal") == kinematics.Internal },
		"gearsets.pair.mesh: chain":    func() bool { return mesh("chain") == kinematics.Chain },
		"gearsets.pair.bevel: true": func() bool {
			return gearset("{kind: pair, a: 24, b: 77, mesh: internal, bevel: true}").Bevels
		},
		"gearsets.pair.bevel: false": func() bool {
			return !gearset("{kind: pair, a: 24, b: 77, mesh: internal, bevel: false}").Bevels
		},
		"gearsets.ravigneaux.ring-meshes: long": func() bool {
			return gearset("{kind: ravigneaux, sun-short: 26, ring: 74, ring-meshes: long}").Gear("ring").Pinion == 1
		},
		"gearsets.ravigneaux.ring-meshes: short": func() bool {
			return gearset("{kind: ravigneaux, sun-long: 34, ring: 74, ring-meshes: short}").Gear("ring").Pinion == 0
		},
	}
	for _, u := range kinematics.Uses() {
		cases["use: "+string(u)] = func() bool { return top("use: "+string(u)).Use == u }
	}
	for _, k := range kinematics.Kinds {
		form := k.Facts().Form
		cases[fmt.Sprintf("gearsets.%s.kind: %s", k, k)] = func() bool { return gearset(form).Kind == k }
		cases[fmt.Sprintf("gearsets.%s.profile-shifted: true", k)] = func() bool {
			return gearset(strings.TrimSuffix(form, "}") + ", profile-shifted: true}").ProfileShifted
		}
		cases[fmt.Sprintf("gearsets.%s.profile-shifted: false", k)] = func() bool { return !gearset(form).ProfileShifted }
	}
	all := choices("", fileTable)
	for _, value := range all {
		t.Run(value, func(t *testing.T) {
			is, ok := cases[value]
			if !ok {
				t.Fatal("no case: say what the value means")
			}
			if !is() {
				t.Error("does not mean that")
			}
		})
	}
	for value := range cases {
		if !slices.Contains(all, value) {
			t.Errorf("the format has no value %s", value)
		}
	}
}

// oppositeSmall is the small train behind a pair that turns its output round.
func oppositeSmall(t *testing.T) *kinematics.Train {
	return parse(t, strings.NewReplacer("joined:", "  turn: {kind: pair, a: 30, b: 30, mesh: external}\njoined:",
		"[output-shaft, front.carrier]", "[front.carrier, turn.a]\n  out: [output-shaft, turn.b]").Replace(small)+"forward: opposite\n")
}

// published is the published ratio of D1 with a key of the file and one of the range.
func published(t *testing.T, file, own string) *kinematics.Published {
	x := parse(t, strings.Replace(small, "{apply: [low]}", "{apply: [low], published: 1.45"+own+"}", 1)+file+"\n")
	return x.Ranges[1].Published
}

var brackets = regexp.MustCompile(`\[[^\[\]]*\]|\{[^{}]*\}`)

// TestEmptied empties every list and every mapping of a train in turn: what is left is
// refused with a place, or is a train, and never a panic. The trains are a small one and one
// in five of the library, or all with TIEUP_EXHAUSTIVE.
func TestEmptied(t *testing.T) {
	src := []string{small, strings.Replace(small, "input: turbine", "input: drive", 1)}
	for i, name := range Names() {
		if i%5 == 0 || os.Getenv("TIEUP_EXHAUSTIVE") != "" {
			src = append(src, string(Source(name)))
		}
	}
	for _, s := range src {
		for _, at := range brackets.FindAllStringIndex(s, -1) {
			for _, with := range []string{s[at[0]:at[0]+1] + s[at[1]-1:at[1]], "", "[]", "{}", "[[]]", "x"} {
				edited := s[:at[0]] + with + s[at[1]:]
				if train, ps := Parse("f", []byte(edited)); train == nil && !ps.Refuse() {
					t.Errorf("neither train nor problem:\n%s", edited)
				}
			}
		}
	}
}

// A joint without members is no member that could be the input.
func TestEmptyJointAsInput(t *testing.T) {
	_, ps := Parse("f", []byte(strings.NewReplacer("[turbine, front.ring]", "[]", "input: turbine", "input: drive").Replace(small)))
	if len(ps) != 2 || ps[0].Message != "joint drive: a joint has at least two members" || ps[1].Message != `input: there is no member "drive"` {
		t.Errorf("%s", ps.Excerpts())
	}
}
