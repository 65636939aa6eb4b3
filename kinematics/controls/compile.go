package controls

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
)

// A Problem is one thing that is wrong with a Spec.
type Problem struct {
	// Path is where it is: keys of the block and indices of lists, such as
	// valves, valve-12, up.
	Path []string
	// At and Width are the bytes of the text at Path that are meant; Width 0 is all.
	At, Width     int
	Message, Hint string
	Warning       bool
}

// Error returns the message behind its path.
func (p Problem) Error() string { return strings.Join(p.Path, ".") + ": " + p.Message }

// reserved are the words of expressions, and of faults, that name no part.
var reserved = []string{"and", "or", "not", "lever", "unknown", "line", "supply"}

// Compile gives the controls of t a meaning. All that is wrong is found at once;
// the network is nil if any of it is more than a warning. The network is then
// proved: see [Network.Prove].
func Compile(t *kinematics.Train, s *Spec) (*Network, []Problem) {
	c := build(t, s)
	if !c.refused() {
		c.uses()
		c.n.settleHealthy()
		c.expects()
	}
	if c.refused() {
		return nil, c.problems
	}
	return c.n, c.problems
}

// build compiles all but what is expected, and does not ask whether it is used.
func build(t *kinematics.Train, s *Spec) *compiler {
	c := &compiler{
		n: &Network{Spec: s, Train: t}, refs: map[string]int{}, kinds: map[string]string{}, reads: map[string]bool{},
	}
	c.declare()
	c.connect()
	if !c.refused() {
		c.feedback()
		c.unfed()
	}
	c.command()
	c.failSafes()
	return c
}

type compiler struct {
	n        *Network
	refs     map[string]int    // signals by name
	kinds    map[string]string // "solenoid" and so on by name
	reads    map[string]bool   // names that some expression reads
	problems []Problem
}

func (c *compiler) refused() bool {
	return slices.ContainsFunc(c.problems, func(p Problem) bool { return !p.Warning })
}

func (c *compiler) fail(path []string, hint, format string, args ...any) {
	c.problems = append(c.problems, Problem{Path: path, Message: fmt.Sprintf(format, args...), Hint: hint})
}

func (c *compiler) warn(path []string, hint, format string, args ...any) {
	c.fail(path, hint, format, args...)
	c.problems[len(c.problems)-1].Warning = true
}

func path(keys ...string) []string { return keys }

// below is a path with more keys behind it.
func below(path []string, keys ...string) []string { return slices.Concat(path, keys) }

// declare gives every part its signal.
func (c *compiler) declare() {
	s, n := c.n.Spec, c.n
	at := 1
	c.refs["line"] = 0
	add := func(key, kind, name string) {
		switch {
		case !kinematics.ValidName(name) || slices.Contains(reserved, name):
			c.fail(path(key, name), "a name is of letters, digits, - and _, and none of "+strings.Join(reserved, ", "),
				"%s cannot name a %s", kinematics.Quote(name), kind)
		case c.kinds[name] != "":
			c.fail(path(key, name), "give one of them another name", "%s is the name of a %s already", name, c.kinds[name])
		}
		c.refs[name], c.kinds[name] = at, kind
		at++
	}
	for _, x := range s.Solenoids {
		add("solenoids", "solenoid", x.Name)
		n.solenoids = append(n.solenoids, x.Name)
		if x.Code != "" && !codeName(x.Code) {
			c.fail(path("solenoids", x.Name, "code"), "write shift A to shift H, or pressure control A to pressure control F; "+
				"leave it out where no open code names it", "no trouble code calls a solenoid %s", kinematics.Quote(x.Code))
		}
	}
	for _, x := range s.Valves {
		add("valves", "valve", x.Name)
		n.valves = append(n.valves, valve{name: x.Name})
	}
	for _, x := range s.Circuits {
		add("circuits", "circuit", x.Name)
		n.circuits = append(n.circuits, circuit{name: x.Name})
	}
	for _, x := range s.Balls {
		add("balls", "ball", x.Name)
		n.balls = append(n.balls, ball{name: x.Name})
	}
	for _, m := range []struct {
		key       string
		have, max int
	}{{"solenoids", len(n.solenoids), maxSolenoids}, {"valves", len(n.valves), maxValves},
		{"circuits", len(n.circuits), 200}, {"balls", len(n.balls), 50}, {"feeds", len(s.Feeds), maxFeeds}} {
		if m.have > m.max {
			c.fail(path(m.key), "", "%d %s are too many: at most %d", m.have, m.key, m.max)
		}
	}
}

