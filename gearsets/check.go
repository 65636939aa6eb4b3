package gearsets

import (
	"fmt"
	"slices"
	"strings"

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
		if !c.used[s.value] && !c.problems.Refuse() {
			c.add(Warning, s.Place, "write what it is joined to, or leave it out", fmt.Sprintf("shaft %s is in no joint and in no element: nothing turns it", s.value))
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
		add(s.value, "")
	}
	for _, g := range c.file.gearsets {
		if g.bad {
			c.open = append(c.open, g.name.value+".")
		}
		for _, p := range g.parts() {
			add(g.name.value+"."+p.name, p.why)
		}
	}
}

// member reports a name that is no member, or one without a known speed, and
// says whether it can be used. A name of a gearset that was itself reported is
// not judged.
func (c *checker) member(s scalar, owner string) bool {
	if !s.given() {
		return false
	}
	why, known := c.members[s.value]
	c.used[s.value] = true
	if known && why == "" {
		return true
	}
	for _, o := range c.open {
		if strings.HasPrefix(s.value, o) {
			return false
		}
	}
	if dotted := strings.Contains(s.value, "."); !known && (dotted && c.file.unsure["gearsets"] || !dotted && c.file.unsure["shafts"]) {
		return false
	}
	if known {
		hint := "give the pinion teeth, or use another member"
		if !strings.Contains(why, "teeth") {
			hint = "use the carrier or a side gear"
		}
		c.errorf(s.Place, hint, "%s", say(owner, fmt.Sprintf("the speed of %s is not known: %s", s.value, why)))
		return false
	}
	c.errorf(s.Place, c.whichMember(s.value), "%s", say(owner, fmt.Sprintf("there is no member %q", clip(s.value))))
	return false
}

