package gearsets

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// small is a train with nothing wrong.
const small = `tieup: 1
name: yard-tug-two-speed
source: invented for this test
shafts: [turbine, output-shaft]
gearsets:
  front: {kind: simple, sun: 30, ring: 66, pinions: 4}
joined:
  drive: [turbine, front.ring]
  wheels: [output-shaft, front.carrier]
input: turbine
output: output-shaft
elements:
  low:  {band: front.sun}
  high: {clutch: [front.sun, front.ring]}
ranges:
  N:  {}
  D1: {apply: [low]}
  D2: {apply: [high]}
positions: {N: [N], D: [D1, D2]}
`

// parse reads a file that must have nothing wrong.
func parse(t *testing.T, src string) *kinematics.Train {
	t.Helper()
	train, ps := Parse("f", []byte(src))
	if len(ps) > 0 {
		t.Fatal(ps.Excerpts())
	}
	return train
}

// TestGenerated are broken files that are not text to keep in testdata.
func TestGenerated(t *testing.T) {
	for _, c := range []struct{ name, src, want string }{
		{"no bytes", "", "f:1:1: the file is empty"},
		{"blank", "\n\n  \n", "f:1:1: the file is empty"},
		{"only a document start", "---\n", "f:1:1: the file is empty"},
		{"50 MB", strings.Repeat("# padding\n", 5<<20), "f:1:1: the file is larger than 1 MiB"},
		{"one byte too many", small + strings.Repeat("#", MaxSize+1-len(small)), "f:1:1: the file is larger than 1 MiB"},
		{"binary", "\x7fELF\x02\x01\x01\x00\x00", "f:1:1: the control character U+007F is not text"},
		{"NUL", small + "note: a\x00b\n", "f:20:8: the control character U+0000 is not text"},
		{"no UTF-8", strings.Replace(small, "invented", "erf\xfcnden", 1), "f:3:12: the byte 0xFC is not UTF-8 text"},
		{"UTF-16", "t\x00i\x00e\x00", "f:1:2: the control character U+0000 is not text"},
		{"line separator", small + "note: a\u2028b\n", "f:20:8: the control character U+2028 is not text"},
		{"deep list", small + "note: " + strings.Repeat("[", 100_000), "f:20:19: lists and mappings are nested more than 12 deep"},
		{"deep mapping", strings.Repeat("{a: ", 100_000), "f:1:49: lists and mappings are nested more than 12 deep"},
		{"deep indentation", deepIndent(40), "f:13:14: lists and mappings are nested more than 12 deep"},
		{"alias bomb", "a: &a [x]\nb: &b [*a, *a, *a]\nc: [*b, *b, *b]\n", "f:1:1: the key tieup is missing: is this a train file?"},
		{"alias of itself", small + "note: &n [*n]\n", "f:20:7: anchors (&n) are not used in train files"},
	} {
		t.Run(c.name, func(t *testing.T) {
			train, ps := Parse("f", []byte(c.src))
			if train != nil || !ps.Refuse() {
				t.Fatal("accepted")
			}
			if got := ps[0].Error(); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
			if n := len(ps.Excerpts()); n > 5000 {
				t.Errorf("excerpts of %d bytes", n)
			}
		})
	}
}

