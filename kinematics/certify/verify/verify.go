// Package verify compares an answer in JSON with what its certificate proves: package
// certify multiplies the certificate out, against rows that are built anew from the train
// file, and here the fields of the answer are compared with it, decimals with fractions.
package verify

import (
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/certify"
)

// A Certificate is what an answer carries: a [certify.Certificate], the numbers that the
// answer itself has as decimals alone, and the fields that it proves and does not.
type Certificate struct {
	Covers     []string `json:"covers"`
	NotCovered []string `json:"not_covered"`
	// Capacities are those of couplings that slip, Resistances those of the vehicle in
	// each balance that has one, by field, and Efficiencies "external", "internal" and
	// "chain", or "basic.NAME" of each gearset.
	Capacities   certify.Form `json:"capacities,omitempty"`
	Resistances  certify.Form `json:"resistances,omitempty"`
	Efficiencies certify.Form `json:"efficiencies,omitempty"`
	certify.Certificate
}

// A Problem is a field of an answer that its certificate does not prove.
type Problem struct {
	Where string // "range D1", "part 3"
	Err   error
}

func (p *Problem) Error() string { return p.Where + ": " + p.Err.Error() }

// Answer checks an answer in JSON, of solve, why, load or breakaway, against its
// train: rows and modes are built anew, certificates multiplied out, and the fields
// they cover compared. It returns how many certificates it checked.
func Answer(t *kinematics.Train, answer []byte) (checked int, err error) {
	var head struct {
		Schema string            `json:"schema"`
		RPM    *float64          `json:"input_rpm"`
		Torque *float64          `json:"input_torque"`
		Drag   *float64          `json:"engine_drag"`
		States []json.RawMessage `json:"states"`
		Loads  []json.RawMessage `json:"loads"`
		Losses stated            `json:"losses"`
	}
	if err := json.Unmarshal(answer, &head); err != nil {
		return 0, fmt.Errorf("this is no answer in JSON: %w", err)
	}
	var parts []json.RawMessage
	var verify func(t *kinematics.Train, data []byte) error
	switch head.Schema {
	case "tieup.solve/1":
		parts, verify = head.States, func(t *kinematics.Train,
			data []byte) error {
			return verifySolved(t, data, head.RPM)
		}
	case "tieup.why/1":
		parts, verify = []json.RawMessage{answer}, verifyWhy
	case "tieup.load/1":
		parts, verify = head.Loads, func(t *kinematics.Train, data []byte) error {
			return verifyLoad(t, data, head.Torque, head.Drag, &head.Losses)
		}
	case "tieup.breakaway/1":
		parts, verify = []json.RawMessage{answer}, verifyBreakaway
	}
	for i, data := range parts {
		if err := verify(t, data); err != nil {
			var s subject
			_ = json.Unmarshal(data, &s)
			where := fmt.Sprintf("part %d", i+1)
			if s.Range != nil {
				where = "range " + *s.Range
			}
			return i, &Problem{where, err}
		}
	}
	if verify != nil {
		return len(parts), nil
	}
	return 0,
		fmt.Errorf("answers of schema %.40q carry no certificate: solve, why, load and breakaway do, with --format json",
			head.Schema)
}

// A subject is the state that an answer is about.
type subject struct {
	Range       *string      `json:"range"`
	Apply       []string     `json:"apply"`
	Faults      []string     `json:"faults"`
	Input       member       `json:"input"`
	Output      member       `json:"output"`
	Certificate *Certificate `json:"certificate"`

	input, output kinematics.MemberID
}

// A member is named by a string, or by the field of an object.
type member string

// UnmarshalJSON reads either.
func (m *member) UnmarshalJSON(data []byte) error {
	var object struct {
		Member string `json:"member"`
	}
	if json.Unmarshal(data, &object) == nil {
		*m = member(object.Member)
		return nil
	}
	return json.Unmarshal(data, (*string)(m))
}

// state builds the state anew.
func (s *subject) state(t *kinematics.Train) (st kinematics.State, err error) {
	r := kinematics.Range{Input: t.Input, Output: t.Output}
	if s.Range != nil {
		i, ok := t.Range(*s.Range)
		if !ok {
			return st, fmt.Errorf("%s has no range %.40q", t.Name, *s.Range)
		}
		r = t.Ranges[i]
	} else {
		for _, name := range s.Apply {
			i, ok := t.Element(name)
			if !ok {
				return st, fmt.Errorf("%s has no element %.40q", t.Name, name)
			}
			r.Apply = append(r.Apply, i)
		}
	}
	for _, end := range []struct {
		name member
		into *kinematics.MemberID
	}{{s.Input, &r.Input}, {s.Output, &r.Output}} {
		if m, ok := t.Member(string(end.name)); ok {
			*end.into = m
		} else if end.name != "" {
			return st, fmt.Errorf("%s has no member %.40q", t.Name, end.name)
		}
	}
	var faults []kinematics.Fault
	for _, text := range s.Faults {
		f, err := kinematics.ParseFault(t, text)
		if err != nil {
			return st, err
		}
		faults = append(faults, f)
	}
	if s.Certificate == nil {
		return st, errors.New("it carries no certificate")
	}
	s.input, s.output = r.Input, r.Output
	return t.In(&r, faults...), nil
}

