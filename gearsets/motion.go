package gearsets

import (
	"fmt"
	"sort"
	"strings"

	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// reach reports inputs and outputs that no gearset reaches, or between which no
// gears or elements make a way. The housing is no way.
func (r *report) reach(f *trainFile, t *kinematics.Train) {
	r.way(t, "", t.Input, t.Output, f.input, f.output)
	for i, x := range f.ranges {
		if !x.input.Given() && !x.output.Given() {
			continue
		}
		input, output := x.input, x.output
		if !input.Given() {
			input = f.input
		}
		if !output.Given() {
			output = f.output
		}
		r.way(t, x.name.Value, t.Ranges[i].Input, t.Ranges[i].Output, input, output)
	}
}

func (r *report) way(t *kinematics.Train, owner string, in, out kinematics.MemberID, input, output scalar) {
	const hint = "join it to a gear: a joint under joined, or an element such as {clutch: [turbine, front.ring]}"
	from := connected(t, in)
	switch {
	case !geared(t, from):
		r.Errorf(input.Place, hint, "%s", yamlfile.Say(owner, fmt.Sprintf("no gearset reaches the input %s", input.Value)))
	case !geared(t, connected(t, out)):
		r.Errorf(output.Place, hint, "%s",
			yamlfile.Say(owner, fmt.Sprintf("no gearset reaches the output %s", output.Value)))
	case !from[out]:
		p := r.Errorf(output.Place, "join the two through gears, joints or elements", "%s",
			yamlfile.Say(owner, fmt.Sprintf("there is no way from the input %s to the output %s", input.Value, output.Value)))
		r.See(p, input.Place, "input")
	}
}

// connected returns the members that gears, joints and elements connect to m,
// by ways that do not lead over the housing.
func connected(t *kinematics.Train, m kinematics.MemberID) map[kinematics.MemberID]bool {
	next := map[kinematics.MemberID][]kinematics.MemberID{}
	link := func(a, b kinematics.MemberID) {
		if a != kinematics.Housing && b != kinematics.Housing {
			next[a], next[b] = append(next[a], b), append(next[b], a)
		}
	}
	for _, c := range t.Couplings {
		link(c.A, c.B)
	}
	for _, x := range t.Meshes {
		link(x.A, x.B)
		link(x.A, x.Carrier)
	}
	seen := map[kinematics.MemberID]bool{m: true}
	for todo := []kinematics.MemberID{m}; len(todo) > 0; todo = todo[1:] {
		for _, n := range next[todo[0]] {
			if !seen[n] {
				seen[n] = true
				todo = append(todo, n)
			}
		}
	}
	return seen
}

// geared says whether any of the members is part of a gearset.
func geared(t *kinematics.Train, members map[kinematics.MemberID]bool) bool {
	for m := range members {
		if t.Members[m].Gearset >= 0 {
			return true
		}
	}
	return false
}

// moves reports what only the engine can tell: gearsets that joints weld solid,
// an input that cannot turn, elements that join what turns as one anyway, and
// ranges that tie up.
func (r *report) moves(f *trainFile, t *kinematics.Train) {
	s := solve.Compile(t)
	if r.solid(f, s) {
		return // everything else follows from that
	}
	held := false
	for _, x := range []struct {
		word string
		id   kinematics.MemberID
		s    scalar
	}{{"input", t.Input, f.input}, {"output", t.Output, f.output}} {
		if s.Same(x.id, kinematics.Housing) {
			held = true
			r.Errorf(x.s.Place, "hold by an element what is held in some ranges only",
				"the %s %s cannot turn: gears and joints hold it for good", x.word, x.s.Value)
		}
	}
	if held {
		return
	}
	for i, e := range f.elements {
		c := t.Couplings[i]
		if !s.Same(c.A, c.B) {
			continue
		}
		if c.B == kinematics.Housing || c.A == kinematics.Housing {
			r.Errorf(e.members[0].Place, "leave the element out", "%s holds %s, which gears and joints hold for good",
				e.name.Value, e.members[0].Value)
		} else {
			r.Errorf(e.members[1].Place, "leave the element out",
				"%s joins %s to %s, but gears and joints make them turn as one for good",
				e.name.Value, e.members[0].Value, e.members[1].Value)
		}
	}
	r.rangesMove(f, s)
}

// solid reports gearsets whose carrier turns as one with one of their gears for
// good, and so with all of them; the joint that brings it about is named. Two
// gears of one set may well turn as one, if their teeth are equal.
func (r *report) solid(f *trainFile, s *solve.System) bool {
	found := false
	for i := range s.Train.Gearsets {
		if !welded(s, i) {
			continue
		}
		found = true
		g := f.gearsets[i]
		const hint = "a gearset needs two members that turn differently: take one of its members out of a joint"
		if j := f.welder(i); j != nil {
			p := r.Errorf(j.name.Place, hint, "joint %s welds gearset %s solid: its members can only turn as one",
				j.name.Value, g.name.Value)
			r.See(p, g.name.Place, "gearset "+g.name.Value)
		} else {
			r.Errorf(g.name.Place, hint, "gearset %s is solid: its members can only turn as one", g.name.Value)
		}
	}
	return found
}

func welded(s *solve.System, gearset int) bool {
	g := &s.Train.Gearsets[gearset]
	for _, gear := range g.Gears {
		if s.Same(gear.Member, g.Carrier) {
			return true
		}
	}
	return false
}

// welder returns the first joint that, with those before it, welds a gearset.
func (f *trainFile) welder(gearset int) *jointEntry {
	n := sort.Search(len(f.joints), func(n int) bool {
		t, err := f.build(n)
		return err == nil && welded(solve.Compile(t), gearset)
	})
	if n == 0 {
		return nil // solid without any joint
	}
	return &f.joints[n-1]
}

// rangesMove reports healthy ranges that tie up though none is meant to, and
// those that do not though one is.
func (r *report) rangesMove(f *trainFile, s *solve.System) {
	k := s.Kernel()
	var forward, backward []string
	for i, x := range f.ranges {
		o := k.Outcome(s.Train.In(&s.Train.Ranges[i]))
		ties := o.Verdict == solve.TieUp
		switch {
		case ties && !x.intended:
			r.Errorf(x.name.Place, "apply less, or write intended: true if it is meant", "range %s ties up %s", x.name.Value,
				applied(x))
		case !ties && x.intended:
			r.Errorf(x.intendedAt, "leave it out", "range %s is said to tie up, but it does not: %s", x.name.Value,
				verdictSays(o))
		case o.Verdict == solve.Reverse && !namesReverse(x.name.Value):
			backward = append(backward, x.name.Value)
		case o.Verdict == solve.Forward && !namesReverse(x.name.Value):
			forward = append(forward, x.name.Value)
		}
	}
	if len(forward) > 0 || len(backward) == 0 || f.forward.Given() && f.forward.Value == "same" {
		return
	}
	list := strings.Join(backward, ", ")
	if f.forward.Given() {
		r.Add(problem.Warning, f.forward.Place,
			"leave forward: opposite out, or name ranges that are meant to drive backward R, R1, ...",
			fmt.Sprintf("with forward: opposite no forward range drives forward: %s drive backward", list))
		return
	}
	r.Add(problem.Warning, f.output.Place,
		"write forward: opposite if the output turning backward moves the vehicle forward, else forward: same",
		fmt.Sprintf("no forward range drives forward: the output turns against the input in %s", list))
}

// namesReverse says whether the name of a range tells that it drives backward:
// R, R2, reverse.
func namesReverse(name string) bool {
	low := strings.ToLower(name)
	return strings.HasPrefix(low, "reverse") || strings.Trim(low, "0123456789") == "r"
}

func applied(x *rangeEntry) string {
	if len(x.apply) == 0 {
		return "with no element applied"
	}
	return "with " + strings.Join(values(x.apply), ", ") + " applied"
}

func verdictSays(o solve.Outcome) string {
	switch o.Verdict {
	case solve.Forward:
		return "it drives forward"
	case solve.Reverse:
		return "it drives backward"
	case solve.Neutral:
		return "the input turns freely"
	case solve.OutputHeld:
		return "the output is held and the input turns"
	case solve.InputHeld:
		return "the input is held and the output can turn"
	}
	return o.Verdict.String()
}