func deepIndent(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

// TestAccepted are forms of a file that are as good as the plain one.
func TestAccepted(t *testing.T) {
	for name, src := range map[string]string{
		"byte order mark":      "\ufeff" + small,
		"Windows line ends":    strings.ReplaceAll(small, "\n", "\r\n"),
		"no last line end":     strings.TrimSuffix(small, "\n"),
		"document marks":       "---\n" + small + "...\n",
		"as large as may be":   small + strings.Repeat("#", MaxSize-len(small)),
		"list of one brake":    strings.Replace(small, "{band: front.sun}", "{band: [front.sun]}", 1),
		"quoted names":         strings.Replace(small, "[turbine, front.ring]", `["turbine", 'front.ring']`, 1),
		"names like numbers":   strings.NewReplacer("D1", "1", "D2", "2").Replace(small),
		"names like yes or no": strings.NewReplacer("D1", "no", "D2", "yes").Replace(small),
		"text not in ASCII":    strings.Replace(small, "invented", "für Übungen erfunden", 1),
	} {
		if train, ps := Parse("f", []byte(src)); train == nil || len(ps) > 0 {
			t.Errorf("%s:\n%s", name, ps.Excerpts())
		}
	}
}

// TestExcerpt draws problems: carets under the place, tabs and long lines.
func TestExcerpt(t *testing.T) {
	long := strings.Replace(small, "turbine, output-shaft]", strings.Repeat("x, ", 60)+"output-shaft]", 1)
	for _, c := range []struct{ name, src, want string }{
		{"warning with hint", strings.Replace(small, "ring: 66, pinions: 4", "ring: 62, pinion: 18", 1), `
f:6:40: warning: front: ring 62 does not close on sun 30 and pinion 18
    6 |   front: {kind: simple, sun: 30, ring: 62, pinion: 18}
      |                                        ^^
  hint: ring = sun + 2 pinion (66) for unmodified teeth; write profile-shifted: true if 62 is meant
`},
		{"first of two places", strings.Replace(small, "input: turbine", "input: turbine\ninput: turbine", 1), `
f:11:1: input is given twice
   10 | input: turbine
      | ^^^^^ first here
   11 | input: turbine
      | ^^^^^
  hint: keep one of the two
`},
		{"second of two places", strings.Replace(strings.Replace(small, "output: output-shaft\n", "", 1), "input: turbine", "output: turbine\ninput: turbine", 1), `
f:10:9: input and output are both turbine
   10 | output: turbine
      |         ^^^^^^^
   11 | input: turbine
      |        ^^^^^^^ here
  hint: the output is the member that turns the wheels
`},
		{"tab", strings.Replace(small, "input: turbine", "input:\t\tturbin", 1), `
f:10:9: input: there is no member "turbin"
   10 | input:		turbin
      |       		^^^^^^
  hint: did you mean "turbine"?
`},
		{"letters of several bytes", strings.Replace(small, "[turbine, front.ring]", "[turbine, förnt.ring]", 1), `
f:8:20: joint drive: there is no member "förnt.ring"
    8 |   drive: [turbine, förnt.ring]
      |                    ^^^^^^^^^^
  hint: did you mean "front.ring"?
`},
		{"empty value", strings.Replace(small, "sun: 30", "sun:", 1), `
f:6:25: front: sun has no value
    6 |   front: {kind: simple, sun:, ring: 66, pinions: 4}
      |                         ^^^
  hint: write a whole number of teeth from 1 to 100000
`},
		{"long line", long, `
f:4:13: shaft x is declared twice
    4 | shafts: [x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x,…
      |             ^
    4 | shafts: [x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x, x,…
      |          ^ first here
  hint: leave it out
`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, ps := Parse("f", []byte(c.src))
			if len(ps) == 0 {
				t.Fatal("nothing is wrong with it")
			}
			if got := "\n" + ps[0].Excerpt(); got != c.want {
				t.Errorf("got%swant%s", got, c.want)
			}
		})
	}
}