// claims looks for fields that a certificate is said to cover and that are not looked at.
func (s *subject) claims(fields ...string) error {
	for _, field := range s.Certificate.Covers {
		if !slices.Contains(fields, field) {
			return fmt.Errorf("it is said to cover %.40q, which is not checked", field)
		}
	}
	return nil
}

// bounds are the ends of an interval in JSON: numbers, "inf", "-inf" or null.
type bounds struct {
	Min json.RawMessage `json:"min"`
	Max json.RawMessage `json:"max"`
}

// A verdicted is what solve and why have in common.
type verdicted struct {
	subject
	Verdict string          `json:"verdict"`
	Ratio   json.RawMessage `json:"ratio"`
	Exact   *certify.Frac   `json:"ratio_exact"`
}

// A solved is the part of a state of solve that a certificate covers.
type solved struct {
	verdicted
	At struct {
		Input  json.RawMessage `json:"input"`
		Output json.RawMessage `json:"output"`
	} `json:"at"`
	Pull  bounds `json:"pull"`
	Coast struct {
		Forward  roll `json:"forward"`
		Backward roll `json:"backward"`
	} `json:"coast"`
	InputBackward bool                       `json:"input_backward"`
	Members       map[string]json.RawMessage `json:"members"`
	MembersExact  map[string]json.RawMessage `json:"members_exact"`
}

type roll struct {
	Rolls bool            `json:"rolls"`
	Min   json.RawMessage `json:"input_min"`
	Max   json.RawMessage `json:"input_max"`
}

func verifySolved(t *kinematics.Train, data []byte, rpm *float64) error {
	var s solved
	if err := json.Unmarshal(data, &s); err != nil {
		return err
	}
	return s.verify(t, rpm)
}

// proved holds the slices of a certificate that was checked, by field.
type proved map[string]*certify.Slice

// check checks a certificate against rows, and that its slices are what their fields say.
func (s *subject) check(t *kinematics.Train, rows certify.Rows,
	of func(*certify.Balance) certify.Rows) (proved, error) {
	c := s.Certificate
	if err := rows.Check(&c.Certificate, of); err != nil {
		return nil, err
	}
	p := proved{}
	for i := range c.Slices {
		x := &c.Slices[i]
		given, is, quantity := s.meant(t, x)
		if x.Costs || x.Parts != nil {
			continue // looked at where it belongs
		}
		same := len(given) == len(x.Given) && len(x.Given) == len(x.Is) && equal(quantity, x.Quantity)
		for k := 0; same && k < len(given); k++ {
			same = equal(given[k], x.Given[k]) && (is == nil || x.Is[k].Cmp(is) == 0)
		}
		if !same {
			return nil, fmt.Errorf("%.40q: it is not about that", x.Field)
		}
		p[x.Field] = x
	}
	return p, nil
}

func equal(f, g certify.Form) bool { return len(certify.Form{}.Add(one, f).Add(minus, g)) == 0 }

// meant is what a field fixes, at which value, and its quantity. The values that are
// given for members are those of the answer: nil here.
func (s *subject) meant(t *kinematics.Train, x *certify.Slice) (given []certify.Form, is *big.Rat,
	quantity certify.Form) {
	in, out := form(t, one, s.input), form(t, one, s.output)
	vehicle := form(t, big.NewRat(int64(t.Forward), 1), s.output)
	switch x.Field {
	case "pull":
		return []certify.Form{in}, one, vehicle
	case "coast.forward":
		return []certify.Form{vehicle}, one, in
	case "coast.backward":
		return []certify.Form{certify.Form{}.Add(minus, vehicle)}, one, in
	case "rest":
		return []certify.Form{in}, new(big.Rat), vehicle
	case "input_backward":
		return []certify.Form{certify.Form{}.Add(minus, in)}, one, nil
	}
	name, _ := strings.CutPrefix(x.Field, "members.")
	return []certify.Form{in, out}[:min(max(len(x.Given), 1), 2)], nil, certify.Form{name: {Rat: *one}}
}

