package reading

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Path is one statically determinate way in which a driving state carries
// power from its input to its output.
type Path struct {
	// Steps lead from the input to the output, each after those that feed it.
	Steps []Step
	// Reaction are the loaded couplings between members at rest: what holds the
	// train against the housing.
	Reaction []int
	// Loaded are all couplings that carry torque, elements first.
	Loaded []int
	// Idle are the gearsets that carry no load: they are along for the ride.
	Idle []int
}

// A Step passes power on: through a coupling or joint, or through a gearset.
type Step struct {
	Gearset  int // index into Train.Gearsets, or -1
	Joint    int // index into Train.Joints, or -1
	Coupling int // index of an element, or -1
	// From feeds power into the step, To takes it out. Held are members of a
	// gearset that are loaded and at rest.
	From, To, Held []kinematics.MemberID
}

// newPath orders what carries the load of an equilibrium. Power enters a body
// where torque and speed agree in sign.
func newPath(sys *solve.System, m *solve.Motion, eq *solve.Equilibrium) Path {
	t := sys.Train
	p := Path{Loaded: eq.Carry}
	speed := func(id kinematics.MemberID) int { return m.Members[id].Min.Sign() }
	var steps []Step

	joint := map[int]*Step{}
	for _, i := range eq.Carry {
		c := &t.Couplings[i]
		if speed(c.A) == 0 && speed(c.B) == 0 {
			if c.Kind != kinematics.Spline {
				p.Reaction = append(p.Reaction, i)
			}
			continue
		}
		// The coupling pushes A with its torque: it feeds A when that is along
		// A's speed.
		feedsA := eq.Torque[i].Sign()*speed(c.A) > 0
		if c.Kind == kinematics.Spline {
			s := joint[c.Joint]
			if s == nil {
				s = &Step{Gearset: -1, Joint: c.Joint, Coupling: -1}
				joint[c.Joint] = s
			}
			if feedsA {
				s.To = append(s.To, c.A)
			} else {
				s.From = append(s.From, c.A)
			}
			continue
		}
		s := Step{Gearset: -1, Joint: -1, Coupling: i, From: []kinematics.MemberID{c.A}, To: []kinematics.MemberID{c.B}}
		if feedsA {
			s.From, s.To = s.To, s.From
		}
		steps = append(steps, s)
	}
	for _, s := range joint {
		steps = append(steps, *s)
	}
	steps = append(steps, gearSteps(sys, m, eq, &p)...)
	p.Steps = orderSteps(m.State.Input, steps)
	return p
}

// gearSteps returns a step per loaded gearset and notes the idle ones.
func gearSteps(sys *solve.System, m *solve.Motion, eq *solve.Equilibrium, p *Path) []Step {
	t := sys.Train
	var steps []Step
	loads, ok := sys.MeshTorques(eq, m.State)
	for g := range t.Gearsets {
		set := &t.Gearsets[g]
		s := Step{Gearset: g, Joint: -1, Coupling: -1}
		if !ok {
			continue
		}
		torques, members := GearsetTorques(t, g, loads)
		for k, id := range members {
			switch torques[k].Sign() * m.Members[id].Min.Sign() {
			case 0:
				if torques[k].Sign() != 0 && id != kinematics.Housing {
					s.Held = append(s.Held, id)
				}
			case 1: // the gearset pushes the member along: power leaves the set
				s.To = append(s.To, id)
			default:
				s.From = append(s.From, id)
			}
		}
		if len(s.From)+len(s.To)+len(s.Held) == 0 {
			if set.Kind != kinematics.Pair {
				p.Idle = append(p.Idle, g)
			}
			continue
		}
		steps = append(steps, s)
	}
	return steps
}

// GearsetTorques sums the tooth loads of a gearset into the torques that it
// exerts on its central gears and carrier, and on any pinion left with one
// (because it is coupled to something else). Torques are per unit input torque.
func GearsetTorques(t *kinematics.Train, g int, loads []solve.Frac) (torques []solve.Frac, members []kinematics.MemberID) {
	sum := map[kinematics.MemberID]solve.Frac{}
	add := func(id kinematics.MemberID, z int64, load solve.Frac) {
		if _, seen := sum[id]; !seen {
			members = append(members, id)
			sum[id] = solve.FracOf(0, 1)
		}
		sum[id] = sum[id].Add(load.Mul(solve.FracOf(z, 1)))
	}
	for _, i := range t.Gearsets[g].Meshes {
		mesh := &t.Meshes[i]
		za, zb := mesh.ZA, mesh.Kind.Sign()*mesh.ZB
		add(mesh.A, za, loads[i])
		add(mesh.B, zb, loads[i])
		add(mesh.Carrier, -za-zb, loads[i])
	}
	for _, id := range members {
		torques = append(torques, sum[id])
	}
	return torques, members
}

// orderSteps puts steps behind what feeds them, starting at the input. Where
// power runs in a circle the step that is fed first comes first.
func orderSteps(input kinematics.MemberID, steps []Step) []Step {
	fed := map[kinematics.MemberID]bool{input: true}
	var order []Step
	for len(steps) > 0 {
		next := slices.IndexFunc(steps, func(s Step) bool {
			return !slices.ContainsFunc(s.From, func(m kinematics.MemberID) bool { return !fed[m] })
		})
		if next < 0 {
			next = slices.IndexFunc(steps, func(s Step) bool {
				return slices.ContainsFunc(s.From, func(m kinematics.MemberID) bool { return fed[m] })
			})
		}
		next = max(next, 0)
		for _, m := range steps[next].To {
			fed[m] = true
		}
		order = append(order, steps[next])
		steps = slices.Delete(steps, next, next+1)
	}
	return order
}