// TestPlaces misspells every name that a train of the library refers to, one
// after the other, and sees that the error stands exactly there.
func TestPlaces(t *testing.T) {
	const wrong = "zzzzzzzz"
	for _, name := range Names() {
		src := Source(name)
		var doc yaml.Node
		if err := yaml.Load(src, &doc); err != nil {
			t.Fatal(err)
		}
		refs := references(doc.Content[0])
		if len(refs) < 3 {
			t.Errorf("%s: only %d references", name, len(refs))
		}
		for _, ref := range refs {
			lines := strings.Split(string(src), "\n")
			line := []rune(lines[ref.Line-1])
			from := ref.Column - 1
			width := len([]rune(ref.Value))
			if line[from] == '"' || line[from] == '\'' {
				width += 2
			}
			lines[ref.Line-1] = string(line[:from]) + wrong + string(line[from+width:])
			_, ps := Parse(name, []byte(strings.Join(lines, "\n")))
			want := problem.At(ref.Line, ref.Column, len(wrong))
			found := false
			for _, p := range ps {
				found = found || p.Severity == problem.Error && p.Place == want && strings.Contains(p.Message, wrong)
			}
			if !found {
				t.Errorf("%s: no error at %d:%d for %q:\n%s", name, ref.Line, ref.Column, ref.Value, ps.Excerpts())
			}
		}
	}
}

// references returns the scalars of a train file that refer to a member, an
// element or a range.
func references(root *yaml.Node) []*yaml.Node {
	var refs []*yaml.Node
	var all func(n *yaml.Node)
	all = func(n *yaml.Node) {
		if n.Kind == yaml.ScalarNode {
			refs = append(refs, n)
		}
		for i, c := range n.Content {
			if n.Kind != yaml.MappingNode || i%2 == 1 {
				all(c)
			}
		}
	}
	get := func(n *yaml.Node, key string) *yaml.Node {
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == key {
				return n.Content[i+1]
			}
		}
		return &yaml.Node{}
	}
	for _, k := range []string{"joined", "input", "output", "positions"} {
		all(get(root, k))
	}
	for _, x := range []struct {
		section string
		keys    []string
	}{
		{"elements", elementWords()},
		{"ranges", []string{"apply", "input", "output"}},
		{"gearsets", []string{"carrier"}},
	} {
		section := get(root, x.section)
		for i := 1; i < len(section.Content); i += 2 {
			for _, k := range x.keys {
				all(get(section.Content[i], k))
			}
		}
	}
	return refs
}

// TestRatio reads ratios exactly.
func TestRatio(t *testing.T) {
	for s, want := range map[string]string{
		"2.20": "11/5", "2.2": "11/5", "73/35": "73/35", "146/70": "73/35", "2": "2/1", "0.5": "1/2", "2.4795": "4959/2000", "007.10": "71/10",
		"": "", ".5": "", "2.": "", "-2": "", "2,2": "", "1/2/3": "", "1e3": "", "2.2/3": "", "+2": "", "½": "", "9999999999999999": "",
	} {
		num, den, ok := parseRatio(s)
		got := ""
		if ok {
			got = fmt.Sprintf("%d/%d", num, den)
		}
		if got != want {
			t.Errorf("%q: got %q, want %q", s, got, want)
		}
	}
}

