package gearsets

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// controlsHint is what to do about a name that means nothing, where the message says
// which there are.
const controlsHint = "write one that the train file has, or leave the line out"

// A controlsBlock is the controls as decoded, with the mapping that they were read from.
type controlsBlock struct {
	r    *report
	root field
	spec *controls.Spec
	bad  bool
}

// controls reads the block; nil if there is none.
func (r *report) controls(file *object) *controlsBlock {
	f, ok := file.Get("controls")
	if !ok {
		return nil
	}
	before := len(r.Problems)
	b := &controlsBlock{r: r, root: f, spec: &controls.Spec{}}
	if o, ok := r.Object(f.Value, f.Key, "controls", controlsTable); ok {
		b.read(o)
	}
	b.bad = len(r.Problems) > before
	return b
}

func (b *controlsBlock) read(o *object) {
	s := b.spec
	s.Note = o.Text("note").Value
	s.Sources = values(texts(o, "source"))
	for _, e := range o.Entries("solenoids") {
		if x, ok := b.object(e, "solenoid", solenoidTable); ok {
			s.Solenoids = append(s.Solenoids, controls.Solenoid{
				Name: e.Key.Value, Code: x.Line("code").Value, Hydraulic: x.Flag("hydraulic"), Note: x.Text("note").Value})
		}
	}
	for _, e := range o.Entries("circuits") {
		s.Circuits = append(s.Circuits, controls.Circuit{
			Name: e.Key.Value, From: single(o, e.Value, e.Key, e.Key.Value, expressionHint)})
	}
	for _, e := range o.Entries("valves") {
		if x, ok := b.object(e, "valve", valveTable); ok {
			s.Valves = append(s.Valves, controls.Valve{
				Name: e.Key.Value, Up: x.Line("up").Value, Down: x.Line("down").Value, Note: x.Text("note").Value})
		}
	}
	for _, e := range o.Entries("balls") {
		if x, ok := b.object(e, "ball", ballTable); ok {
			s.Balls = append(s.Balls, controls.Ball{Name: e.Key.Value, From: listed(x, "from")})
		}
	}
	s.Feeds = kinematics.Map(o.Entries("feeds"), func(e field) controls.Feed { return b.feed(o, e) })
	b.neighbours(o)
	s.Commands = kinematics.Map(o.Entries("command"), func(e field) controls.Command { return b.command(o, e) })
	s.FailSafe = kinematics.Map(o.Entries("fail-safe"), b.failSafe)
	b.each(o, "table", rowTable, func(x *object) { s.Table = append(s.Table, row(x)) })
	b.each(o, "expect", expectTable, func(x *object) { s.Expect = append(s.Expect, expect(x)) })
}

func (b *controlsBlock) object(e field, what string, t *yamlfile.Table) (*object, bool) {
	return b.r.Object(e.Value, e.Key, "controls: "+what+" "+e.Key.Value, t)
}

// entry reads a mapping that is an entry of a list.
func (b *controlsBlock) entry(n *yaml.Node, owner string, t *yamlfile.Table) (*object, bool) {
	return b.r.Object(n, scalar{Place: b.r.Place(n)}, owner, t)
}

// single reads one value.
func single(o *object, n *yaml.Node, key scalar, what, hint string) string {
	return strings.TrimSpace(o.Scalar(n, key, what, hint).Value)
}

// listed reads a list of names by its key; an empty one is not nil.
func listed(o *object, key string) []string {
	if !o.Has(key) {
		return nil
	}
	return values(o.Names(key))
}

// each reads the entries of a list of mappings.
func (b *controlsBlock) each(o *object, key string, t *yamlfile.Table, read func(x *object)) {
	f, ok := o.Get(key)
	if !ok {
		return
	}
	if f.Value.Kind != yaml.SequenceNode {
		o.Errorf(o.Where(f.Value, f.Key), "write a list of "+t.Form[len("write "):], "%s is %s, where a list belongs", key,
			yamlfile.Describe(f.Value))
		return
	}
	for _, n := range f.Value.Content {
		if x, ok := b.entry(n, "controls: "+key, t); ok {
			read(x)
		}
	}
}

func (b *controlsBlock) feed(o *object, e field) controls.Feed {
	f := controls.Feed{Element: e.Key.Value}
	one := func(o *object, n *yaml.Node, key scalar, what string) []controls.Area {
		return []controls.Area{{From: single(o, n, key, what, expressionHint)}}
	}
	if e.Value.Kind != yaml.MappingNode {
		f.Apply = one(o, e.Value, e.Key, f.Element)
		return f
	}
	x, ok := b.object(e, "feed of", feedTable)
	if !ok {
		return f
	}
	if a, ok := x.Get("apply"); ok && a.Value.Kind == yaml.SequenceNode {
		f.Apply = kinematics.Map(a.Value.Content, func(n *yaml.Node) controls.Area { return b.area(n, f.Element) })
	} else if ok {
		f.Apply = one(x, a.Value, a.Key, "apply")
	}
	f.Release = x.Line("release").Value
	f.Fill, f.Exhaust = b.routes(x, "fill"), b.routes(x, "exhaust")
	return f
}

