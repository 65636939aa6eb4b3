package controls

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
)

// command finds the places, their commands, and the feeds of a table.
func (c *compiler) command() {
	n, t := c.n, c.n.Train
	if len(t.Positions) > maxPositions {
		c.fail(path("command"), "", "%d positions are too many for controls: at most %d", len(t.Positions), maxPositions)
		return
	}
	for p := range t.Positions {
		for _, r := range t.Positions[p].Ranges {
			n.places = append(n.places, place{p, r})
		}
	}
	if len(t.Positions) == 0 {
		for r := range t.Ranges {
			n.places = append(n.places, place{-1, r})
		}
	}
	c.table()
	given := c.commands(path("command"), n.Spec.Commands)
	for _, pl := range n.places {
		list, there := patternsAt(given, pl)
		if !there {
			list = c.fromTable(pl)
			there = len(list) > 0
		}
		if !there {
			name := t.Ranges[pl.rng].Name
			c.fail(path("command"), name+": [S1]; [] for none on; several patterns: [[S1], [S2]]",
				"no command for range %s%s", name, n.inPosition(pl.position))
			continue
		}
		n.normal = append(n.normal, c.nodes(pl, list)...)
	}
}

func (n *Network) inPosition(p int) string {
	if p < 0 {
		return ""
	}
	return " in position " + n.Train.Positions[p].Name
}

// unfed refuses elements that ranges apply and that nothing feeds, but for those
// that are moved by hand: the pawl, dogs and switched one-way clutches.
func (c *compiler) unfed() {
	t := c.n.Train
	if len(c.n.Spec.Table) > 0 {
		return // a table feeds all that can be fed
	}
	for e := range t.Couplings[:t.ElementCount] {
		k := t.Couplings[e].Kind
		byHand := k == kinematics.Pawl || k == kinematics.Dog || k == kinematics.OneWay
		applied := slices.ContainsFunc(t.Ranges, func(r kinematics.Range) bool { return slices.Contains(r.Apply, e) })
		if applied && !byHand && c.n.feedOf(e) < 0 {
			name := t.Couplings[e].Name
			c.fail(path("feeds"), name+": the circuit that applies it, or "+name+": unknown", "no circuit feeds %s", name)
		}
	}
}

// commands resolves commands by place; position -1 stands for every position that
// offers the range.
func (c *compiler) commands(where []string, list []Command) map[place][]pattern {
	t := c.n.Train
	out := map[place][]pattern{}
	for _, x := range list {
		key := x.Range
		if x.Position != "" {
			key = x.Position + "/" + x.Range
		}
		at := below(where, key)
		r, err := t.FindRange(x.Range)
		if err != nil {
			c.fail(at, "", "%s", err)
			continue
		}
		pl := place{-1, r}
		if x.Position != "" {
			if pl.position = c.position(x.Position); pl.position < 0 {
				c.fail(at, "", "%s", c.noPosition(x.Position))
				continue
			}
			if !slices.Contains(t.Positions[pl.position].Ranges, r) {
				c.fail(at, "see positions", "position %s does not offer range %s", x.Position, x.Range)
			}
		}
		for i, p := range x.Patterns {
			out[pl] = append(out[pl], c.pattern(p, below(at, strconv.Itoa(i)), t.Ranges[r].Apply))
		}
	}
	return out
}

// patternsAt are the patterns of a place, else those of its range in every position.
func patternsAt(given map[place][]pattern, pl place) (list []pattern, there bool) {
	if list, there = given[pl]; !there {
		list, there = given[place{-1, pl.rng}]
	}
	return list, there
}

// A pattern is a Pattern in bits.
type pattern struct{ on, either, apply uint64 }

func (c *compiler) pattern(p Pattern, where []string, apply []int) pattern {
	var out pattern
	set := func(list []string, key string) (m uint64) {
		for i, name := range list {
			if c.kinds[name] != "solenoid" {
				c.fail(below(where, key, strconv.Itoa(i)), c.nearest(name, "solenoid"),
					"%s is no solenoid", kinematics.Quote(name))
				continue
			}
			m |= 1 << (c.refs[name] - 1)
		}
		return m
	}
	out.on, out.either = set(p.On, "on"), set(p.Either, "either")
	if out.on&out.either != 0 {
		c.fail(where, "name it once", "%s cannot be both on and either", c.n.PatternText(out.on&out.either))
	}
	if bits.OnesCount64(out.either) > maxEither {
		c.fail(where, "write the patterns out", "at most %d solenoids can be either", maxEither)
		out.either = 0
	}
	out.apply = c.n.mask(apply)
	if p.Apply != nil {
		var own []int
		for i, name := range p.Apply {
			e, err := c.n.Train.FindElement(name)
			if err != nil {
				c.fail(below(where, "apply", strconv.Itoa(i)), "", "%s", err)
				continue
			}
			own = append(own, e)
		}
		out.apply = c.n.mask(own)
	}
	return out
}

