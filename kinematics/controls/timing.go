package controls

import "strconv"

// A Timing is how long an element takes to fill or to exhaust after a command.
type Timing struct {
	Element int // index into Train.Couplings
	// Fill and Exhaust are in s; 0 where the file gives none, or no route of it stands.
	Fill, Exhaust float64
	// FillBy and ExhaustBy are the conditions of the routes, "" for the last one.
	FillBy, ExhaustBy string
}

// Timings returns, for every element with times, how long it fills and exhausts when
// the valves stand as in an outcome: by the first route that holds. A route of which
// it is not known whether it holds is taken as closed.
func (n *Network) Timings(node Node, o Outcome, faults []Fault) []Timing {
	b := n.newBank()
	b.put(every, &node, faults)
	for i, l := range o.Valves {
		b.signals[n.valveAt(i)] = levels{none: every * uint64(l&None), full: every * uint64(l&Full>>2)}
	}
	b.flow()
	var list []Timing
	for i := range n.feeds {
		f := &n.feeds[i]
		if len(f.fill) == 0 && len(f.exhaust) == 0 {
			continue
		}
		t := Timing{Element: f.element}
		t.Fill, t.FillBy = b.taken(f.fill)
		t.Exhaust, t.ExhaustBy = b.taken(f.exhaust)
		list = append(list, t)
	}
	return list
}

// taken is the time of the first route that holds.
func (b *bank) taken(routes []route) (take float64, by string) {
	for _, r := range routes {
		if r.when == nil || b.run(r.when).in(0) == Full {
			return r.take, r.text
		}
	}
	return 0, ""
}

// Unreached lists the routes, as paths of the file, that no healthy command takes: what
// stands there matters under faults alone, or never.
func (n *Network) Unreached() [][]string {
	type key struct {
		feed, route int
		fill        bool
	}
	used := map[key]bool{}
	for k := range n.normal {
		b := n.newBank()
		b.put(every, &n.normal[k], nil)
		b.settle()
		for i := range n.feeds {
			for _, fill := range []bool{false, true} {
				list := n.feeds[i].exhaust
				if fill {
					list = n.feeds[i].fill
				}
				for j, r := range list {
					if r.when == nil || b.run(r.when).in(0) == Full {
						used[key{i, j, fill}] = true
						break
					}
				}
			}
		}
	}
	var list [][]string
	for i := range n.feeds {
		name := n.Train.Couplings[n.feeds[i].element].Name
		for j := range n.feeds[i].fill {
			if !used[key{i, j, true}] {
				list = append(list, []string{"feeds", name, "fill", strconv.Itoa(j)})
			}
		}
		for j := range n.feeds[i].exhaust {
			if !used[key{i, j, false}] {
				list = append(list, []string{"feeds", name, "exhaust", strconv.Itoa(j)})
			}
		}
	}
	return list
}
