package certify

import (
	"fmt"
	"math/big"
	"strings"

	"tieup/kinematics"
)

// Rows are the equations of a state.
type Rows struct {
	Input     string              `json:"input"`
	Output    string              `json:"output"`
	Forward   int64               `json:"forward"` // +1 if a positive output moves the vehicle forward
	Meshes    []Form              `json:"meshes"`
	Couplings map[string]Coupling `json:"couplings"`
}

// A Coupling joins members A and B as its mode says.
type Coupling struct {
	A        string `json:"a"`
	B        string `json:"b"`
	Mode     Mode   `json:"mode"`
	Capacity *Frac  `json:"capacity,omitempty"` // of friction
}

// A Mode is what a coupling does: its slip A - B is anything, 0, >= 0, <= 0, or
// anything against a torque.
type Mode string

// The modes.
const (
	Open     Mode = "open"
	Locked   Mode = "locked"
	OneWay   Mode = "one-way"
	Reversed Mode = "reversed"
	Friction Mode = "friction"
)

func (c Coupling) slip() Form {
	return Form{}.add(one, Form{c.A: number(1)}).add(minus, Form{c.B: number(1)})
}

func (c Coupling) allows(sign int) bool {
	return sign == 0 || c.Mode == Open || c.Mode == Friction || c.Mode == OneWay && sign > 0 ||
		c.Mode == Reversed && sign < 0
}

func (c Coupling) carries(x *big.Rat, friction bool) bool {
	if c.Mode == Friction && friction {
		return new(big.Rat).Abs(x).Cmp(&c.Capacity.Rat) <= 0
	}
	return x.Sign() == 0 || c.Mode == Locked || c.Mode == OneWay && x.Sign() > 0 || c.Mode == Reversed && x.Sign() < 0
}

// dissipation is the sum of capacity times slip, with the vehicle's resistance or not.
func (r *Rows) dissipation(m Form, resisted bool) *big.Rat {
	sum := new(big.Rat)
	for name, c := range r.Couplings {
		if c.Mode == Friction && (resisted || name != "resistance") {
			slip := c.slip().of(m)
			sum.Add(sum, slip.Mul(slip.Abs(slip), &c.Capacity.Rat))
		}
	}
	return sum
}

// given returns what a field of a slice fixes, and its quantity.
func (r *Rows) given(s *Slice) (forms []Form, values []*Frac, quantity Form, err error) {
	in, out := Form{r.Input: number(1)}, Form{r.Output: number(1)}
	vehicle, back := Form{r.Output: number(r.Forward)}, Form{r.Output: number(-r.Forward)}
	unit, rest := []*Frac{number(1)}, []*Frac{number(0)}
	switch s.Field {
	case "pull":
		return []Form{in}, unit, vehicle, nil
	case "coast.forward":
		return []Form{vehicle}, unit, in, nil
	case "coast.backward":
		return []Form{back}, unit, in, nil
	case "rest":
		return []Form{in}, rest, vehicle, nil
	case "input_backward":
		return []Form{{r.Input: number(-1)}}, unit, Form{}, nil
	}
	member, ok := strings.CutPrefix(s.Field, "members.")
	if !ok || len(s.Given) < 1 || len(s.Given) > 2 {
		return nil, nil, nil, fmt.Errorf("no such field")
	}
	return []Form{in, out}[:len(s.Given)], s.Given, Form{member: number(1)}, nil
}

// Slips lets couplings slip against their capacities, and the vehicle's resistance
// brake the output.
func (r *Rows) Slips(capacities Form) {
	for name, x := range capacities {
		c := r.Couplings[name]
		if name == "resistance" {
			c.A, c.B = r.Output, kinematics.HousingName
		}
		c.Mode, c.Capacity = Friction, x
		r.Couplings[name] = c
	}
}

func number(x int64) *Frac { return Exactly(big.NewRat(x, 1)) }

// RowsOf writes down the equations of a state.
func RowsOf(t *kinematics.Train, st kinematics.State) *Rows {
	name := func(id kinematics.MemberID) string { return t.Members[id].Name }
	r := &Rows{Input: name(st.Input), Output: name(st.Output), Forward: int64(t.Forward),
		Couplings: map[string]Coupling{}}
	for _, m := range t.Meshes {
		za, zb := m.ZA, m.Kind.Sign()*m.ZB
		row := Form{}.add(one, Form{name(m.A): number(za)}).add(one, Form{name(m.B): number(zb)})
		r.Meshes = append(r.Meshes, row.add(one, Form{name(m.Carrier): number(-za - zb)}))
	}
	modes := [...]Mode{kinematics.Open: Open, kinematics.Locked: Locked, kinematics.Overruns: OneWay,
		kinematics.Reversed: Reversed}
	for i, c := range t.Couplings {
		r.Couplings[c.Name] = Coupling{A: name(c.A), B: name(c.B), Mode: modes[st.Modes[i]]}
	}
	return r
}
