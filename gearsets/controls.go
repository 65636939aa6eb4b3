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

// A controlsBlock is the controls as decoded, with where each of its texts stands.
type controlsBlock struct {
	r     *report
	at    problem.Place
	spec  *controls.Spec
	bad   bool
	nodes map[string]*yaml.Node // by path: "valves/valve-12/up"
}

// controls reads the block; nil if there is none.
func (r *report) controls(file *object) *controlsBlock {
	f, ok := file.Get("controls")
	if !ok {
		return nil
	}
	before := len(r.Problems)
	b := &controlsBlock{r: r, at: f.Key.Place, spec: &controls.Spec{}, nodes: map[string]*yaml.Node{}}
	if o, ok := r.Object(f.Value, f.Key, "controls", controlsTable); ok {
		b.read(o)
	}
	b.bad = len(r.Problems) > before
	return b
}

func (b *controlsBlock) read(o *object) {
	s := b.spec
	for _, f := range o.Fields {
		b.mark(f.Value, f.Key.Value)
	}
	s.Note = o.Text("note").Value
	s.Sources = values(texts(o, "source"))
	for _, e := range o.Entries("solenoids") {
		b.mark(e.Value, "solenoids", e.Key.Value)
		if x, ok := b.object(e, "solenoid", solenoidTable); ok {
			s.Solenoids = append(s.Solenoids, controls.Solenoid{
				Name: e.Key.Value, Code: b.line(x, "code", "solenoids", e.Key.Value),
				Hydraulic: x.Flag("hydraulic"), Note: x.Text("note").Value})
		}
	}
	for _, e := range o.Entries("circuits") {
		text := b.text(o, e.Value, e.Key, e.Key.Value, expressionHint, "circuits", e.Key.Value)
		s.Circuits = append(s.Circuits, controls.Circuit{Name: e.Key.Value, From: text})
	}
	for _, e := range o.Entries("valves") {
		b.mark(e.Value, "valves", e.Key.Value)
		if x, ok := b.object(e, "valve", valveTable); ok {
			s.Valves = append(s.Valves, controls.Valve{Name: e.Key.Value, Up: b.line(x, "up", "valves", e.Key.Value),
				Down: b.line(x, "down", "valves", e.Key.Value), Note: x.Text("note").Value})
		}
	}
	for _, e := range o.Entries("balls") {
		b.mark(e.Value, "balls", e.Key.Value)
		if x, ok := b.object(e, "ball", ballTable); ok {
			s.Balls = append(s.Balls, controls.Ball{Name: e.Key.Value, From: b.names(x, "from", "balls", e.Key.Value)})
		}
	}
	s.Feeds = kinematics.Map(o.Entries("feeds"), func(e yamlfile.Field) controls.Feed { return b.feed(o, e) })
	b.neighbours(o)
	for _, e := range o.Entries("command") {
		s.Commands = append(s.Commands, b.command(o, e, "command"))
	}
	s.FailSafe = kinematics.Map(o.Entries("fail-safe"), b.failSafe)
	b.each(o, "table", rowTable, func(x *object, path ...string) { s.Table = append(s.Table, b.row(x, path...)) })
	b.each(o, "expect", expectTable, func(x *object, path ...string) {
		s.Expect = append(s.Expect, b.expect(x, path...))
	})
}

// mark keeps where the node of a path stands.
func (b *controlsBlock) mark(n *yaml.Node, path ...string) { b.nodes[strings.Join(path, "/")] = n }

func (b *controlsBlock) object(e field, what string, t *yamlfile.Table) (*object, bool) {
	return b.r.Object(e.Value, e.Key, "controls: "+what+" "+e.Key.Value, t)
}

// line reads a text of one line by its key.
func (b *controlsBlock) line(o *object, key string, path ...string) string {
	if f, ok := o.Get(key); ok {
		b.mark(f.Value, append(path, key)...)
	}
	return o.Line(key).Value
}

// text reads one value.
func (b *controlsBlock) text(o *object, n *yaml.Node, key scalar, what, hint string, path ...string) string {
	b.mark(n, path...)
	return strings.TrimSpace(o.Scalar(n, key, what, hint).Value)
}

