package certify

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// Frac is a fraction, written as 27/11.
type Frac struct{ big.Rat }

// UnmarshalText reads digits with a sign and a slash alone.
func (f *Frac) UnmarshalText(text []byte) error {
	if strings.Trim(string(text), "-/0123456789") != "" || len(text) > 10_000 {
		return fmt.Errorf("%.40q is not a fraction", text)
	}
	return f.Rat.UnmarshalText(text)
}

// Exactly returns x as a Frac.
func Exactly(x *big.Rat) *Frac {
	f := new(Frac)
	f.Set(x)
	return f
}

// A Form is a linear function of the speeds of members, or a motion: by member.
type Form map[string]*Frac

func (f Form) add(factor *big.Rat, other Form) Form {
	for member, x := range other {
		if f[member] == nil {
			f[member] = new(Frac)
		}
		f[member].Add(&f[member].Rat, new(big.Rat).Mul(factor, &x.Rat))
	}
	delete(f, "housing")
	return f
}

// Plus adds x at a name.
func (f Form) Plus(name string, x *Frac) { f.add(one, Form{name: x}) }

func (f Form) of(motion Form) *big.Rat {
	sum := new(big.Rat)
	for member, x := range f {
		if w := motion[member]; w != nil {
			sum.Add(sum, new(big.Rat).Mul(&x.Rat, &w.Rat))
		}
	}
	return sum
}

// A Certificate proves fields of an answer; see the package comment.
type Certificate struct {
	Covers    []string   `json:"covers"`
	Motions   []Form     `json:"motions,omitempty"`
	Slices    []Slice    `json:"slices,omitempty"`
	Conflicts []Conflict `json:"conflicts,omitempty"`
	Balances  []Balance  `json:"balances,omitempty"`
	// Capacities are those of couplings that slip, and of the vehicle's resistance.
	Capacities Form `json:"capacities,omitempty"`
}

// A Proof is multipliers of rows, and of the forms that are given.
type Proof struct {
	Meshes    map[int]*Frac `json:"meshes,omitempty"` // by number, from 0
	Couplings Form          `json:"couplings,omitempty"`
	At        []*Frac       `json:"at,omitempty"`
}

// A Slice is the values of a quantity: between two ends, or none. Where there is one
// value, proved by rows that can be turned over, Max is left out.
type Slice struct {
	Field string  `json:"field"`
	Given []*Frac `json:"given,omitempty"` // of a member: the speeds of input and output, where fixed
	Empty *Proof  `json:"empty,omitempty"`
	Min   *End    `json:"min,omitempty"`
	Max   *End    `json:"max,omitempty"`
}

// An End has a value and a proof, or a ray if it is infinite.
type End struct {
	Value  *Frac  `json:"value,omitempty"`
	Motion int    `json:"motion"`
	Ray    *int   `json:"ray,omitempty"`
	Proof  *Proof `json:"proof,omitempty"`
}

// A Conflict is a smallest set of parts that makes a motion impossible, with a motion
// for each part left out, in which the others hold.
type Conflict struct {
	Field   string     `json:"field"`
	Parts   [][]string `json:"parts"`
	Proof   Proof      `json:"proof"`
	Without []Form     `json:"without"`
}

// A Balance is an equilibrium, with a motion that dissipates what is put in.
type Balance struct {
	Field   string `json:"field"`
	Outside Form   `json:"outside"` // torques at members
	Proof   Proof  `json:"proof"`
	Motion  int    `json:"motion"`
}

// resisted says whether the vehicle's resistance is part of it.
func (b *Balance) resisted() bool { return b.Proof.Couplings["resistance"] != nil }

// Check verifies every part of a certificate.
func (r *Rows) Check(c *Certificate) (err error) {
	defer func() {
		if x := recover(); x != nil {
			err = fmt.Errorf("a number is missing: %v", x)
		}
	}()
	for i, m := range c.Motions {
		if bad := r.forbids(m, nil); bad != "" {
			return fmt.Errorf("motion %d: %s does not allow it", i, bad)
		}
	}
	for i := range c.Slices {
		if err := r.slice(c, &c.Slices[i]); err != nil {
			return fmt.Errorf("%s: %w", c.Slices[i].Field, err)
		}
	}
	for i := range c.Conflicts {
		if err := r.conflict(&c.Conflicts[i]); err != nil {
			return fmt.Errorf("conflict %d: %w", i+1, err)
		}
	}
	for i := range c.Balances {
		b := &c.Balances[i]
		sum, err := r.sum(&b.Proof, nil, true)
		m, ok := c.motion(b.Motion)
		if err != nil || !ok || !sum.add(one, b.Outside).isZero() || r.dissipation(m,
			b.resisted()).Cmp(b.Outside.of(m)) != 0 {
			return fmt.Errorf("%s: no equilibrium, or not at this cost: %v", b.Field, err)
		}
	}
	return nil
}

var one, minus = big.NewRat(1, 1), big.NewRat(-1, 1)

func (f Form) isZero() bool {
	for _, x := range f {
		if x.Sign() != 0 {
			return false
		}
	}
	return true
}

func (c *Certificate) motion(i int) (Form, bool) {
	if i < 0 || i >= len(c.Motions) {
		return nil, false
	}
	return c.Motions[i], true
}