func (b *controlsBlock) area(n *yaml.Node, element string) controls.Area {
	x, ok := b.entry(n, "controls: "+element, areaTable)
	if !ok {
		return controls.Area{}
	}
	x.Decimal("share") // that it is a number above 0
	return controls.Area{From: x.Line("from").Value, Share: x.Line("share").Value}
}

func (b *controlsBlock) routes(o *object, key string) []controls.Route {
	f, ok := o.Get(key)
	if !ok {
		return nil
	}
	if f.Value.Kind != yaml.SequenceNode {
		take, _ := b.r.Entry(o.Owner, f, seconds, routeHint).Decimal(key)
		return []controls.Route{{Take: take}}
	}
	var list []controls.Route
	for _, n := range f.Value.Content {
		if x, ok := b.entry(n, o.Owner, routeTable); ok {
			take, _ := x.Decimal("take")
			list = append(list, controls.Route{When: x.Line("when").Value, Take: take})
		}
	}
	return list
}

func (b *controlsBlock) neighbours(o *object) {
	f, ok := o.Get("neighbours")
	if !ok {
		return
	}
	const hint = "write pairs of circuits: [[drive, second]]"
	if f.Value.Kind != yaml.SequenceNode {
		o.Errorf(o.Where(f.Value, f.Key), hint, "neighbours is %s, where a list belongs", yamlfile.Describe(f.Value))
		return
	}
	for _, n := range f.Value.Content {
		if n.Kind != yaml.SequenceNode || len(n.Content) != 2 {
			o.Errorf(b.r.Place(n), hint, "neighbours are two circuits")
			continue
		}
		var pair [2]string
		for k, c := range n.Content {
			pair[k] = single(o, c, scalar{}, "a neighbour", hint)
		}
		b.spec.Neighbours = append(b.spec.Neighbours, pair)
	}
}

// command reads a range, or position/range, with its patterns.
func (b *controlsBlock) command(o *object, e field) controls.Command {
	c := controls.Command{Range: e.Key.Value}
	if p, r, ok := strings.Cut(e.Key.Value, "/"); ok {
		c.Position, c.Range = p, r
	}
	patterns := []*yaml.Node{e.Value}
	if e.Value.Kind == yaml.SequenceNode && !plain(e.Value) {
		patterns = e.Value.Content
	}
	c.Patterns = kinematics.Map(patterns, func(n *yaml.Node) controls.Pattern { return b.pattern(o, n, e.Key) })
	return c
}

// plain says whether a list is one of single values: solenoids, not patterns of them.
func plain(list *yaml.Node) bool {
	return !slices.ContainsFunc(list.Content, func(c *yaml.Node) bool { return c.Kind != yaml.ScalarNode })
}

func (b *controlsBlock) pattern(o *object, n *yaml.Node, key scalar) controls.Pattern {
	switch n.Kind {
	case yaml.MappingNode:
		x, ok := b.r.Object(n, key, o.Owner+": "+key.Value, patternTable)
		if !ok {
			return controls.Pattern{}
		}
		return patternOf(x)
	case yaml.SequenceNode:
		on := []string{}
		for _, c := range n.Content {
			on = append(on, single(o, c, scalar{}, "a solenoid", patternHint))
		}
		return controls.Pattern{On: on}
	}
	o.Errorf(o.Where(n, key), patternHint, "%s is %s, where solenoids belong", key.Value, yamlfile.Describe(n))
	return controls.Pattern{}
}

func patternOf(x *object) controls.Pattern {
	return controls.Pattern{On: listed(x, "on"), Either: listed(x, "either"), Apply: listed(x, "apply")}
}

func (b *controlsBlock) failSafe(e field) controls.FailSafe {
	x := controls.FailSafe{Of: strings.Split(e.Key.Value, "+")}
	o, ok := b.r.Mapping(e.Value, e.Key, "controls: fail-safe of "+e.Key.Value, failSafeKeys.Form)
	if !ok {
		return x
	}
	o.Expect(failSafeKeys)
	x.When, x.Monitored = listed(o, "when"), o.Flag("monitored")
	for _, f := range o.Fields {
		if !slices.Contains(failSafeKeys.Names(), f.Key.Value) {
			x.Instead = append(x.Instead, b.command(o, f))
		}
	}
	return x
}

// oneOrMore reads a name or a list of names.
func oneOrMore(o *object, key string) []string {
	if f, ok := o.Get(key); ok && f.Value.Kind == yaml.SequenceNode {
		return listed(o, key)
	}
	if s := o.Line(key); s.Given() {
		return []string{s.Value}
	}
	return nil
}

func row(x *object) controls.Row {
	return controls.Row{Levers: oneOrMore(x, "lever"), Any: !x.Has("on"), Pattern: patternOf(x),
		Gives: x.Line("gives").Value}
}

func expect(x *object) controls.Expect {
	return controls.Expect{Lever: x.Line("lever").Value, Range: x.Line("range").Value, Faults: oneOrMore(x, "fault"),
		Gives: x.Line("gives").Value, Applies: listed(x, "applies"), Before: x.Flag("before"),
		Source: x.Line("source").Value}
}