// codeName says whether open trouble codes call a solenoid so, "shift A" to "shift H" or
// "pressure control A" to "pressure control F": SAE J2012 (ISO 15031-6).
func codeName(text string) bool {
	for _, of := range []struct{ name, letters string }{{"shift ", "ABCDEFGH"}, {"pressure control ", "ABCDEF"}} {
		if letter, ok := strings.CutPrefix(text, of.name); ok {
			return len(letter) == 1 && strings.Contains(of.letters, letter)
		}
	}
	return false
}

// connect compiles all expressions. Valves and circuits come first, so that the
// unknowns that valves can depend on have the low numbers.
func (c *compiler) connect() {
	s, n := c.n.Spec, c.n
	var up, down, from []*node
	for _, x := range s.Valves {
		up = append(up, c.parse(x.Up, "valves", x.Name, "up"))
		down = append(down, c.parse(x.Down, "valves", x.Name, "down"))
		if x.Up == "" && x.Down == "" {
			c.fail(path("valves", x.Name), "say what pressure lifts it: up: S1", "nothing moves %s", x.Name)
		}
	}
	for _, x := range s.Circuits {
		from = append(from, c.parse(x.From, "circuits", x.Name))
		if x.From == "" {
			c.fail(path("circuits", x.Name), "write where its pressure comes from: drive and valve-12, or unknown",
				"%s comes from nowhere", x.Name)
		}
	}
	var areas [][]*node
	var releases []*node
	for _, x := range s.Feeds {
		var list []*node
		for i, a := range x.Apply {
			list = append(list, c.parse(a.From, "feeds", x.Element, "apply", strconv.Itoa(i), "from"))
		}
		areas = append(areas, list)
		releases = append(releases, c.parse(x.Release, "feeds", x.Element, "release"))
	}
	c.gatherLevers(slices.Concat([][]*node{up, down, from, releases, c.tableLevers()}, areas)...)
	for i := range n.valves {
		n.valves[i].up, n.valves[i].down = c.program(up[i]), c.program(down[i])
	}
	for i := range n.circuits {
		n.circuits[i].from = c.program(from[i])
	}
	n.deep = n.unknowns
	for i, x := range s.Balls {
		for k, name := range x.From {
			if c.kinds[name] != "circuit" {
				c.fail(path("balls", x.Name, "from", strconv.Itoa(k)), c.nearest(name, "circuit"),
					"%s is no circuit", kinematics.Quote(name))
				continue
			}
			n.balls[i].from = append(n.balls[i].from, c.refs[name]-n.circuitAt(0))
			c.reads[name] = true
		}
		if len(x.From) < 2 {
			c.fail(path("balls", x.Name), "from: [reverse, low]", "a check ball lies between two circuits or more")
		}
	}
	for i, x := range s.Feeds {
		c.feed(x, areas[i], releases[i])
	}
	for i, p := range s.Neighbours {
		c.neighbours(i, p)
	}
	c.sort(from)
}

// parse reads an expression and resolves its names; nil for "" and for what is
// wrong.
func (c *compiler) parse(text string, where ...string) *node {
	if text == "" {
		return nil
	}
	root, err := parse(text)
	if err != nil {
		c.problems = append(c.problems, Problem{where, err.at, err.width, err.message, err.hint, false})
		return nil
	}
	ok := true
	root.leaves(func(l *node) {
		bad := func(at, width int, hint, format string, args ...any) {
			c.problems = append(c.problems, Problem{where, at, width, fmt.Sprintf(format, args...), hint, false})
			ok = false
		}
		switch l.op {
		case opName:
			c.reads[l.name] = true
			if _, there := c.refs[l.name]; !there {
				bad(l.at, l.width, c.nearest(l.name, ""), "there is no solenoid, valve, circuit or ball %s",
					kinematics.Quote(l.name))
			}
		case opLever:
			for i, p := range l.list {
				if c.position(p) < 0 {
					bad(l.spots[i], len(p), "", "%s", c.noPosition(p))
				}
			}
		}
	})
	if !ok {
		return nil
	}
	return root
}