// outcome checks the certificate, the verdict and the ratio.
func (s *verdicted) outcome(t *kinematics.Train) (proved, error) {
	st, err := s.state(t)
	if err != nil {
		return nil, err
	}
	p, err := s.check(t, RowsOf(t, st), func(*certify.Balance) certify.Rows { return nil })
	if err != nil {
		return nil, err
	}
	for _, field := range []string{"pull", "coast.forward", "coast.backward", "rest", "input_backward"} {
		if p[field] == nil {
			return nil, fmt.Errorf("%s is not proved", field)
		}
	}
	if want := verdict(p["pull"], p["rest"]); s.Verdict != want {
		return nil, fmt.Errorf("the verdict is %.20q, proved is %s", s.Verdict, want)
	}
	return p, s.ratio(p["pull"], int64(t.Forward))
}

func (s *solved) verify(t *kinematics.Train, rpm *float64) error {
	p, err := s.outcome(t)
	if err != nil {
		return err
	}
	if err := holds(p["pull"], s.Pull, one); err != nil {
		return fmt.Errorf("pull: %w", err)
	}
	for _, x := range []struct {
		field string
		roll  roll
	}{{"coast.forward", s.Coast.Forward}, {"coast.backward", s.Coast.Backward}} {
		err := holds(p[x.field], bounds{x.roll.Min, x.roll.Max}, one)
		if err != nil || x.roll.Rolls != (p[x.field].Empty == nil) {
			return fmt.Errorf("%s: %w", x.field, err)
		}
	}
	if err := s.claims("verdict", "ratio", "pull", "coast", "input_backward", "members"); err != nil {
		return err
	}
	if s.InputBackward != (p["input_backward"].Empty == nil) {
		return errors.New("input_backward is not as proved")
	}
	if !slices.Contains(s.Certificate.Covers, "members") {
		return nil
	}
	return s.members(t, p, rpm)
}

// members compares the speeds of members.
func (s *solved) members(t *kinematics.Train, p proved, rpm *float64) error {
	per := big.NewRat(1, 1)
	if rpm != nil {
		per.SetFloat64(*rpm)
	}
	for name, value := range s.Members {
		slice := p["members."+name]
		if id, ok := t.Member(name); !ok || t.Members[id].Unknown || id == kinematics.Housing {
			continue // no equation gives it, or it is at rest for good
		}
		if slice == nil {
			return fmt.Errorf("the speed of %.40q is not proved", name)
		}
		if !at(slice.Is[0], s.At.Input, per) || len(slice.Is) > 1 && !at(slice.Is[1], s.At.Output, per) {
			return fmt.Errorf("the speed of %s is proved at another point", name)
		}
		var b bounds
		if json.Unmarshal(value, &b) != nil {
			b = bounds{value, value}
		}
		err := holds(slice, b, per)
		if err == nil { // of a turn of the input, whatever its speed
			err = exactly(slice, s.MembersExact[name])
		}
		if err != nil {
			return fmt.Errorf("the speed of %s: %w", name, err)
		}
	}
	for name := range s.MembersExact {
		if s.Members[name] == nil {
			return fmt.Errorf("%.40q has an exact speed and no other", name)
		}
	}
	return nil
}

// exactly compares a fraction in JSON, or the two ends of an interval, with what is proved.
func exactly(s *certify.Slice, text json.RawMessage) error {
	var b struct{ Min, Max string }
	if text == nil || json.Unmarshal(text, &b.Min) == nil {
		b.Max = b.Min
	} else if err := json.Unmarshal(text, &b); err != nil {
		return err
	}
	end := func(e *certify.End, infinite string) string {
		if e == nil || e.Value == nil {
			return infinite
		}
		return e.Value.RatString()
	}
	if text != nil && (b.Min != end(s.Min, "-inf") || b.Max != end(s.Max, "inf")) {
		return fmt.Errorf("it is exactly %.40s, another value is proved", text)
	}
	return nil
}

// verdict follows from the output speeds with the input turned and at rest.
func verdict(pull, rest *certify.Slice) string {
	zero := func(e *certify.End) bool { return e.Value != nil && e.Value.Sign() == 0 }
	switch {
	case pull.Empty != nil && zero(rest.Min) && zero(rest.Max):
		return "tie-up"
	case pull.Empty != nil:
		return "input-held"
	case zero(pull.Min) && zero(pull.Max):
		return "output-held"
	case pull.Min.Value != nil && pull.Min.Value.Sign() > 0:
		return "forward"
	case pull.Max.Value != nil && pull.Max.Value.Sign() < 0:
		return "reverse"
	}
	return "neutral"
}

