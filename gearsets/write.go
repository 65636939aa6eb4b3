package gearsets

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v4"

	"tieup/kinematics"
)

// Write writes a train as a file that [Parse] reads: its gearsets, joints, elements,
// ranges and positions with what is published. Inertias, vehicle, shift times, taps and
// controls are not written.
func Write(t *kinematics.Train) []byte {
	w := &writer{t: t}
	w.line("tieup: 1")
	w.line("name: %s", text(t.Name))
	if t.Title != "" {
		w.line("title: %s", text(t.Title))
	}
	if len(t.Sources) > 0 {
		w.line("source:")
		for _, s := range t.Sources {
			w.line("  - %s", text(s))
		}
	}
	if t.Note != "" {
		w.line("note: %s", text(t.Note))
	}
	w.shafts()
	w.line("gearsets:")
	for i := range t.Gearsets {
		w.gearset(&t.Gearsets[i])
	}
	w.joints()
	w.line("input: %s", t.Members[t.Input].Name)
	w.line("output: %s", t.Members[t.Output].Name)
	w.ports()
	w.line("elements:")
	for i := range t.Couplings[:t.ElementCount] {
		w.element(&t.Couplings[i])
	}
	w.line("ranges:")
	for i := range t.Ranges {
		w.gear(&t.Ranges[i])
	}
	if len(t.Positions) > 0 {
		w.line("positions:")
		for _, p := range t.Positions {
			names := kinematics.Map(p.Ranges, func(r int) string { return text(t.Ranges[r].Name) })
			w.line("  %s: [%s]", text(p.Name), strings.Join(names, ", "))
		}
	}
	return []byte(w.b.String())
}

// A writer writes one train.
type writer struct {
	t *kinematics.Train
	b strings.Builder
}

func (w *writer) line(format string, args ...any) { fmt.Fprintf(&w.b, format+"\n", args...) }

// text writes a text on one line, in quotes where YAML would take it for something else.
func text(s string) string {
	out, err := yaml.Marshal([]string{s})
	plain := strings.TrimSuffix(strings.TrimPrefix(string(out), "- "), "\n")
	if err != nil || strings.Contains(plain, "\n") || strings.HasPrefix(plain, "|") || strings.HasPrefix(plain, ">") ||
		strings.ContainsAny(plain, ",[]{}") && !strings.HasPrefix(plain, `"`) && !strings.HasPrefix(plain, "'") {
		return fmt.Sprintf("%q", s)
	}
	return plain
}

func (w *writer) shafts() {
	var names []string
	for _, m := range w.t.Members {
		if m.Kind == kinematics.ShaftMember {
			names = append(names, m.Name)
		}
	}
	if len(names) > 0 {
		w.line("shafts: [%s]", strings.Join(names, ", "))
	}
}

// flow is a mapping on one line.
type flow []string

// add adds a key that has something to say.
func (f *flow) add(says bool, key string, value any) {
	if says {
		*f = append(*f, fmt.Sprintf("%s: %v", key, value))
	}
}

// entry writes an entry by its name.
func (w *writer) entry(name string, f flow) { w.line("  %s: {%s}", name, strings.Join(f, ", ")) }

func (w *writer) gearset(g *kinematics.Gearset) {
	f := flow{"kind: " + string(g.Kind)}
	switch {
	case g.Steps():
		f = append(f, w.steps(g)...)
	case g.RatioOnly:
		f = append(f, ratios(g)...)
	default:
		for _, x := range g.Gears {
			f.add(true, x.Part, x.Teeth)
		}
		for _, p := range g.Pinions {
			f.add(p.Teeth > 0 && !p.Derived, p.Part, p.Teeth)
		}
	}
	for _, c := range g.Kind.Facts().Gears {
		if x := g.Gear(c.Part); c.Which != "" && x != nil {
			f.add(true, c.Which, g.Kind.Facts().PinionWord(x.Pinion))
		}
	}
	if len(g.Pinions) == 0 {
		f.add(true, "mesh", w.t.Meshes[g.Meshes[0]].Kind)
		f.add(g.Bevels, "bevel", true)
		f.add(g.Carrier != kinematics.Housing, "carrier", w.t.Members[g.Carrier].Name)
	}
	f.add(g.PinionCount > 0, "pinions", g.PinionCount)
	f.add(g.ProfileShifted, "profile-shifted", true)
	w.entry(g.Name, f)
}