// names reads a list of names by its key; an empty one is not nil.
func (b *controlsBlock) names(o *object, key string, path ...string) []string {
	f, ok := o.Get(key)
	if !ok {
		return nil
	}
	for i, n := range f.Value.Content {
		b.mark(n, append(slices.Clone(path), key, strconv.Itoa(i))...)
	}
	return append([]string{}, values(o.Names(key))...)
}

// each reads the entries of a list of mappings.
func (b *controlsBlock) each(o *object, key string, t *yamlfile.Table, read func(x *object, path ...string)) {
	f, ok := o.Get(key)
	if !ok {
		return
	}
	if f.Value.Kind != yaml.SequenceNode {
		o.Errorf(o.Where(f.Value, f.Key), "write a list of "+t.Form[len("write "):], "%s is %s, where a list belongs", key,
			yamlfile.Describe(f.Value))
		return
	}
	for i, n := range f.Value.Content {
		b.mark(n, key, strconv.Itoa(i))
		if x, ok := b.r.Object(n, scalar{Place: b.r.Place(n)}, "controls: "+key, t); ok {
			read(x, key, strconv.Itoa(i))
		}
	}
}

func (b *controlsBlock) feed(o *object, e field) controls.Feed {
	f := controls.Feed{Element: e.Key.Value}
	b.mark(e.Value, "feeds", f.Element)
	if e.Value.Kind != yaml.MappingNode {
		f.Apply = []controls.Area{{From: b.text(o, e.Value, e.Key, f.Element, expressionHint, "feeds", f.Element, "apply",
			"0", "from")}}
		return f
	}
	x, ok := b.object(e, "feed of", feedTable)
	if !ok {
		return f
	}
	if a, ok := x.Get("apply"); ok && a.Value.Kind == yaml.SequenceNode {
		for i, n := range a.Value.Content {
			f.Apply = append(f.Apply, b.area(n, "feeds", f.Element, "apply", strconv.Itoa(i)))
		}
	} else if ok {
		f.Apply = []controls.Area{{From: b.text(x, a.Value, a.Key, "apply", expressionHint, "feeds", f.Element, "apply",
			"0", "from")}}
	}
	f.Release = b.line(x, "release", "feeds", f.Element)
	f.Fill, f.Exhaust = b.routes(x, "fill", f.Element), b.routes(x, "exhaust", f.Element)
	return f
}

func (b *controlsBlock) area(n *yaml.Node, path ...string) controls.Area {
	b.mark(n, path...)
	x, ok := b.r.Object(n, scalar{Place: b.r.Place(n)}, "controls: "+path[1], areaTable)
	if !ok {
		return controls.Area{}
	}
	x.Decimal("share") // that it is a number above 0
	return controls.Area{From: b.line(x, "from", path...), Share: b.line(x, "share", path...)}
}