// whichMember is the hint for a name that is no member.
func (c *checker) whichMember(name string) string {
	for _, g := range c.file.gearsets {
		set, _, dotted := strings.Cut(name, ".")
		if g.name.value != set || g.bad {
			continue
		}
		var parts []string
		for _, p := range g.parts() {
			parts = append(parts, set+"."+p.name)
		}
		if near := kinematics.Nearest(name, parts); dotted && near != "" {
			return fmt.Sprintf("did you mean %q?", near)
		}
		return fmt.Sprintf("the members of gearset %s are %s", set, strings.Join(parts, ", "))
	}
	for _, j := range c.file.joints {
		if j.name.value == name && len(j.members) > 0 {
			return fmt.Sprintf("%s is a joint: write one of its members, such as %s", name, clip(j.members[0].value))
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
		if g.kind == kinematics.Pair && c.member(g.carrier, g.name.value) {
			on[g.name.value], _, _ = strings.Cut(g.carrier.value, ".")
		}
	}
	for _, g := range c.file.gearsets {
		name := g.name.value
		between := []string{}
		for at := on[name]; at != ""; at = on[at] {
			if at == name || len(between) > len(on) {
				break
			}
			between = append(between, at)
		}
		switch {
		case on[name] == name:
			c.errorf(g.carrier.Place, "write the member whose axes both gears sit on", "%s: a gear cannot carry its own pair", name)
		case len(between) > 0 && on[between[len(between)-1]] == name:
			c.errorf(g.carrier.Place, "write the member whose axes both gears sit on",
				"%s: its carrier sits on %s itself: pairs cannot carry each other", name, name)
		}
	}
}

// joints looks up the members of the joints. A member that two joints join to
// another twice over is reported.
func (c *checker) joints() {
	for _, j := range c.file.joints {
		owner := "joint " + j.name.value
		first := map[string]Place{}
		c.rigid = append(c.rigid, jointMembers{name: j.name})
		for _, m := range j.members {
			if !c.member(m, owner) {
				continue
			}
			if at, twice := first[m.value]; twice {
				c.see(c.errorf(m.Place, "leave it out", "%s: %s is named twice", owner, m.value), at, "first here")
				continue
			}
			first[m.value] = m.Place
			this := &c.rigid[len(c.rigid)-1]
			if len(this.members) > 0 {
				if by, already := c.rigid.joined(this.members[0], m.value); already {
					p := c.errorf(m.Place, "name it in one of the two", "%s: %s and %s are joined already, by %s", owner, this.members[0], m.value, by.value)
					c.see(p, by.Place, "joined here")
					continue
				}
			}
			this.members = append(this.members, m.value)
		}
	}
}

// ports reports an input and output that cannot be told apart, or cannot turn.
func (c *checker) ports(owner string, input, output scalar) {
	if input.value == output.value {
		p := c.errorf(output.Place, "the output is the member that turns the wheels", "%s", say(owner, fmt.Sprintf("input and output are both %s", input.value)))
		c.see(p, input.Place, "here")
		return
	}
	if by, same := c.rigid.joined(input.value, output.value); same {
		p := c.errorf(output.Place, "join them by gears or elements", "%s", say(owner, fmt.Sprintf("input %s and output %s are joined for good, by %s", input.value, output.value, by.value)))
		c.see(p, by.Place, "joined here")
		return
	}
	for _, x := range []struct {
		word string
		s    scalar
	}{{"input", input}, {"output", output}} {
		if x.s.value == kinematics.HousingName {
			c.errorf(x.s.Place, "write a member that turns", "%s", say(owner, fmt.Sprintf("the %s cannot be the housing", x.word)))
		} else if by, held := c.rigid.joined(x.s.value, kinematics.HousingName); held {
			p := c.errorf(x.s.Place, "write a member that turns", "%s", say(owner, fmt.Sprintf("the %s %s cannot turn: %s joins it to the housing", x.word, x.s.value, by.value)))
			c.see(p, by.Place, "joined here")
		}
	}
}

func (c *checker) element(e *elementEntry) {
	ok := true
	for _, m := range e.members {
		ok = c.member(m, e.name.value) && ok
	}
	if !ok || e.bad {
		return
	}
	a, b := e.members[0], scalar{e.members[0].Place, kinematics.HousingName}
	if len(e.members) == 2 {
		b = e.members[1]
		if e.kind == kinematics.Clutch && a.value != b.value && (a.value == kinematics.HousingName || b.value == kinematics.HousingName) {
			other := a.value
			if a.value == kinematics.HousingName {
				other = b.value
			}
			c.errorf(b.Place, fmt.Sprintf("write {brake: %s} or {band: %s}", other, other), "%s: a clutch to the housing is a brake", e.name.value)
			return
		}
	}
	if a.value == b.value {
		c.errorf(b.Place, "name the two members that it joins", "%s joins %s to itself", e.name.value, a.value)
		return
	}
	if by, same := c.rigid.joined(a.value, b.value); same {
		p := c.errorf(b.Place, "leave the element out, or take a member out of the joint",
			"%s joins %s to %s, but joint %s has joined them for good", e.name.value, called(a.value), called(b.value), by.value)
		c.see(p, by.Place, "joined here")
	}
}

// called is a member in a sentence.
func called(member string) string {
	if member == kinematics.HousingName {
		return "the " + member
	}
	return member
}

func (c *checker) ranges() {
	elements := map[string]*elementEntry{}
	var names []string
	for _, e := range c.file.elements {
		elements[e.name.value] = e
		names = append(names, e.name.value)
	}
	for _, r := range c.file.ranges {
		first := map[string]Place{}
		for _, a := range r.apply {
			e, known := elements[a.value]
			at, twice := first[a.value]
			switch {
			case !known && c.file.unsure["elements"]:
			case !known:
				c.errorf(a.Place, nearest(a.value, names, "the elements are "), "range %s applies %q, which is no element", r.name.value, clip(a.value))
			case twice:
				c.see(c.errorf(a.Place, "leave it out", "range %s applies %s twice", r.name.value, a.value), at, "first here")
			case e.kind == kinematics.OneWay && !e.switched && !e.bad:
				p := c.errorf(a.Place, "leave it out, or give the clutch switched: true if it can be switched off",
					"range %s applies %s, a one-way clutch, which acts in every range", r.name.value, a.value)
				c.see(p, e.name.Place, "declared here")
			}
			first[a.value] = a.Place
		}
		if !r.input.given() && !r.output.given() {
			continue
		}
		input, output := r.input, r.output
		if !input.given() {
			input = c.file.input
		}
		if !output.given() {
			output = c.file.output
		}
		inputOK, outputOK := c.usable(r.input, input, r.name.value), c.usable(r.output, output, r.name.value)
		if inputOK && outputOK {
			c.ports(r.name.value, input, output)
		}
	}
}

// usable looks up an input or output of a range; that of the train, taken when
// the range names none, was looked up before.
func (c *checker) usable(own, s scalar, owner string) bool {
	if own.given() {
		return c.member(own, owner)
	}
	why, known := c.members[s.value]
	c.used[s.value] = true
	return known && why == ""
}

func (c *checker) positions() {
	ranges := map[string]bool{}
	var names []string
	for _, r := range c.file.ranges {
		ranges[r.name.value] = true
		names = append(names, r.name.value)
	}
	for _, p := range c.file.positions {
		first := map[string]Place{}
		for _, s := range p.ranges {
			at, twice := first[s.value]
			switch {
			case !ranges[s.value] && c.file.unsure["ranges"]:
			case !ranges[s.value]:
				c.errorf(s.Place, nearest(s.value, names, "the ranges are "), "position %s offers %q, which is no range", p.name.value, clip(s.value))
			case twice:
				c.see(c.errorf(s.Place, "leave it out", "position %s offers %s twice", p.name.value, s.value), at, "first here")
			}
			first[s.value] = s.Place
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