// ratios are the keys that stand for teeth: of the ring to each sun, or of the second gear
// to the first.
func ratios(g *kinematics.Gearset) []string {
	over := 1
	for i, x := range g.Gears {
		if x.Internal {
			over = i
		}
	}
	var keys []string
	for i, x := range g.Gears {
		if i != over {
			keys = append(keys, fmt.Sprintf("%s/%s: %s", g.Gears[over].Part, x.Part, asRatio(g.Gears[over].Teeth, x.Teeth)))
		}
	}
	return keys
}

// asRatio writes a ratio as a decimal of few places where it is one.
func asRatio(n, d int64) string {
	k := gcd(n, d)
	n, d = n/k, d/k
	for places, unit := 0, int64(1); places <= 6; places, unit = places+1, unit*10 {
		if unit%d == 0 {
			return fmt.Sprintf("%.*f", places, float64(n)/float64(d))
		}
	}
	return fmt.Sprintf("%d/%d", n, d)
}

func (w *writer) steps(g *kinematics.Gearset) []string {
	var keys []string
	for i, key := range g.Kind.Facts().Steps {
		var gears []string
		for _, x := range g.Gears {
			if (x.Internal || x.Far) == (i == 1) {
				gears = append(gears, fmt.Sprintf("%s: [%d, %d]", x.Part, x.Teeth, x.PinionTeeth))
			}
		}
		if len(gears) > 0 {
			keys = append(keys, key.Key+": {"+strings.Join(gears, ", ")+"}")
		}
	}
	return keys
}

func (w *writer) joints() {
	if len(w.t.Joints) == 0 {
		return
	}
	w.line("joined:")
	for _, j := range w.t.Joints {
		w.line("  %s: [%s]", text(j.Name), strings.Join(w.t.NamesOf(j.Members), ", "))
	}
}

// ports writes what the ends are joined to.
func (w *writer) ports() {
	if w.t.Drive != kinematics.Converter {
		w.line("drive: %s", w.t.Drive)
	}
	if w.t.Use != kinematics.InVehicle {
		w.line("use: %s", w.t.Use)
	}
	if w.t.Forward < 0 {
		w.line("forward: opposite")
	}
}

func (w *writer) element(c *kinematics.Coupling) {
	a, b := w.t.Members[c.A].Name, w.t.Members[c.B].Name
	var f flow
	switch {
	case c.Kind == kinematics.OneWay && c.B == kinematics.Housing:
		f = flow{"one-way: " + a, "overruns: forward"}
	case c.Kind == kinematics.OneWay && c.A == kinematics.Housing:
		f = flow{"one-way: " + b, "overruns: backward"}
	case c.B == kinematics.Housing:
		f.add(true, c.Kind.String(), a)
	case c.A == kinematics.Housing:
		f.add(true, c.Kind.String(), b)
	default:
		f.add(true, c.Kind.String(), "["+a+", "+b+"]")
	}
	f.add(c.Switched, "switched", true)
	f.add(c.Capacity > 0, "capacity", c.Capacity)
	f.add(c.Also != "", "also", text(c.Also))
	f.add(c.Note != "", "note", text(c.Note))
	w.entry(text(c.Name), f)
}

func (w *writer) gear(r *kinematics.Range) {
	var f flow
	names := kinematics.Map(r.Apply, func(e int) string { return text(w.t.Couplings[e].Name) })
	f.add(len(names) > 0, "apply", "["+strings.Join(names, ", ")+"]")
	f.add(r.Input != w.t.Input, "input", w.t.Members[r.Input].Name)
	f.add(r.Output != w.t.Output, "output", w.t.Members[r.Output].Name)
	if p := r.Published; p != nil {
		f.add(true, "published", p.Text)
		f.add(p.OutIn, "published-as", "out/in")
		f.add(p.Truncated, "rounding", "truncated")
	}
	f.add(r.Gear != "", "gear", r.Gear)
	f.add(r.Intended, "intended", true)
	f.add(r.Note != "", "note", text(r.Note))
	w.entry(text(r.Name), f)
}