func (b *controlsBlock) routes(o *object, key, element string) []controls.Route {
	f, ok := o.Get(key)
	if !ok {
		return nil
	}
	if f.Value.Kind != yaml.SequenceNode {
		b.mark(f.Value, "feeds", element, key, "0")
		take, _ := b.r.Entry(o.Owner, f, seconds, routeHint).Decimal(key)
		return []controls.Route{{Take: take}}
	}
	var list []controls.Route
	for i, n := range f.Value.Content {
		path := []string{"feeds", element, key, strconv.Itoa(i)}
		b.mark(n, path...)
		if x, ok := b.r.Object(n, scalar{Place: b.r.Place(n)}, o.Owner, routeTable); ok {
			take, _ := x.Decimal("take")
			list = append(list, controls.Route{When: b.line(x, "when", path...), Take: take})
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
	for i, n := range f.Value.Content {
		b.mark(n, "neighbours", strconv.Itoa(i))
		if n.Kind != yaml.SequenceNode || len(n.Content) != 2 {
			o.Errorf(b.r.Place(n), hint, "neighbours are two circuits")
			continue
		}
		var pair [2]string
		for k, c := range n.Content {
			pair[k] = b.text(o, c, scalar{}, "a neighbour", hint, "neighbours", strconv.Itoa(i), strconv.Itoa(k))
		}
		b.spec.Neighbours = append(b.spec.Neighbours, pair)
	}
}

// command reads a range, or position/range, with its patterns.
func (b *controlsBlock) command(o *object, e field, under ...string) controls.Command {
	c := controls.Command{Range: e.Key.Value}
	if p, r, ok := strings.Cut(e.Key.Value, "/"); ok {
		c.Position, c.Range = p, r
	}
	path := append(slices.Clone(under), e.Key.Value)
	b.mark(e.Value, path...)
	n := e.Value
	several := n.Kind == yaml.SequenceNode && slices.ContainsFunc(n.Content,
		func(c *yaml.Node) bool { return c.Kind != yaml.ScalarNode })
	if !several {
		c.Patterns = []controls.Pattern{b.pattern(o, n, e.Key, append(path, "0")...)}
		return c
	}
	for i, x := range n.Content {
		c.Patterns = append(c.Patterns, b.pattern(o, x, e.Key, append(slices.Clone(path), strconv.Itoa(i))...))
	}
	return c
}

func (b *controlsBlock) pattern(o *object, n *yaml.Node, key scalar, path ...string) controls.Pattern {
	b.mark(n, path...)
	switch n.Kind {
	case yaml.MappingNode:
		x, ok := b.r.Object(n, key, o.Owner+": "+key.Value, patternTable)
		if !ok {
			return controls.Pattern{}
		}
		return controls.Pattern{On: b.names(x, "on", path...), Either: b.names(x, "either", path...),
			Apply: b.names(x, "apply", path...)}
	case yaml.SequenceNode:
		on := []string{}
		for i, c := range n.Content {
			on = append(on, b.text(o, c, scalar{}, "a solenoid", patternHint,
				append(slices.Clone(path), "on", strconv.Itoa(i))...))
		}
		return controls.Pattern{On: on}
	}
	o.Errorf(o.Where(n, key), patternHint, "%s is %s, where solenoids belong", key.Value, yamlfile.Describe(n))
	return controls.Pattern{}
}

func (b *controlsBlock) failSafe(e field) controls.FailSafe {
	x := controls.FailSafe{Of: strings.Split(e.Key.Value, "+")}
	b.mark(e.Value, "fail-safe", e.Key.Value)
	o, ok := b.r.Mapping(e.Value, e.Key, "controls: fail-safe of "+e.Key.Value, failSafeKeys.Form)
	if !ok {
		return x
	}
	o.Expect(failSafeKeys)
	x.When, x.Monitored = b.names(o, "when", "fail-safe", e.Key.Value), o.Flag("monitored")
	for _, f := range o.Fields {
		if !slices.Contains(failSafeKeys.Names(), f.Key.Value) {
			x.Instead = append(x.Instead, b.command(o, f, "fail-safe", e.Key.Value))
		}
	}
	return x
}

// oneOrMore reads a name or a list of names.
func (b *controlsBlock) oneOrMore(o *object, key string, path ...string) []string {
	f, ok := o.Get(key)
	switch {
	case !ok:
		return nil
	case f.Value.Kind == yaml.SequenceNode:
		return b.names(o, key, path...)
	}
	b.mark(f.Value, append(slices.Clone(path), key, "0")...)
	if s := o.Line(key); s.Given() {
		return []string{s.Value}
	}
	return nil
}

func (b *controlsBlock) row(x *object, path ...string) controls.Row {
	return controls.Row{Levers: b.oneOrMore(x, "lever", path...), Any: !x.Has("on"),
		Pattern: controls.Pattern{On: b.names(x, "on", path...), Either: b.names(x, "either", path...),
			Apply: b.names(x, "apply", path...)},
		Gives: b.line(x, "gives", path...)}
}

func (b *controlsBlock) expect(x *object, path ...string) controls.Expect {
	return controls.Expect{Lever: b.line(x, "lever", path...), Range: b.line(x, "range", path...),
		Faults: b.oneOrMore(x, "fault", path...),
		Gives:  b.line(x, "gives", path...), Applies: b.names(x, "applies", path...), Before: x.Flag("before"),
		Source: x.Line("source").Value}
}

// place is where a part of the text at a path stands; the nearest above it where the
// path itself stands nowhere.
func (b *controlsBlock) place(path []string, at, width int) problem.Place {
	for end := len(path); end > 0; end-- {
		n := b.nodes[strings.Join(path[:end], "/")]
		if n == nil {
			continue
		}
		p := b.r.Place(n)
		if end == len(path) && width > 0 {
			return within(n, p, at, width)
		}
		return p
	}
	return b.at
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
