package gearsets

import (
	"fmt"
	"slices"
	"strings"

	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// A checker sees that every name in a file means something.
type checker struct {
	*report
	file    *trainFile
	members map[string]string // name -> why its speed is not known, "" if it is
	names   []string          // in the order of the file, for the nearest one
	open    []string          // beginnings of names that cannot be judged: gearsets not understood
	used    map[string]bool   // members that something refers to
	rigid   rigid
}

// check looks up every name. It reports what refers to nothing, to itself, or
// to what cannot be meant.
func (r *report) check(f *trainFile) {
	c := &checker{report: r, file: f, members: map[string]string{}, used: map[string]bool{}}
	c.declare()
	c.carriers()
	c.joints()
	input := c.member(f.input, "input")
	output := c.member(f.output, "output")
	if input && output {
		c.ports("", f.input, f.output)
	}
	for _, e := range f.elements {
		c.element(e)
	}
	c.ranges()
	c.positions()
	c.idle()
	c.taps()
	c.dynamics()
}

// idle warns of shafts that nothing refers to.
func (c *checker) idle() {
	for _, s := range c.file.shafts {
		if !c.used[s.Value] && !c.Problems.Refuse() {
			c.Add(problem.Warning, s.Place, "write what it is joined to, or leave it out",
				fmt.Sprintf("shaft %s is in no joint and in no element: nothing turns it", s.Value))
		}
	}
}

func (c *checker) declare() {
	add := func(name, why string) {
		c.members[name] = why
		c.names = append(c.names, name)
	}
	add(kinematics.HousingName, "")
	for _, s := range c.file.shafts {
		add(s.Value, "")
	}
	for _, g := range c.file.gearsets {
		if g.bad {
			c.open = append(c.open, g.name.Value+".")
		}
		for _, p := range g.parts() {
			add(g.name.Value+"."+p.name, p.why)
		}
	}
}

// member reports a name that is no member, or one without a known speed, and
// says whether it can be used. A name of a gearset that was itself reported is
// not judged.
func (c *checker) member(s scalar, owner string) bool {
	if !s.Given() {
		return false
	}
	why, known := c.members[s.Value]
	c.used[s.Value] = true
	if known && why == "" {
		return true
	}
	for _, o := range c.open {
		if strings.HasPrefix(s.Value, o) {
			return false
		}
	}
	if dotted := strings.Contains(s.Value, "."); !known && (dotted && c.file.unsure["gearsets"] || !dotted &&
		c.file.unsure["shafts"]) {
		return false
	}
	if known {
		hint := "give the pinion teeth, or use another member"
		if c.across(s.Value) {
			hint = "use the carrier or a side gear"
		}
		c.Errorf(s.Place, hint, "%s", yamlfile.Say(owner, fmt.Sprintf("the speed of %s is not known: %s", s.Value, why)))
		return false
	}
	c.Errorf(s.Place, c.whichMember(s.Value), "%s", yamlfile.Say(owner,
		fmt.Sprintf("there is no member %q", yamlfile.Clip(s.Value))))
	return false
}

// across says whether a member belongs to a set whose pinion only spins.
func (c *checker) across(name string) bool {
	set, _, _ := strings.Cut(name, ".")
	return slices.ContainsFunc(c.file.gearsets, func(g *gearsetEntry) bool {
		return g.name.Value == set && g.facts != nil && g.facts.Across
	})
}

// whichMember is the hint for a name that is no member.
func (c *checker) whichMember(name string) string {
	for _, g := range c.file.gearsets {
		set, _, dotted := strings.Cut(name, ".")
		if g.name.Value != set || g.bad {
			continue
		}
		parts := kinematics.Map(g.parts(), func(p part) string { return set + "." + p.name })
		if near := kinematics.Nearest(name, parts); dotted && near != "" {
			return fmt.Sprintf("did you mean %q?", near)
		}
		return fmt.Sprintf("the members of gearset %s are %s", set, strings.Join(parts, ", "))
	}
	for _, j := range c.file.joints {
		if j.name.Value == name && len(j.members) > 0 {
			return fmt.Sprintf("%s is a joint: write one of its members, such as %s", name, yamlfile.Clip(j.members[0].Value))
		}
	}
	if near := kinematics.Nearest(name, c.names); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "a member is a shaft declared under shafts, or gearset.part such as front.sun"
}

// carriers looks up the members that carry pairs. No pair may sit on a gear that
// it carries itself, over others or not.
func (c *checker) carriers() {
	on := map[string]string{} // the gearset whose member carries a pair
	for _, g := range c.file.gearsets {
		if g.carrier.Given() && c.member(g.carrier, g.name.Value) {
			on[g.name.Value], _, _ = strings.Cut(g.carrier.Value, ".")
		}
	}
	for _, g := range c.file.gearsets {
		name := g.name.Value
		between := []string{}
		for at := on[name]; at != ""; at = on[at] {
			if at == name || len(between) > len(on) {
				break
			}
			between = append(between, at)
		}
		switch {
		case on[name] == name:
			c.Errorf(g.carrier.Place, "write the member whose axes both gears sit on", "%s: a gear cannot carry its own pair",
				name)
		case len(between) > 0 && on[between[len(between)-1]] == name:
			c.Errorf(g.carrier.Place, "write the member whose axes both gears sit on",
				"%s: its carrier sits on %s itself: pairs cannot carry each other", name, name)
		}
	}
}

// joints looks up the members of the joints. A member that two joints join to
// another twice over is reported.
func (c *checker) joints() {
	for _, j := range c.file.joints {
		owner := "joint " + j.name.Value
		first := map[string]problem.Place{}
		c.rigid = append(c.rigid, jointMembers{name: j.name})
		for _, m := range j.members {
			if !c.member(m, owner) {
				continue
			}
			if at, twice := first[m.Value]; twice {
				c.See(c.Errorf(m.Place, "leave it out", "%s: %s is named twice", owner, m.Value), at, "first here")
				continue
			}
			first[m.Value] = m.Place
			this := &c.rigid[len(c.rigid)-1]
			if len(this.members) > 0 {
				if by, already := c.rigid.joined(this.members[0], m.Value); already {
					p := c.Errorf(m.Place, "name it in one of the two", "%s: %s and %s are joined already, by %s", owner,
						this.members[0], m.Value, by.Value)
					c.See(p, by.Place, "joined here")
					continue
				}
			}
			this.members = append(this.members, m.Value)
		}
	}
}

// ports reports an input and output that cannot be told apart, or cannot turn.
func (c *checker) ports(owner string, input, output scalar) {
	if input.Value == output.Value {
		p := c.Errorf(output.Place, "the output is the member that turns the wheels", "%s", yamlfile.Say(owner,
			fmt.Sprintf("input and output are both %s", input.Value)))
		c.See(p, input.Place, "here")
		return
	}
	if by, same := c.rigid.joined(input.Value, output.Value); same {
		p := c.Errorf(output.Place, "join them by gears or elements", "%s", yamlfile.Say(owner,
			fmt.Sprintf("input %s and output %s are joined for good, by %s", input.Value, output.Value, by.Value)))
		c.See(p, by.Place, "joined here")
		return
	}
	for _, x := range []struct {
		word string
		s    scalar
	}{{"input", input}, {"output", output}} {
		if x.s.Value == kinematics.HousingName {
			c.Errorf(x.s.Place, "write a member that turns", "%s", yamlfile.Say(owner,
				fmt.Sprintf("the %s cannot be the housing", x.word)))
		} else if by, held := c.rigid.joined(x.s.Value, kinematics.HousingName); held {
			p := c.Errorf(x.s.Place, "write a member that turns", "%s", yamlfile.Say(owner,
				fmt.Sprintf("the %s %s cannot turn: %s joins it to the housing", x.word, x.s.Value, by.Value)))
			c.See(p, by.Place, "joined here")
		}
	}
}

func (c *checker) element(e *elementEntry) {
	ok := true
	for _, m := range e.members {
		ok = c.member(m, e.name.Value) && ok
	}
	if !ok || e.bad {
		return
	}
	a, b := e.members[0], scalar{Place: e.members[0].Place, Value: kinematics.HousingName}
	if len(e.members) == 2 {
		b = e.members[1]
		if e.kind == kinematics.Clutch && a.Value != b.Value && (a.Value == kinematics.HousingName ||
			b.Value == kinematics.HousingName) {
			other := a.Value
			if a.Value == kinematics.HousingName {
				other = b.Value
			}
			c.Errorf(b.Place, fmt.Sprintf("write {brake: %s} or {band: %s}", other, other),
				"%s: a clutch to the housing is a brake", e.name.Value)
			return
		}
	}
	if a.Value == b.Value {
		c.Errorf(b.Place, "name the two members that it joins", "%s joins %s to itself", e.name.Value, a.Value)
		return
	}
	if by, same := c.rigid.joined(a.Value, b.Value); same {
		p := c.Errorf(b.Place, "leave the element out, or take a member out of the joint",
			"%s joins %s to %s, but joint %s has joined them for good", e.name.Value, called(a.Value),
			called(b.Value), by.Value)
		c.See(p, by.Place, "joined here")
	}
}

// called is a member in a sentence.
func called(member string) string {
	if member == kinematics.HousingName {
		return "the " + member
	}
	return member
}

// elements are those of the file by name, and their names in order.
func (c *checker) elements() (byName map[string]*elementEntry, names []string) {
	byName = map[string]*elementEntry{}
	for _, e := range c.file.elements {
		byName[e.name.Value] = e
		names = append(names, e.name.Value)
	}
	return byName, names
}

func (c *checker) ranges() {
	elements, names := c.elements()
	for _, r := range c.file.ranges {
		first := map[string]problem.Place{}
		for _, a := range r.apply {
			e, known := elements[a.Value]
			at, twice := first[a.Value]
			switch {
			case !known && c.file.unsure["elements"]:
			case !known:
				c.Errorf(a.Place, nearest(a.Value, names, "the elements are "), "range %s applies %q, which is no element",
					r.name.Value, yamlfile.Clip(a.Value))
			case twice:
				c.See(c.Errorf(a.Place, "leave it out", "range %s applies %s twice", r.name.Value, a.Value), at, "first here")
			case e.kind == kinematics.OneWay && !e.switched && !e.bad:
				p := c.Errorf(a.Place, "leave it out, or give the clutch switched: true if it can be switched off",
					"range %s applies %s, a one-way clutch, which acts in every range", r.name.Value, a.Value)
				c.See(p, e.name.Place, "declared here")
			}
			first[a.Value] = a.Place
		}
		if !r.input.Given() && !r.output.Given() {
			continue
		}
		input, output := r.input, r.output
		if !input.Given() {
			input = c.file.input
		}
		if !output.Given() {
			output = c.file.output
		}
		inputOK, outputOK := c.usable(r.input, input, r.name.Value), c.usable(r.output, output, r.name.Value)
		if inputOK && outputOK {
			c.ports(r.name.Value, input, output)
		}
	}
}

// usable looks up an input or output of a range; that of the train, taken when
// the range names none, was looked up before.
func (c *checker) usable(own, s scalar, owner string) bool {
	if own.Given() {
		return c.member(own, owner)
	}
	why, known := c.members[s.Value]
	c.used[s.Value] = true
	return known && why == ""
}

func (c *checker) positions() {
	names := kinematics.Map(c.file.ranges, func(r *rangeEntry) string { return r.name.Value })
	for _, p := range c.file.positions {
		first := map[string]problem.Place{}
		for _, s := range p.ranges {
			at, twice := first[s.Value]
			known := slices.Contains(names, s.Value)
			switch {
			case !known && c.file.unsure["ranges"]:
			case !known:
				c.Errorf(s.Place, nearest(s.Value, names, "the ranges are "), "position %s offers %q, which is no range",
					p.name.Value, yamlfile.Clip(s.Value))
			case twice:
				c.See(c.Errorf(s.Place, "leave it out", "position %s offers %s twice", p.name.Value, s.Value), at, "first here")
			}
			first[s.Value] = s.Place
		}
	}
}

// nearest is the hint for a name that is none of the list.
func nearest(name string, list []string, all string) string {
	// Of short names many are near: all of them are shown.
	if near := kinematics.Nearest(name, list); near != "" && len(name) > 3 {
		return fmt.Sprintf("did you mean %q?", near)
	}
	switch {
	case len(list) == 0:
		return "none is declared"
	case len(list) > 12:
		list = append(append([]string(nil), list[:12]...), "…")
	}
	return all + strings.Join(list, ", ")
}

// rigid is what the joints join for good.
type rigid []jointMembers

type jointMembers struct {
	name    scalar
	members []string
}

// joined says whether joints make a and b turn as one, and names the joint of b
// on the way.
func (r rigid) joined(a, b string) (by scalar, ok bool) {
	reached := map[string]scalar{b: {}} // member -> the joint that begins the way from b to it
	for todo := []string{b}; len(todo) > 0; todo = todo[1:] {
		for _, j := range r {
			if !slices.Contains(j.members, todo[0]) {
				continue
			}
			begins := reached[todo[0]]
			if todo[0] == b {
				begins = j.name
			}
			for _, m := range j.members {
				if _, seen := reached[m]; !seen {
					reached[m] = begins
					todo = append(todo, m)
				}
			}
		}
	}
	by, ok = reached[a]
	return by, ok && a != b
}
