package certify

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// Frac is a fraction, written as 27/11.
type Frac struct{ big.Rat }

// MarshalText writes it.
func (f Frac) MarshalText() ([]byte, error) { return f.Rat.MarshalText() }

// UnmarshalText reads digits with a sign and a slash alone.
func (f *Frac) UnmarshalText(text []byte) error {
	if strings.Trim(string(text), "-/0123456789") != "" || len(text) > 10_000 {
		return fmt.Errorf("%.40q is not a fraction", text)
	}
	return f.Rat.UnmarshalText(text)
}

// A Form is numbers by name: a linear function of the speeds of members, a motion,
// which is these speeds, or the multipliers of rows.
type Form map[string]Frac

// Rows are the equations of a state, by name.
type Rows map[string]Row

// A Row is a function of the speeds and what it is in every motion: "=" 0, ">=" 0,
// "<=" 0, or anything, against the "friction" of a capacity. A mesh with losses acts on a
// balance as Forth or as Back, by the sign of its multiplier times Rolls.
type Row struct {
	Form               Form   `json:"form"`
	Sense              string `json:"sense"`
	Capacity           Frac   `json:"capacity"`
	Rolls, Forth, Back Form
}

// A Certificate proves fields of an answer; see the package comment.
type Certificate struct {
	Motions  []Form    `json:"motions,omitempty"`
	Slices   []Slice   `json:"slices,omitempty"`
	Balances []Balance `json:"balances,omitempty"`
}

// A Slice is the values of a quantity in the motions that are given: none, or between
// two ends; or the least of what it Costs, friction and quantity.
type Slice struct {
	Field    string     `json:"field"`
	Given    []Form     `json:"given"`
	Is       []Frac     `json:"is"` // the values of Given
	Quantity Form       `json:"quantity,omitempty"`
	Costs    bool       `json:"costs,omitempty"`
	Empty    *End       `json:"empty,omitempty"`
	Min      *End       `json:"min,omitempty"`
	Max      *End       `json:"max,omitempty"`
	Parts    [][]string `json:"parts,omitempty"`   // of a conflict
	Without  []Form     `json:"without,omitempty"` // a motion for each part left out
}

// An End has a value, a motion that reaches it, and the multipliers of rows and of what
// is given that prove it; or a ray. Motions are by number.
type End struct {
	Value  *Frac  `json:"value,omitempty"`
	Motion int    `json:"motion"`
	Ray    *int   `json:"ray,omitempty"`
	Rows   Form   `json:"rows,omitempty"`
	At     []Frac `json:"at,omitempty"`
}

// A Balance is an equilibrium of torques at members and of rows, at a motion. Alone, if
// there, shows that all follow from the torques outside but that at Unknown.
type Balance struct {
	Field   string          `json:"field"`
	Outside Form            `json:"outside"`
	Rows    Form            `json:"rows"`
	Motion  int             `json:"motion"`
	Unknown string          `json:"unknown,omitempty"`
	Alone   map[string]Form `json:"alone,omitempty"`
}

// Check verifies every part of a certificate. The rows of a balance, with what slips and
// resists in it or with losses, are given apart.
func (r Rows) Check(c *Certificate, of func(*Balance) Rows) (err error) {
	where := "motions"
	defer func() {
		if x := recover(); x != nil { // refused, or a motion or a proof is not there
			err = fmt.Errorf("%s: %v", where, x)
		}
	}()
	for _, m := range c.Motions {
		r.admits(m)
	}
	for i := range c.Slices {
		where = c.Slices[i].Field
		r.slice(c, &c.Slices[i])
	}
	for i := range c.Balances {
		where = c.Balances[i].Field
		of(&c.Balances[i]).balance(c, &c.Balances[i])
	}
	return nil
}

func (r Rows) slice(c *Certificate, s *Slice) {
	if s.Parts != nil {
		r = r.only(s.Parts)
	}
	if s.Empty != nil {
		want(r.bound(s, s.Empty, Form{}).Sign() > 0, "nothing is contradicted")
		want(len(s.Without) == len(s.Parts), "a motion is missing")
		for i, m := range s.Without {
			r.only(slices.Concat(s.Parts[:i], s.Parts[i+1:])).admits(m)
			s.starts(m)
		}
		return
	}
	r.end(c, s, s.Min, s.Quantity)
	if !s.Costs {
		r.end(c, s, s.Max, Form{}.Add(minus, s.Quantity))
	}
}

