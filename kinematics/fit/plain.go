package fit

import (
	"slices"

	"tieup/kinematics"
)

// plain returns the layout without the one-way clutches that something else can stand
// for, nil if it has none: the element beside such a clutch is applied wherever it holds. A
// clutch behind an element of its own becomes, with it, one element.
func (l *Layout) plain() *Layout {
	t := l.Train
	b := blueprintOf(t)
	changed := false
	for i := range t.Couplings[:t.ElementCount] {
		if t.Couplings[i].Kind == kinematics.OneWay && !t.Couplings[i].Switched && l.replace(b, i) {
			changed = true
		}
	}
	if !changed {
		return nil
	}
	if t, err := b.build(); err == nil {
		if p := newLayout(t); p != nil {
			p.base, p.Plain = l.base, true
			return p
		}
	}
	return nil
}

// replace takes a one-way clutch out of a blueprint.
func (l *Layout) replace(b *blueprint, clutch int) bool {
	t := l.Train
	name := t.Couplings[clutch].Name
	if e := l.beside(l.ends(clutch), clutch); e >= 0 {
		l.applyInstead(b, clutch, t.Couplings[e].Name)
		b.drop(name)
		return true
	}
	own := l.behind(clutch)
	if own < 0 {
		return false
	}
	if e := l.beside(l.across(clutch, own), clutch, own); e >= 0 {
		l.applyInstead(b, clutch, t.Couplings[e].Name)
		b.drop(name, t.Couplings[own].Name)
		return true
	}
	// The pair becomes the element: it holds where both did.
	x := b.element(t.Couplings[own].Name)
	c, o := t.Couplings[clutch], t.Couplings[own]
	far, near := o.B, c.A
	if l.body[o.A] != l.body[c.A] && l.body[o.A] != l.body[c.B] {
		far = o.A
	}
	if l.body[c.A] == l.body[o.A] || l.body[c.A] == l.body[o.B] {
		near = c.B
	}
	x.a, x.b = t.Members[near].Name, t.Members[far].Name
	b.drop(name)
	return true
}

// applyInstead applies an element in the ranges in which a one-way clutch holds.
func (l *Layout) applyInstead(b *blueprint, clutch int, element string) {
	column := slices.Index(l.columns, clutch)
	for _, g := range l.ranges {
		r := &b.ranges[g.index]
		if g.marks[column] == on && !slices.Contains(r.apply, element) {
			r.apply = append(slices.Clone(r.apply), element)
		}
	}
}

// ends are the bodies that a coupling joins, the lower first.
func (l *Layout) ends(c int) [2]int {
	a, b := l.body[l.Train.Couplings[c].A], l.body[l.Train.Couplings[c].B]
	return [2]int{min(a, b), max(a, b)}
}

// beside returns an element that holds both ways and joins two bodies, -1 if there is none.
func (l *Layout) beside(ends [2]int, but ...int) int {
	for _, e := range l.columns {
		if l.Train.Couplings[e].Kind != kinematics.OneWay && !slices.Contains(but, e) && l.ends(e) == ends {
			return e
		}
	}
	return -1
}

// behind returns the element that shares with a one-way clutch a race on which nothing
// else sits, -1 if there is none.
func (l *Layout) behind(clutch int) int {
	for _, race := range l.ends(clutch) {
		var on []int
		for _, e := range l.columns {
			if ends := l.ends(e); e != clutch && (ends[0] == race || ends[1] == race) {
				on = append(on, e)
			}
		}
		if race != 0 && len(on) == 1 && !l.geared(race) && l.Train.Couplings[on[0]].Kind != kinematics.OneWay {
			return on[0]
		}
	}
	return -1
}

// geared says whether gears, input or output turn with a body.
func (l *Layout) geared(body int) bool {
	if l.body[l.Train.Input] == body || l.body[l.Train.Output] == body {
		return true
	}
	return slices.ContainsFunc(l.rows, func(r gearRow) bool {
		return r.over == body || r.under == body || r.carrier == body
	})
}

// across are the far ends of two couplings that share a body.
func (l *Layout) across(a, b int) [2]int {
	x, y := l.ends(a), l.ends(b)
	for _, i := range x {
		for _, j := range y {
			if i == j {
				p, q := x[0]+x[1]-i, y[0]+y[1]-j
				return [2]int{min(p, q), max(p, q)}
			}
		}
	}
	return x
}