// TestKeys sees that each key of the format arrives in the train.
func TestKeys(t *testing.T) {
	train := parse(t, `tieup: 1
name: all-keys
title: A title
source: [first, second]
note: A note
shafts: [in, out, race, quill]
gearsets:
  s:  {kind: simple, ring/sun: 2.20, pinions: 4}
  sk: {kind: simple, sun: 30, ring: 67, pinion: 18, profile-shifted: true}
  dp: {kind: double-pinion, sun: 36, ring: 76, inner-pinion: 14, outer-pinion: 14, pinions: 4}
  rv: {kind: ravigneaux, sun-short: 30, sun-long: 36, ring: 78, ring-meshes: long, short-pinion: 18, long-pinion: 21, pinions: 3}
  rs: {kind: ravigneaux, sun-long: 31, ring: 79, ring-meshes: short, sun-short: 23}
  st: {kind: stepped, suns: {slow: [21, 33]}, rings: {wide: [90, 36]}, pinions: 3}
  bv: {kind: bevel, right/left: 1}
  rr: {kind: ravigneaux, ring/sun-short: 2.5, ring/sun-long: 9/4, ring-meshes: short, pinions: 3}
  sb: {kind: stepped-bevel, left: {low: [20, 56]}, right: {held: [76, 56], high: [35, 24]}}
  ch: {kind: pair, a: 24, b: 48, mesh: chain}
  in: {kind: pair, b/a: 3.2, mesh: internal, carrier: late.pinion}
  late: {kind: simple, sun: 20, ring: 60}
joined:
  drive: [in, s.ring, sk.ring, dp.ring, rv.ring, rs.ring, st.wide, bv.left, rr.ring, sb.low, ch.a, in.a, late.ring]
  load:  [out, s.carrier]
  still: [sk.carrier, housing]
input: in
output: out
drive: direct
forward: opposite
rated-torque: 250.5
published-as: out/in
rounding: truncated
elements:
  c:  {clutch: [in, s.sun], capacity: 400.5, also: C1, note: text}
  b:  {brake: s.sun}
  bd: {band: s.sun}
  d:  {dog: [s.sun, race]}
  o1: {one-way: s.sun, overruns: forward, switched: true}
  o2: {one-way: s.sun, overruns: backward, switched: true}
  o3: {one-way: [race, quill]}
  p:  {pawl: out}
ranges:
  R1: {apply: [b], published: -1.45, source: own, note: why}
  R2: {apply: [bd], published: 1.455, published-as: in/out, rounding: rounded}
  X:  {apply: [c, b], intended: true}
  Y:  {input: out, output: in}
positions: {R: [R1, R2], X: [X]}
inertia: {in: 0.12, s.sun: 0.004, late.pinion: 0.001}
vehicle: {mass: 4200, final-drive: 4.3, tyre-radius: 0.38, rolling: 0.012}
shift:
  c:  {release: 0.35..0.50, apply: .4..0.70:smooth, area: 450}
  o1: {apply: 0.2..0.2}
`)
	check := func(what string, got, want any) {
		t.Helper()
		if g, w := fmt.Sprint(got), fmt.Sprint(want); g != w {
			t.Errorf("%s: got %s, want %s", what, g, w)
		}
	}
	check("title", train.Title, "A title")
	check("note", train.Note, "A note")
	check("sources", train.Sources, "[first second]")
	check("drive", train.Drive, kinematics.Direct)
	check("forward", train.Forward, -1)
	check("rated torque", train.RatedTorque, 250.5)
	s, sk, rv, rs, in := &train.Gearsets[0], &train.Gearsets[1], &train.Gearsets[3], &train.Gearsets[4], &train.Gearsets[10]
	rr, sb := &train.Gearsets[7], &train.Gearsets[8]
	check("two ratios", []any{rr.Gear("ring").Teeth, rr.Gear("sun-short").Teeth, rr.Gear("sun-long").Teeth, rr.RatioOnly,
		rr.Gear("ring").Pinion, rr.PinionCount}, "[45 18 20 true 0 3]")
	check("stepped bevel", []any{sb.Gear("low").Far, sb.Gear("held").Far, sb.Gear("high").PinionTeeth, sb.Gear("held").Teeth},
		"[false true 24 76]")
	check("ratio", []any{s.Gear("ring").Teeth, s.Gear("sun").Teeth, s.RatioOnly, s.PinionCount}, "[11 5 true 4]")
	check("pinion", []any{sk.Pinions[0].Teeth, sk.Pinions[0].Derived, sk.ProfileShifted}, "[18 false true]")
	check("ring on long", rv.Gear("ring").PinionTeeth, 21)
	check("ring on short", rs.Pinions[rs.Gear("ring").Pinion].Part, "short-pinion")
	carrier := train.Members[in.Carrier].Name
	check("carrier", carrier, "late.pinion")
	check("mesh", []any{train.Meshes[in.Meshes[0]].Kind, train.Members[train.Meshes[in.Meshes[0]].Carrier].Name, train.Meshes[in.Meshes[0]].ZB}, "[internal late.pinion 16]")
	check("elements", train.ElementNames(), "[c b bd d o1 o2 o3 p]")
	c := train.Couplings
	check("clutch", []any{c[0].Kind, c[0].Capacity, c[0].Also, c[0].Note}, "[clutch 400.5 C1 text]")
	name := func(m kinematics.MemberID) string { return train.Members[m].Name }
	check("overruns forward", []any{name(c[4].A), name(c[4].B), c[4].Switched}, "[s.sun housing true]")
	check("overruns backward", []any{name(c[5].A), name(c[5].B)}, "[housing s.sun]")
	check("one-way between members", []any{name(c[6].A), name(c[6].B), c[6].Switched}, "[race quill false]")
	check("brake", []any{name(c[1].A), name(c[1].B)}, "[s.sun housing]")
	check("published 1", *train.Ranges[0].Published, kinematics.Published{Text: "-1.45", OutIn: true, Truncated: true, Source: "own"})
	check("published 2", *train.Ranges[1].Published, kinematics.Published{Text: "1.455", Source: "first; second"})
	check("intended", train.Ranges[2].Intended, true)
	check("ports", []any{name(train.Ranges[3].Input), name(train.Ranges[3].Output)}, "[out in]")
	check("note of a range", train.Ranges[0].Note, "why")
	inertia := func(name string) float64 {
		m, _ := train.Member(name)
		return train.Members[m].Inertia
	}
	check("inertias", []any{inertia("in"), inertia("s.sun"), inertia("late.pinion"), inertia("out")}, "[0.12 0.004 0.001 0]")
	check("vehicle", *train.Vehicle, "{4200 4.3 0.38 0.012 0}")
	check("shift of c", []any{c[0].Release, c[0].Apply, c[0].Area}, "[0.35..0.5 0.4..0.7:smooth 0.045]")
	check("shift of o1", []any{c[4].Release, c[4].Apply}, "[<nil> 0.2..0.2]")
	check("positions", train.Positions, "[{R [0 1]} {X [2]}]")
}