// nodes writes the patterns of a place out, each solenoid on or off.
func (c *compiler) nodes(pl place, list []pattern) []Node {
	var out []Node
	for _, p := range list {
		for sub := uint64(0); ; sub = (sub - p.either) & p.either {
			out = append(out, Node{pl.position, pl.rng, p.on | sub, p.apply})
			if sub == p.either {
				break
			}
		}
	}
	return out
}

// table makes feeds of printed rows: an element is fed where a row matches whose
// range applies it, and what no row tells is unknown.
func (c *compiler) table() {
	n, t := c.n, c.n.Train
	if len(n.Spec.Table) == 0 {
		return
	}
	if len(n.Spec.Feeds) > 0 {
		c.fail(path("table"), "leave out one of them", "feeds and a table say the same thing twice")
		return
	}
	var matches []*node
	var told [][]int
	applied := map[int][]*node{}
	for i, row := range n.Spec.Table {
		m, sets := c.row(row, path("table", strconv.Itoa(i)))
		if m == nil {
			return
		}
		matches = append(matches, m)
		c.told(i, sets, told)
		told = append(told, sets)
		for _, e := range sets {
			applied[e] = append(applied[e], m)
		}
	}
	for e := range t.Couplings[:t.ElementCount] {
		if k := t.Couplings[e].Kind; k == kinematics.Pawl || k == kinematics.Dog || k == kinematics.OneWay {
			continue
		}
		from := or(and(not(or(slices.Clone(matches)...)), &node{op: opUnknown}), or(slices.Clone(applied[e])...))
		n.feeds = append(n.feeds, feed{element: e, areas: []area{{c.program(from), kinematics.Share{Num: 1, Den: 1}}}})
	}
}

// told refuses a row of a table that differs from an earlier one in nothing but in what
// it applies.
func (c *compiler) told(i int, sets []int, earlier [][]int) {
	rows := c.n.Spec.Table
	same := func(a, b []string) bool {
		return len(a) == 0 || len(b) == 0 || slices.ContainsFunc(a, func(p string) bool { return slices.Contains(b, p) })
	}
	sorted := func(list []string) []string { return slices.Sorted(slices.Values(list)) }
	for k, r := range rows[:i] {
		apart := !r.Any && !rows[i].Any && !slices.Equal(sorted(r.On), sorted(rows[i].On))
		if apart || !same(r.Levers, rows[i].Levers) || len(r.Either)+len(rows[i].Either) > 0 ||
			slices.Equal(slices.Sorted(slices.Values(sets)), slices.Sorted(slices.Values(earlier[k]))) {
			continue
		}
		c.fail(path("table", strconv.Itoa(i)), "write which solenoids are on in each: on: [S1], on: [] for none; where a "+
			"governor shifts, name its pressures as solenoids with hydraulic: true",
			"row %d, which gives %s, holds where row %d gives %s: with the same lever and solenoids", i+1,
			cmp.Or(rows[i].Gives, "its elements"), k+1, cmp.Or(r.Gives, "other elements"))
		return
	}
}

// row is the expression of one row, and the elements it applies.
func (c *compiler) row(row Row, where []string) (*node, []int) {
	t := c.n.Train
	lever := &node{op: opLever, list: row.Levers}
	for i, p := range row.Levers {
		if c.position(p) < 0 {
			c.fail(below(where, "lever", strconv.Itoa(i)), "", "%s", c.noPosition(p))
			return nil, nil
		}
	}
	var r int
	var err error
	apply := []int{}
	if row.Gives != "" {
		if r, err = t.FindRange(row.Gives); err != nil {
			c.fail(below(where, "gives"), "", "%s", err)
			return nil, nil
		}
		apply = t.Ranges[r].Apply
	}
	p := c.pattern(row.Pattern, where, apply)
	var all []*node
	if len(row.Levers) > 0 {
		all = append(all, lever)
	}
	for i, s := range c.n.solenoids {
		c.reads[s] = true
		switch {
		case row.Any || p.either>>i&1 != 0:
		case p.on>>i&1 != 0:
			all = append(all, name(s))
		default:
			all = append(all, not(name(s)))
		}
	}
	if len(all) == 0 {
		c.fail(where, "name a lever, or the solenoids that are on", "this row says nothing about when it holds")
		return nil, nil
	}
	if row.Apply != nil {
		apply = apply[:0:0]
		for i, name := range row.Apply {
			e, err := t.FindElement(name)
			if err != nil {
				c.fail(below(where, "apply", strconv.Itoa(i)), "", "%s", err)
				return nil, nil
			}
			apply = append(apply, e)
		}
	}
	return and(all...), apply
}

// fromTable are the patterns of the rows that give a range where the lever is.
func (c *compiler) fromTable(pl place) []pattern {
	t := c.n.Train
	var list []pattern
	for i, row := range c.n.Spec.Table {
		here := len(row.Levers) == 0 || pl.position >= 0 && slices.Contains(row.Levers, t.Positions[pl.position].Name)
		if row.Gives != t.Ranges[pl.rng].Name || !here {
			continue
		}
		list = append(list, c.pattern(row.Pattern, path("table", strconv.Itoa(i)), t.Ranges[pl.rng].Apply))
	}
	return list
}

