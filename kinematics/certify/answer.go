package certify

import (
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"strconv"

	"tieup/kinematics"
)

// A Problem is a field of an answer that its certificate does not prove.
type Problem struct {
	Where string // "range D1", "state 3"
	Err   error
}

func (p *Problem) Error() string { return p.Where + ": " + p.Err.Error() }

// Verify checks an answer in JSON, of solve, why, load or breakaway, against its
// train: rows and modes are built anew, certificates multiplied out, and the fields
// they cover compared. It returns how many certificates it checked.
func Verify(t *kinematics.Train, answer []byte) (checked int, err error) {
	var head struct {
		Schema string            `json:"schema"`
		RPM    *float64          `json:"input_rpm"`
		States []json.RawMessage `json:"states"`
	}
	if err := json.Unmarshal(answer, &head); err != nil {
		return 0, fmt.Errorf("this is no answer in JSON: %w", err)
	}
	switch head.Schema {
	case "tieup.solve/1":
		for i, data := range head.States {
			if err := verifyState(t, data, head.RPM); err != nil {
				return i, err
			}
		}
		return len(head.States), nil
	}
	return 0, fmt.Errorf("answers of schema %.40q carry no certificate: solve, why, load and breakaway do, with --format json", head.Schema)
}

// A subject is the state that an answer is about.
type subject struct {
	Range       *string      `json:"range"`
	Apply       []string     `json:"apply"`
	Faults      []string     `json:"faults"`
	Input       string       `json:"input"`
	Output      string       `json:"output"`
	Certificate *Certificate `json:"certificate"`
}

// state builds the state anew.
func (s *subject) state(t *kinematics.Train) (r kinematics.Range, faults []kinematics.Fault, st kinematics.State, err error) {
	r = kinematics.Range{Input: t.Input, Output: t.Output}
	if s.Range != nil {
		i, ok := t.Range(*s.Range)
		if !ok {
			return r, nil, st, fmt.Errorf("%s has no range %.40q", t.Name, *s.Range)
		}
		r = t.Ranges[i]
	} else {
		for _, name := range s.Apply {
			i, ok := t.Element(name)
			if !ok {
				return r, nil, st, fmt.Errorf("%s has no element %.40q", t.Name, name)
			}
			r.Apply = append(r.Apply, i)
		}
	}
	for _, end := range []struct {
		name string
		into *kinematics.MemberID
	}{{s.Input, &r.Input}, {s.Output, &r.Output}} {
		if m, ok := t.Member(end.name); ok {
			*end.into = m
		} else if end.name != "" {
			return r, nil, st, fmt.Errorf("%s has no member %.40q", t.Name, end.name)
		}
	}
	for _, text := range s.Faults {
		f, err := kinematics.ParseFault(t, text)
		if err != nil {
			return r, nil, st, err
		}
		faults = append(faults, f)
	}
	if s.Certificate == nil {
		return r, nil, st, errors.New("it carries no certificate")
	}
	return r, faults, t.In(&r, faults...), nil
}

// bounds are the ends of an interval in JSON: numbers, "inf", "-inf" or null.
type bounds struct {
	Min json.RawMessage `json:"min"`
	Max json.RawMessage `json:"max"`
}

// A solved is the part of a state of solve that a certificate covers.
type solved struct {
	subject
	Verdict string          `json:"verdict"`
	Ratio   json.RawMessage `json:"ratio"`
	Exact   *Frac           `json:"ratio_exact"`
	At      struct {
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
}

type roll struct {
	Rolls bool            `json:"rolls"`
	Min   json.RawMessage `json:"input_min"`
	Max   json.RawMessage `json:"input_max"`
}

func verifyState(t *kinematics.Train, data []byte, rpm *float64) error {
	var s solved
	err := json.Unmarshal(data, &s)
	where := "a state"
	if s.Range != nil {
		where = "range " + *s.Range
	}
	if err == nil {
		err = s.verify(t, rpm)
	}
	if err != nil {
		return &Problem{where, err}
	}
	return nil
}

func (s *solved) verify(t *kinematics.Train, rpm *float64) error {
	_, _, st, err := s.state(t)
	if err != nil {
		return err
	}
	rows := RowsOf(t, st)
	if err := rows.Check(s.Certificate); err != nil {
		return err
	}
	proved := map[string]*Slice{}
	for i := range s.Certificate.Slices {
		proved[s.Certificate.Slices[i].Field] = &s.Certificate.Slices[i]
	}
	for _, field := range []string{"pull", "coast.forward", "coast.backward", "rest", "input_backward"} {
		if proved[field] == nil {
			return fmt.Errorf("%s is not proved", field)
		}
	}
	pull := proved["pull"]
	if want := verdict(pull, proved["rest"]); s.Verdict != want {
		return fmt.Errorf("the verdict is %.20q, proved is %s", s.Verdict, want)
	}
	per := big.NewRat(1, 1)
	if rpm != nil {
		per.SetFloat64(*rpm)
	}
	if err := pull.holds(s.Pull, one); err != nil {
		return fmt.Errorf("pull: %w", err)
	}
	for _, x := range []struct {
		field string
		roll  roll
	}{{"coast.forward", s.Coast.Forward}, {"coast.backward", s.Coast.Backward}} {
		err := proved[x.field].holds(bounds{x.roll.Min, x.roll.Max}, one)
		if err != nil || x.roll.Rolls != (proved[x.field].Empty == nil) {
			return fmt.Errorf("%s: %w", x.field, err)
		}
	}
	if s.InputBackward != (proved["input_backward"].Empty == nil) {
		return errors.New("input_backward is not as proved")
	}
	if err := s.ratio(pull, rows.Forward); err != nil {
		return err
	}
	for name, value := range s.Members {
		slice := proved["members."+name]
		if id, ok := t.Member(name); !ok || t.Members[id].Unknown || id == kinematics.Housing {
			continue // no equation gives it, or it is at rest for good
		}
		if slice == nil {
			return fmt.Errorf("the speed of %.40q is not proved", name)
		}
		if !at(slice.Given[0], s.At.Input, per) || len(slice.Given) > 1 && !at(slice.Given[1], s.At.Output, per) {
			return fmt.Errorf("the speed of %s is proved at another point", name)
		}
		var b bounds
		if json.Unmarshal(value, &b) != nil {
			b = bounds{value, value}
		}
		if err := slice.holds(b, per); err != nil {
			return fmt.Errorf("the speed of %s: %w", name, err)
		}
	}
	return nil
}

// verdict follows from the output speeds with the input turned and at rest.
func verdict(pull, rest *Slice) string {
	zero := func(e *End) bool { return e.Value != nil && e.Value.Sign() == 0 }
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
func (s *solved) ratio(pull *Slice, forward int64) error {
	var end *End
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
func (s *Slice) holds(b bounds, per *big.Rat) error {
	if s.Empty != nil {
		if null(b.Min) && null(b.Max) {
			return nil
		}
		return errors.New("it is empty, by its proof")
	}
	for _, x := range []struct {
		text     json.RawMessage
		end      *End
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
func at(given *Frac, text json.RawMessage, per *big.Rat) bool {
	return nearest(text, new(big.Rat).Mul(&given.Rat, per))
}

// nearest says whether a number is the float64 nearest to x, as far as there is one.
func nearest(text json.RawMessage, x *big.Rat) bool {
	got, err := strconv.ParseFloat(string(text), 64)
	want, _ := x.Float64()
	return err == nil && got == want
}
