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

func (w *writer) gearset(g *kinematics.Gearset) {
	keys := []string{"kind: " + string(g.Kind)}
	add := func(key string, value any) { keys = append(keys, fmt.Sprintf("%s: %v", key, value)) }
	switch {
	case g.Steps():
		keys = append(keys, w.steps(g)...)
	case g.RatioOnly:
		keys = append(keys, ratios(g)...)
	default:
		for _, x := range g.Gears {
			add(x.Part, x.Teeth)
		}
		for _, p := range g.Pinions {
			if p.Teeth > 0 && !p.Derived {
				add(p.Part, p.Teeth)
			}
		}
	}
	for _, c := range g.Kind.Facts().Gears {
		if x := g.Gear(c.Part); c.Which != "" && x != nil {
			add(c.Which, g.Kind.Facts().PinionWord(x.Pinion))
		}
	}
	if len(g.Pinions) == 0 {
		add("mesh", w.t.Meshes[g.Meshes[0]].Kind)
		if g.Bevels {
			add("bevel", true)
		}
		if g.Carrier != kinematics.Housing {
			add("carrier", w.t.Members[g.Carrier].Name)
		}
	}
	if g.PinionCount > 0 {
		add("pinions", g.PinionCount)
	}
	if g.ProfileShifted {
		add("profile-shifted", true)
	}
	w.line("  %s: {%s}", g.Name, strings.Join(keys, ", "))
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
	var keys []string
	switch {
	case c.Kind == kinematics.OneWay && c.B == kinematics.Housing:
		keys = append(keys, "one-way: "+a, "overruns: forward")
	case c.Kind == kinematics.OneWay && c.A == kinematics.Housing:
		keys = append(keys, "one-way: "+b, "overruns: backward")
	case c.B == kinematics.Housing:
		keys = append(keys, fmt.Sprintf("%s: %s", c.Kind, a))
	case c.A == kinematics.Housing:
		keys = append(keys, fmt.Sprintf("%s: %s", c.Kind, b))
	default:
		keys = append(keys, fmt.Sprintf("%s: [%s, %s]", c.Kind, a, b))
	}
	if c.Switched {
		keys = append(keys, "switched: true")
	}
	if c.Capacity > 0 {
		keys = append(keys, fmt.Sprintf("capacity: %g", c.Capacity))
	}
	if c.Also != "" {
		keys = append(keys, "also: "+text(c.Also))
	}
	if c.Note != "" {
		keys = append(keys, "note: "+text(c.Note))
	}
	w.line("  %s: {%s}", text(c.Name), strings.Join(keys, ", "))
}

func (w *writer) gear(r *kinematics.Range) {
	var keys []string
	if len(r.Apply) > 0 {
		names := kinematics.Map(r.Apply, func(e int) string { return text(w.t.Couplings[e].Name) })
		keys = append(keys, "apply: ["+strings.Join(names, ", ")+"]")
	}
	if r.Input != w.t.Input {
		keys = append(keys, "input: "+w.t.Members[r.Input].Name)
	}
	if r.Output != w.t.Output {
		keys = append(keys, "output: "+w.t.Members[r.Output].Name)
	}
	if p := r.Published; p != nil {
		keys = append(keys, "published: "+p.Text)
		if p.OutIn {
			keys = append(keys, "published-as: out/in")
		}
		if p.Truncated {
			keys = append(keys, "rounding: truncated")
		}
	}
	if r.Gear != "" {
		keys = append(keys, "gear: "+r.Gear)
	}
	if r.Intended {
		keys = append(keys, "intended: true")
	}
	if r.Note != "" {
		keys = append(keys, "note: "+text(r.Note))
	}
	w.line("  %s: {%s}", text(r.Name), strings.Join(keys, ", "))
}