// TestProblemsErr sees that warnings alone are no error.
func TestProblemsErr(t *testing.T) {
	_, ps := Parse("f", []byte(strings.Replace(small, "pinions: 4", "pinions: 5", 1)))
	if len(ps) != 1 || ps.Err() != nil {
		t.Errorf("warnings: %v", ps.Err())
	}
	_, ps = Parse("f", nil)
	if ps.Err() == nil || ps.Err().Error() != "f:1:1: the file is empty" {
		t.Errorf("error: %v", ps.Err())
	}
}

// FuzzParse sees that no file makes the parser panic, that every problem has a
// place inside the file, and that every range of an accepted train can be solved.
func FuzzParse(f *testing.F) {
	for _, name := range Names() {
		f.Add(Source(name))
	}
	brokenFiles(f, func(_ string, src []byte) { f.Add(src) })
	f.Fuzz(func(t *testing.T, src []byte) {
		train, ps := Parse("f", src)
		if (train == nil) != ps.Refuse() {
			t.Fatalf("train: %t, refused: %t", train != nil, ps.Refuse())
		}
		lines := bytes.Count(src, []byte("\n")) + bytes.Count(src, []byte("\r")) + 1
		for _, p := range ps {
			if p.Line < 1 || p.Line > lines || p.Column < 1 || p.Width < 1 || strings.Contains(p.Error(), "\n") || p.Message == "" {
				t.Errorf("%q", p.Error())
			}
		}
		_ = ps.Excerpts()
		if train == nil {
			return
		}
		Audit(train)
		k := solve.Compile(train).Kernel()
		for i := range train.Ranges {
			r := &train.Ranges[i]
			if o := k.Outcome(train.In(r)); (o.Verdict == solve.TieUp) != r.Intended {
				t.Errorf("%s: %s", r.Name, o.Verdict)
			}
		}
	})
}