// uses warns of parts that nothing reads and refuses routes that are dead.
func (c *compiler) uses() {
	n := c.n
	for _, x := range []struct {
		say           func(path []string, hint, format string, args ...any)
		key           string
		names         []string
		readers, does string
	}{
		{c.warn, "solenoids", n.solenoids, "a valve or a circuit", "moves nothing"},
		{c.fail, "valves", n.Valves(), "a circuit, a valve or a feed", "switches nothing"},
		{c.fail, "circuits", n.Circuits(), "a feed, a valve or another circuit", "leads nowhere"},
		{c.fail, "balls", n.Balls(), "a circuit or a feed", "leads nowhere"},
	} {
		for _, name := range x.names {
			if !c.reads[name] {
				x.say(path(x.key, name), "name it in "+x.readers+", or leave it out", "%s %s", name, x.does)
			}
		}
	}
	c.dead()
}

// dead refuses circuits and feeds that have no pressure wherever the lever is,
// whatever valves and solenoids do.
func (c *compiler) dead() {
	n := c.n
	b := n.newBank()
	for lane := range max(1, len(n.Train.Positions)) {
		b.lever(1<<lane, 1<<lane)
	}
	for i := range n.solenoids {
		b.signals[1+i] = unknown
	}
	b.forget()
	b.flow()
	lanes := uint64(1)<<max(1, len(n.Train.Positions)) - 1
	for i, x := range n.circuits {
		if s := b.signals[n.circuitAt(i)]; (s.full|s.low)&lanes == 0 {
			c.fail(path("circuits", x.name), "look at its levers and at what stands behind not",
				"%s never has pressure, whatever the lever, solenoids and valves do", x.name)
		}
	}
	for i, f := range n.feeds {
		s, name := b.feed(i), n.Train.Couplings[f.element].Name
		if (s.full|s.low)&lanes == 0 && len(n.Spec.Table) == 0 {
			c.fail(path("feeds", name), "look at its circuit, and at what releases it",
				"%s is never fed, whatever the lever, solenoids and valves do", name)
		}
	}
}

func (c *compiler) failSafes() {
	n := c.n
	for _, x := range n.Spec.FailSafe {
		at := path("fail-safe", strings.Join(x.Of, "+"))
		s := safe{parts: x.Of, monitored: x.Monitored}
		for _, part := range x.Of {
			if k := c.kinds[part]; k != "solenoid" && k != "valve" && part != "supply" {
				c.fail(at, c.nearest(part, "solenoid"), "%s is no solenoid, valve or supply", kinematics.Quote(part))
			}
		}
		for i, w := range x.When {
			k := Kind(w)
			if w == "supply" {
				k = Lost
			}
			switch {
			case !slices.Contains(allKinds, k):
				c.fail(below(at, "when", strconv.Itoa(i)),
					"write no-current, short-on or supply, or a mechanical fault with monitored: true",
					"there is no fault %s", kinematics.Quote(w))
			case !k.Electrical() && !x.Monitored:
				c.fail(below(at, "when", strconv.Itoa(i)), "write monitored: true if the control finds it by the ratio",
					"the control does not know of a mechanical fault: %s", w)
			}
			s.when = append(s.when, k)
		}
		given := c.commands(at, x.Instead)
		for _, pl := range n.places {
			if list, there := patternsAt(given, pl); there {
				s.nodes = append(s.nodes, c.nodes(pl, list)...)
				continue
			}
			for _, node := range n.normal {
				if node.Position == pl.position && node.Range == pl.rng {
					s.nodes = append(s.nodes, node)
				}
			}
		}
		n.safes = append(n.safes, s)
	}
}

func (c *compiler) expects() {
	n := c.n
	for i, x := range n.Spec.Expect {
		at := path("expect", strconv.Itoa(i))
		if x.Lever != "" && c.position(x.Lever) < 0 {
			c.fail(below(at, "lever"), "", "%s", c.noPosition(x.Lever))
		}
		if x.Range != "" {
			if _, err := n.Train.FindRange(x.Range); err != nil {
				c.fail(below(at, "range"), "", "%s", err)
			}
		}
		if x.Lever == "" && x.Range == "" {
			c.fail(at, `write lever: "2", or range: D2`, "this row says neither the lever nor the range")
		}
		if x.Gives != "" {
			if _, err := n.Train.FindRange(x.Gives); err != nil {
				c.fail(below(at, "gives"), "", "%s", err)
			}
		} else if x.Applies == nil {
			c.fail(at, "write gives: D3, or applies: [elements]", "this row says no result")
		}
		for k, name := range x.Applies {
			if _, err := n.Train.FindElement(name); err != nil {
				c.fail(below(at, "applies", strconv.Itoa(k)), "", "%s", err)
			}
		}
		for k, text := range x.Faults {
			if _, err := n.ParseFault(text); err != nil {
				c.fail(below(at, "fault", strconv.Itoa(k)), "", "%s", fmt.Sprint(err))
			}
		}
	}
}