// ratio compares the ratio, input speed over output speed, of a state that drives.
func (s *verdicted) ratio(pull *certify.Slice, forward int64) error {
	var end *certify.End
	switch s.Verdict {
	case "forward":
		end = pull.Min
	case "reverse":
		end = pull.Max
	default:
		if s.Exact != nil || string(s.Ratio) != "null" {
			return errors.New("there is a ratio, and nothing drives")
		}
		return nil
	}
	ratio := new(big.Rat).Inv(&end.Value.Rat)
	ratio.Mul(ratio, big.NewRat(forward, 1))
	if s.Exact == nil || s.Exact.Cmp(ratio) != 0 || !nearest(s.Ratio, ratio) {
		return fmt.Errorf("the ratio is not %s, which is proved", ratio.RatString())
	}
	return nil
}

// holds compares an interval in JSON with what is proved, times per.
func holds(s *certify.Slice, b bounds, per *big.Rat) error {
	if s.Empty != nil {
		if null(b.Min) && null(b.Max) {
			return nil
		}
		return errors.New("it is empty, by its proof")
	}
	for _, x := range []struct {
		text     json.RawMessage
		end      *certify.End
		infinite string
	}{{b.Min, s.Min, `"-inf"`}, {b.Max, s.Max, `"inf"`}} {
		if x.end.Value == nil && string(x.text) != x.infinite ||
			x.end.Value != nil && !nearest(x.text, new(big.Rat).Mul(&x.end.Value.Rat, per)) {
			return fmt.Errorf("it is %.40s, another value is proved", x.text)
		}
	}
	return nil
}

func null(text json.RawMessage) bool { return len(text) == 0 || string(text) == "null" }

// at says whether a given speed is the number in the answer.
func at(given certify.Frac, text json.RawMessage, per *big.Rat) bool {
	return nearest(text, new(big.Rat).Mul(&given.Rat, per))
}

// nearest says whether a number is the float64 nearest to x, where there is one.
func nearest(text json.RawMessage, x *big.Rat) bool {
	got, err := strconv.ParseFloat(string(text), 64)
	want, _ := x.Float64()
	return err == nil && got == want
}

// A why is the part of an answer of why that a certificate covers.
type why struct {
	verdicted
	Conflicts []struct {
		Motive   string                     `json:"motive"`
		Elements []string                   `json:"elements"`
		Splines  []string                   `json:"splines"`
		Joints   []string                   `json:"joints"`
		Torques  map[string]json.RawMessage `json:"torques"`
	} `json:"conflicts"`
}

var motives = map[string]string{
	"turn-input-forward": "pull", "turn-input-backward": "input_backward",
	"roll-forward": "coast.forward", "roll-backward": "coast.backward",
}

func verifyWhy(t *kinematics.Train, data []byte) error {
	var w why
	if err := json.Unmarshal(data, &w); err != nil {
		return err
	}
	if _, err := w.outcome(t); err != nil {
		return err
	}
	if err := w.claims("verdict", "ratio", "conflicts"); err != nil {
		return err
	}
	var conflicts []*certify.Slice
	for i := range w.Certificate.Slices {
		if x := &w.Certificate.Slices[i]; x.Parts != nil {
			conflicts = append(conflicts, x)
		}
	}
	if len(w.Conflicts) != len(conflicts) {
		return fmt.Errorf("there are %d conflicts, and proofs of %d", len(w.Conflicts), len(conflicts))
	}
	for i, c := range w.Conflicts {
		p := conflicts[i]
		names, parts := slices.Concat(c.Elements, c.Splines), slices.Concat(p.Parts...)
		slices.Sort(names)
		slices.Sort(parts)
		given, is, _ := w.meant(t, p)
		asked := p.Field == motives[c.Motive] && p.Empty != nil && len(p.Given) == 1 && len(p.Is) == 1 &&
			equal(p.Given[0], given[0]) && p.Is[0].Cmp(is) == 0
		if !asked || !slices.Equal(names, parts) || len(p.Parts) != len(c.Elements)+len(c.Joints) {
			return fmt.Errorf("conflict %d is another than is proved", i+1)
		}
		if len(c.Torques) != len(names) {
			return fmt.Errorf("conflict %d: a torque is missing", i+1)
		}
		for name, torque := range c.Torques {
			// Torques are per unit of what is asked, as the proof is.
			x, ok := p.Empty.Rows[name]
			if !ok || len(p.Empty.At) != 1 || p.Empty.At[0].Cmp(minus) != 0 || !nearest(torque, &x.Rat) {
				return fmt.Errorf("conflict %d: the torque of %s is not proved", i+1, name)
			}
		}
	}
	return nil
}