// forbids names a row that forbids a motion; only, if not nil, are the couplings that hold.
func (r *Rows) forbids(m Form, only []string) string {
	for i, mesh := range r.Meshes {
		if mesh.of(m).Sign() != 0 {
			return fmt.Sprintf("mesh %d", i)
		}
	}
	for name, c := range r.Couplings {
		if (only == nil || slices.Contains(only, name)) && !c.allows(c.slip().of(m).Sign()) {
			return name
		}
	}
	return ""
}

// sum adds up the rows of a proof, whose multipliers must have the signs that make it >= 0.
// Friction has no sign: it belongs in an equilibrium alone.
func (r *Rows) sum(p *Proof, only []string, friction bool) (Form, error) {
	sum := Form{}
	for i, x := range p.Meshes {
		if i < 0 || i >= len(r.Meshes) {
			return nil, fmt.Errorf("no mesh %d", i)
		}
		sum.add(&x.Rat, r.Meshes[i])
	}
	for name, x := range p.Couplings {
		c, ok := r.Couplings[name]
		if !ok || !c.carries(&x.Rat, friction) || only != nil && !slices.Contains(only, name) {
			return nil, fmt.Errorf("%.40q carries no %v", name, &x.Rat)
		}
		sum.add(&x.Rat, c.slip())
	}
	return sum, nil
}

// bound is what a proof shows: quantity >= bound wherever the forms have the values given.
func (r *Rows) bound(p *Proof, only []string, forms []Form, values []*Frac, quantity Form) (*big.Rat, error) {
	sum, err := r.sum(p, only, false)
	if err != nil || len(p.At) != len(forms) {
		return nil, fmt.Errorf("a proof is not whole: %v", err)
	}
	bound := new(big.Rat)
	sum.add(minus, quantity)
	for i, a := range p.At {
		sum.add(new(big.Rat).Neg(&a.Rat), forms[i])
		bound.Sub(bound, new(big.Rat).Mul(&a.Rat, &values[i].Rat))
	}
	if !sum.isZero() {
		return nil, fmt.Errorf("the rows of a proof do not add up")
	}
	return bound, nil
}

func (r *Rows) slice(c *Certificate, s *Slice) error {
	forms, values, quantity, err := r.given(s)
	if err != nil {
		return err
	}
	if s.Empty != nil && s.Min == nil && s.Max == nil {
		if bound, err := r.bound(s.Empty, nil, forms, values, Form{}); err != nil || bound.Sign() <= 0 {
			return fmt.Errorf("nothing is contradicted: %v", err)
		}
		return nil
	}
	if s.Min != nil && s.Max == nil {
		s.Max = s.Min.turned()
	}
	if s.Min == nil {
		return fmt.Errorf("an end is missing")
	}
	if err := r.end(c, s.Min, forms, values, quantity, one); err != nil {
		return err
	}
	return r.end(c, s.Max, forms, values, Form{}.add(minus, quantity), minus)
}

// turned is the other end of a slice with one value: the same rows, turned over.
func (e *End) turned() *End {
	if e.Proof == nil {
		return e
	}
	p := &Proof{Meshes: map[int]*Frac{}, Couplings: Form{}.add(minus, e.Proof.Couplings)}
	for i, x := range e.Proof.Meshes {
		p.Meshes[i] = Form{}.add(minus, Form{"": x})[""]
	}
	for _, x := range e.Proof.At {
		p.At = append(p.At, Form{}.add(minus, Form{"": x})[""])
	}
	return &End{Value: e.Value, Motion: e.Motion, Proof: p}
}

// end checks the least value of a quantity, or of its negative.
func (r *Rows) end(c *Certificate, e *End, forms []Form, values []*Frac, quantity Form, sense *big.Rat) error {
	at, ok := c.motion(e.Motion)
	for i, f := range forms {
		ok = ok && f.of(at).Cmp(&values[i].Rat) == 0
	}
	if e.Ray != nil && e.Value == nil {
		ray, there := c.motion(*e.Ray)
		for _, f := range forms {
			ok = ok && f.of(ray).Sign() == 0
		}
		if !ok || !there || quantity.of(ray).Sign() >= 0 {
			return fmt.Errorf("the ray does not go there")
		}
		return nil
	}
	if !ok || e.Value == nil || e.Proof == nil {
		return fmt.Errorf("the motion is not as given, or an end has no value or proof")
	}
	value := new(big.Rat).Mul(sense, &e.Value.Rat)
	bound, err := r.bound(e.Proof, nil, forms, values, quantity)
	if err != nil || bound.Cmp(value) != 0 || quantity.of(at).Cmp(value) != 0 {
		return fmt.Errorf("%v is not proved, or not reached: %v", &e.Value.Rat, err)
	}
	return nil
}

func (r *Rows) conflict(c *Conflict) error {
	forms, values, _, err := r.given(&Slice{Field: c.Field})
	if err != nil {
		return err
	}
	bound, err := r.bound(&c.Proof, slices.Concat(c.Parts...), forms, values, Form{})
	if err != nil || bound.Sign() <= 0 || len(c.Without) != len(c.Parts) {
		return fmt.Errorf("nothing is contradicted: %v", err)
	}
	for i, m := range c.Without {
		others := slices.Concat(append(slices.Clone(c.Parts[:i]), c.Parts[i+1:]...)...)
		if bad := r.forbids(m, append(others, "")); bad != "" || forms[0].of(m).Cmp(&values[0].Rat) != 0 {
			return fmt.Errorf("the motion without %s is another, or forbidden by %q", c.Parts[i], bad)
		}
	}
	return nil
}