// balance checks an equilibrium: what slips does so against its whole capacity.
func (r Rows) balance(c *Certificate, b *Balance) {
	at, sum, loaded := c.Motions[b.Motion], Form{}.Add(one, b.Outside), Rows{"": {Form: Form{b.Unknown: Frac{*one}}}}
	for name, x := range b.Rows {
		row := r[name]
		loaded[name] = row
		want(row.carries(x, true), name+" cannot carry that")
		sum.Add(&x.Rat, [...]Form{row.Back, row.Form, row.Forth}[1+x.Sign()*row.Rolls.Of(at).Sign()])
	}
	want(len(sum) == 0, "no equilibrium")
	for name, row := range r {
		x, slip := b.Rows[name], row.Form.Of(at)
		power := times(&x.Rat, slip)
		want(power.Add(power, times(&row.Capacity.Rat, slip.Abs(slip))).Sign() == 0, name+" slips against another torque")
	}
	for name := range loaded {
		for other, row := range loaded {
			moved, alone := row.Form.Of(b.Alone[name]), Form{name: Frac{*one}}[other]
			want(b.Alone == nil || moved.Cmp(&alone.Rat) == 0, name+" does not move alone")
		}
	}
}

// end checks the least value of a quantity.
func (r Rows) end(c *Certificate, s *Slice, e *End, quantity Form) {
	m := c.Motions[e.Motion]
	s.starts(m)
	if e.Ray != nil {
		ray := c.Motions[*e.Ray]
		for _, f := range s.Given {
			want(f.Of(ray).Sign() == 0, "a ray leaves what is given")
		}
		value := quantity.Of(ray)
		for _, row := range r {
			if slip := row.Form.Of(ray); s.Costs {
				value.Add(value, times(&row.Capacity.Rat, slip.Abs(slip)))
			}
		}
		want(e.Value == nil && value.Sign() < 0, "a ray goes elsewhere")
		return
	}
	bound := r.bound(s, e, quantity)
	reached := !s.Costs && quantity.Of(m).Cmp(bound) == 0 && s.Quantity.Of(m).Cmp(&e.Value.Rat) == 0
	want(reached, "a value is not proved, or not reached")
}

// bound is what a proof shows: quantity >= bound wherever the forms are as given.
func (r Rows) bound(s *Slice, e *End, quantity Form) *big.Rat {
	sum, bound := Form{}.Add(minus, quantity), new(big.Rat)
	for name, x := range e.Rows {
		row := r[name]
		want(row.carries(x, false), name+" proves nothing of that sign")
		sum.Add(&x.Rat, row.Form)
	}
	for i, a := range e.At {
		sum.Add(times(minus, &a.Rat), s.Given[i])
		bound.Sub(bound, times(&a.Rat, &s.Is[i].Rat))
	}
	want(len(sum) == 0, "the rows of a proof do not add up")
	return bound
}

// only are the meshes and the rows of some parts.
func (r Rows) only(parts [][]string) Rows {
	kept, names := Rows{}, slices.Concat(parts...)
	for name, row := range r {
		if strings.HasPrefix(name, "mesh ") || slices.Contains(names, name) {
			kept[name] = row
		}
	}
	return kept
}

// admits refuses a motion that a row forbids.
func (r Rows) admits(m Form) {
	for name, row := range r {
		s := row.Form.Of(m).Sign()
		free := s == 0 || row.Sense == "friction" || s > 0 && row.Sense == ">=" || s < 0 && row.Sense == "<="
		want(free, name+" forbids a motion")
	}
}

// carries says whether x times the row is >= 0 in every motion, or, in a balance, that
// the row can carry a torque x.
func (r *Row) carries(x Frac, balance bool) bool {
	s := x.Sign()
	return s == 0 || r.Sense == "=" || s > 0 && r.Sense == ">=" || s < 0 && r.Sense == "<=" ||
		balance && r.Sense == "friction" && x.Abs(&x.Rat).Cmp(&r.Capacity.Rat) <= 0
}

// starts refuses a motion in which what is given is otherwise.
func (s *Slice) starts(m Form) {
	for i, f := range s.Given {
		want(f.Of(m).Cmp(&s.Is[i].Rat) == 0, "a motion is not as given")
	}
}

// Of is the value of a linear function on a motion.
func (f Form) Of(motion Form) *big.Rat {
	sum := new(big.Rat)
	for name, x := range f {
		w := motion[name]
		sum.Add(sum, times(&x.Rat, &w.Rat))
	}
	return sum
}

// Add adds a multiple of other, and leaves out what is 0.
func (f Form) Add(factor *big.Rat, other Form) Form {
	for name, x := range other {
		sum := f[name]
		sum.Rat = *new(big.Rat).Add(&sum.Rat, times(factor, &x.Rat))
		if f[name] = sum; sum.Sign() == 0 {
			delete(f, name)
		}
	}
	return f
}

var one, minus = big.NewRat(1, 1), big.NewRat(-1, 1)

func times(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }

// want refuses what does not hold.
func want(holds bool, otherwise string) {
	if !holds {
		panic(otherwise)
	}
}