func (c *compiler) position(name string) int {
	return slices.IndexFunc(c.n.Train.Positions, func(p kinematics.Position) bool { return p.Name == name })
}

func (c *compiler) noPosition(name string) error {
	t := c.n.Train
	return t.NoSuch("position", name, kinematics.Map(t.Positions, func(p kinematics.Position) string { return p.Name }))
}

// nearest hints at the name that was probably meant; kind "" is any.
func (c *compiler) nearest(name, kind string) string {
	var have []string
	for x, k := range c.kinds {
		if kind == "" || k == kind {
			have = append(have, x)
		}
	}
	slices.Sort(have)
	if near := kinematics.Nearest(name, have); near != "" {
		return "did you mean " + near + "?"
	}
	if len(have) == 0 {
		return "declare it first"
	}
	return "there are " + kinematics.And(have)
}

// gatherLevers numbers the distinct sets of positions, each a signal.
func (c *compiler) gatherLevers(lists ...[]*node) {
	for _, list := range lists {
		for _, root := range list {
			root.leaves(func(l *node) {
				if l.op == opLever && !slices.Contains(c.n.levers, c.leverSet(l)) {
					c.n.levers = append(c.n.levers, c.leverSet(l))
				}
			})
		}
	}
}

// tableLevers are the levers that the rows of a table will ask for.
func (c *compiler) tableLevers() []*node {
	var list []*node
	for _, row := range c.n.Spec.Table {
		if len(row.Levers) > 0 {
			list = append(list, &node{op: opLever, list: row.Levers})
		}
	}
	return list
}

func (c *compiler) leverSet(l *node) uint64 {
	var set uint64
	for _, p := range l.list {
		if i := c.position(p); i >= 0 {
			set |= 1 << i
		}
	}
	return set
}

func (c *compiler) program(n *node) program {
	if n == nil {
		return nil
	}
	switch n.op {
	case opName:
		return program{{opName, uint16(c.refs[n.name])}}
	case opLever:
		return program{{opName, uint16(c.n.leverAt(slices.Index(c.n.levers, c.leverSet(n))))}}
	case opUnknown:
		c.n.unknowns++
		return program{{opName, uint16(c.n.unknownAt(c.n.unknowns - 1))}}
	}
	var p program
	for _, a := range n.args {
		p = append(p, c.program(a)...)
	}
	p = append(p, instr{n.op, uint16(len(n.args))})
	c.n.longest = max(c.n.longest, len(p))
	return p
}

func (c *compiler) feed(x Feed, areas []*node, release *node) {
	t, where := c.n.Train, path("feeds", x.Element)
	e, err := t.FindElement(x.Element)
	switch {
	case err != nil:
		c.fail(where, "", "%s", err)
		return
	case t.Couplings[e].Kind == kinematics.OneWay && !t.Couplings[e].Switched:
		c.fail(where, "leave it out: it acts by itself", "%s is a one-way clutch, which nothing feeds", x.Element)
		return
	case len(x.Apply) == 0:
		c.fail(where, "apply: the circuit, or unknown", "nothing applies %s", x.Element)
	case len(x.Apply) > maxAreas:
		c.fail(where, "", "%s has %d apply areas: at most %d are taken", x.Element, len(x.Apply), maxAreas)
		return
	}
	f := feed{element: e, release: c.program(release)}
	for i, a := range x.Apply {
		share := kinematics.Share{Num: 1, Den: 1}
		if a.Share != "" {
			if share, err = kinematics.ParseShare(a.Share); err != nil || share.Num > share.Den {
				c.fail(below(where, "apply", strconv.Itoa(i), "share"), "write a number such as 0.6",
					"%s is no share of the capacity: it is above 0 and at most 1", kinematics.Quote(a.Share))
			}
		}
		f.areas = append(f.areas, area{c.program(areas[i]), share})
	}
	f.fill, f.exhaust = c.routes(x.Fill, where, "fill"), c.routes(x.Exhaust, where, "exhaust")
	c.n.feeds = append(c.n.feeds, f)
}