// place is where a part of the text at a path stands; the nearest above it where the path
// itself stands nowhere. What a file writes in short is at each path that it stands for: a
// value is its list and its mapping, a list of solenoids the first pattern.
func (b *controlsBlock) place(path []string, at, width int) problem.Place {
	n, whole := b.root.Value, b.root.Key.Place
	for ; len(path) > 0 && n.Kind != yaml.ScalarNode; path = path[1:] {
		next := below(n, path[0])
		short := n.Kind == yaml.SequenceNode && (next == nil || len(path) > 1 && plain(n))
		switch {
		case next == nil && n.Kind == yaml.MappingNode && path[0] == "0" || short: // the one pattern
		case next == nil:
			return whole
		default:
			n, whole = next, b.r.Place(next)
		}
	}
	if width > 0 {
		return within(n, whole, at, width)
	}
	return whole
}

// below is the value of a key of a mapping, or an entry of a list; nil if there is none.
func below(n *yaml.Node, key string) *yaml.Node {
	if n.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == key {
				return n.Content[i+1]
			}
		}
		return nil
	}
	if i, err := strconv.Atoi(key); err == nil && i < len(n.Content) {
		return n.Content[i]
	}
	return nil
}

// within narrows a place to some bytes of its text, if it stands on one line as it is.
func within(n *yaml.Node, p problem.Place, at, width int) problem.Place {
	blank := len(n.Value) - len(strings.TrimLeft(n.Value, " \t")) // the text was trimmed
	at += blank
	if n.Kind != yaml.ScalarNode || n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 ||
		strings.ContainsAny(n.Value, "\n\\'\"") || at > len(n.Value) {
		return p
	}
	column := p.Column + utf8.RuneCountInString(n.Value[:at])
	if n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0 {
		column++
	}
	return problem.At(p.Line, column, max(1, utf8.RuneCountInString(n.Value[at:min(at+width, len(n.Value))])))
}

// compileControls gives the controls to the train that was built, and proves that they
// feed what its ranges apply.
func (r *report) compileControls(f *trainFile, t *kinematics.Train) {
	b := f.controls
	if b == nil || b.bad {
		return
	}
	n, problems := controls.Compile(t, b.spec)
	for _, p := range problems {
		severity := problem.Error
		if p.Warning {
			severity = problem.Warning
		}
		r.Add(severity, b.place(p.Path, p.At, p.Width), cmp.Or(p.Hint, controlsHint), "controls: "+p.Message)
	}
	if n == nil {
		return
	}
	b.prove(n)
	for _, path := range n.Unreached() {
		r.Add(problem.Warning, b.place(path, 0, 0), "it matters under faults alone; is that meant?",
			fmt.Sprintf("controls: no healthy range takes this way to %s %s", path[2], path[1]))
	}
	t.Controls = n
	for r := range t.Ranges {
		for _, e := range t.Ranges[r].Apply {
			part := n.Part(e, r)
			if !part.IsSet() {
				continue
			}
			if t.Ranges[r].Parts == nil {
				t.Ranges[r].Parts = map[int]kinematics.Share{}
			}
			t.Ranges[r].Parts[e] = part
		}
	}
}

// prove reports where the feeds give other than what the ranges apply.
func (b *controlsBlock) prove(n *controls.Network) {
	t := n.Train
	told := map[string]bool{}
	for _, d := range n.Prove() {
		name, rng := t.Couplings[d.Element].Name, t.Ranges[d.Node.Range].Name
		if told[name+"/"+rng] {
			continue
		}
		told[name+"/"+rng] = true
		what := "is fed, and the range does not apply it"
		if d.Want {
			what = fmt.Sprintf("has %s pressure, and the range applies it",
				map[controls.Level]string{controls.None: "no", controls.Low: "low"}[d.Got])
		}
		p := b.r.Errorf(b.place([]string{"feeds", name}, 0, 0),
			"with "+b.standing(n, d.Node)+": correct the feed, a circuit, a valve or the command",
			"controls: in %s%s %s %s", rng, inPosition(n.PositionName(d.Node.Position)), name, what)
		b.r.See(p, b.place([]string{"command", rng}, 0, 0), "the command of "+rng)
	}
}

func inPosition(name string) string {
	if name == "" {
		return ""
	}
	return " (lever in " + name + ")"
}

// standing says how solenoids and valves stand in a healthy command.
func (b *controlsBlock) standing(n *controls.Network, node controls.Node) string {
	text := "solenoids on: " + n.PatternText(node.On)
	before, _ := n.Evaluate()
	outcomes := before.Of(node.Position, node.Range).List
	if len(outcomes) == 0 {
		return text
	}
	for i, name := range n.Valves() {
		stands := map[controls.Level]string{controls.Full: "up", controls.None: "down"}
		text += ", " + name + " " + stands[outcomes[0].Valves[i]]
		if !outcomes[0].Valves[i].Known() {
			text += "unknown"
		}
	}
	return text
}