func (c *compiler) routes(list []Route, where []string, key string) []route {
	var out []route
	for i, r := range list {
		at := below(where, key, strconv.Itoa(i))
		if !(r.Take > 0 && r.Take <= 60) || math.IsNaN(r.Take) {
			c.fail(below(at, "take"), "write seconds: 0.35", "%v is no time: it is above 0 and at most 60 s", r.Take)
		}
		if i > 0 && list[i-1].When == "" {
			c.fail(at, "put the one without a condition last", "this route is never taken: the one before it always is")
		}
		root := c.parse(r.When, below(at, "when")...)
		c.gatherLeversLate(root, below(at, "when"))
		out = append(out, route{c.program(root), r.Take})
	}
	return out
}

// gatherLeversLate refuses a set of positions that no signal has: routes are read
// when the signals are numbered.
func (c *compiler) gatherLeversLate(root *node, where []string) {
	root.leaves(func(l *node) {
		if l.op == opLever && !slices.Contains(c.n.levers, c.leverSet(l)) {
			c.problems = append(c.problems, Problem{where, l.at, l.width,
				"no circuit, valve or feed asks for the lever like this", "make it a circuit and name that", false})
		}
	})
}

func (c *compiler) neighbours(i int, p [2]string) {
	var pair [2]int
	for k, name := range p {
		if c.kinds[name] != "circuit" {
			c.fail(path("neighbours", strconv.Itoa(i), strconv.Itoa(k)), c.nearest(name, "circuit"),
				"%s is no circuit", kinematics.Quote(name))
			return
		}
		pair[k] = c.refs[name] - c.n.circuitAt(0)
	}
	if p[0] == p[1] {
		c.fail(path("neighbours", strconv.Itoa(i)), "name two circuits", "%s is no neighbour of itself", p[0])
		return
	}
	c.n.pairs = append(c.n.pairs, pair, [2]int{pair[1], pair[0]})
}

// sort puts circuits and balls behind what they read. A circuit that reads itself,
// not through a valve, has no source.
func (c *compiler) sort(from []*node) {
	n := c.n
	const unseen, open, done = 0, 1, 2
	mark := map[int]int{}
	var visit func(at int) bool
	visit = func(at int) bool {
		if mark[at] == done {
			return true
		}
		if mark[at] == open {
			return false
		}
		mark[at] = open
		ok := true
		if at < 0 {
			for _, i := range n.balls[-1-at].from {
				ok = visit(i) && ok
			}
		} else {
			from[at].leaves(func(l *node) {
				switch c.kinds[l.name] {
				case "circuit":
					ok = visit(c.refs[l.name]-n.circuitAt(0)) && ok
				case "ball":
					ok = visit(-1-(c.refs[l.name]-n.ballAt(0))) && ok
				}
			})
		}
		mark[at] = done
		n.order = append(n.order, at)
		return ok
	}
	for i := range n.circuits {
		if mark[i] == unseen && !visit(i) {
			c.fail(path("circuits", n.circuits[i].name), "begin with line, a lever or another circuit",
				"the pressure of %s comes from itself", n.circuits[i].name)
		}
	}
	for i := range n.balls {
		visit(-1 - i)
	}
}

// feedback marks the valves that can depend on their own position.
func (c *compiler) feedback() {
	n := c.n
	reads := make([]uint64, len(n.valves)) // valves that a valve reads, also through circuits
	through := make([]uint64, n.size())
	for i := range n.valves {
		through[n.valveAt(i)] = 1 << i
	}
	of := func(p program) (m uint64) {
		for _, x := range p {
			if x.op == opName {
				m |= through[x.at]
			}
		}
		return m
	}
	for _, at := range n.order {
		if at >= 0 {
			through[n.circuitAt(at)] = of(n.circuits[at].from)
			continue
		}
		for _, i := range n.balls[-1-at].from {
			through[n.ballAt(-1-at)] |= through[n.circuitAt(i)]
		}
	}
	for i, v := range n.valves {
		reads[i] = of(v.up) | of(v.down)
	}
	for range n.valves {
		for i := range reads {
			for k := range reads {
				if reads[i]>>k&1 != 0 {
					reads[i] |= reads[k]
				}
			}
		}
	}
	for i := range n.valves {
		n.valves[i].feedback = reads[i]>>i&1 != 0
	}
}
