package certify

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
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
		Torque *float64          `json:"input_torque"`
		Drag   *float64          `json:"engine_drag"`
		States []json.RawMessage `json:"states"`
		Loads  []json.RawMessage `json:"loads"`
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
			return verifyLoad(t, data, head.Torque, head.Drag)
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
		fmt.Errorf("answers of schema %.40q carry no certificate: solve, why, load and breakaway do, with --format json", head.Schema)
}

// A subject is the state that an answer is about.
type subject struct {
	Range       *string      `json:"range"`
	Apply       []string     `json:"apply"`
	Faults      []string     `json:"faults"`
	Input       member       `json:"input"`
	Output      member       `json:"output"`
	Certificate *Certificate `json:"certificate"`
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
func (s *subject) state(t *kinematics.Train) (r kinematics.Range, faults []kinematics.Fault,
	st kinematics.State, err error) {
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
		name member
		into *kinematics.MemberID
	}{{s.Input, &r.Input}, {s.Output, &r.Output}} {
		if m, ok := t.Member(string(end.name)); ok {
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

// A verdicted is what solve and why have in common.
type verdicted struct {
	subject
	Verdict string          `json:"verdict"`
	Ratio   json.RawMessage `json:"ratio"`
	Exact   *Frac           `json:"ratio_exact"`
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

// outcome checks the certificate, the verdict and the ratio.
func (s *verdicted) outcome(t *kinematics.Train) (map[string]*Slice, error) {
	_, _, st, err := s.state(t)
	if err != nil {
		return nil, err
	}
	rows := RowsOf(t, st)
	if err := rows.Check(s.Certificate); err != nil {
		return nil, err
	}
	proved := map[string]*Slice{}
	for i := range s.Certificate.Slices {
		proved[s.Certificate.Slices[i].Field] = &s.Certificate.Slices[i]
	}
	for _, field := range []string{"pull", "coast.forward", "coast.backward", "rest", "input_backward"} {
		if proved[field] == nil {
			return nil, fmt.Errorf("%s is not proved", field)
		}
	}
	if want := verdict(proved["pull"], proved["rest"]); s.Verdict != want {
		return nil, fmt.Errorf("the verdict is %.20q, proved is %s", s.Verdict, want)
	}
	return proved, s.ratio(proved["pull"], rows.Forward)
}

func (s *solved) verify(t *kinematics.Train, rpm *float64) error {
	proved, err := s.outcome(t)
	if err != nil {
		return err
	}
	pull := proved["pull"]
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
	if !slices.Contains(s.Certificate.Covers, "members") {
		return nil
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
func (s *verdicted) ratio(pull *Slice, forward int64) error {
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
	if len(w.Conflicts) != len(w.Certificate.Conflicts) {
		return fmt.Errorf("there are %d conflicts, and proofs of %d", len(w.Conflicts), len(w.Certificate.Conflicts))
	}
	for i, c := range w.Conflicts {
		p := &w.Certificate.Conflicts[i]
		names, parts := slices.Concat(c.Elements, c.Splines), slices.Concat(p.Parts...)
		slices.Sort(names)
		slices.Sort(parts)
		if p.Field != motives[c.Motive] || !slices.Equal(names,
			parts) || len(p.Parts) != len(c.Elements)+len(c.Joints) {
			return fmt.Errorf("conflict %d is another than is proved", i+1)
		}
		if len(c.Torques) != len(names) {
			return fmt.Errorf("conflict %d: a torque is missing", i+1)
		}
		for name, torque := range c.Torques {
			// Torques are per unit of what is asked, as the proof is.
			x := p.Proof.Couplings[name]
			if x == nil || len(p.Proof.At) != 1 || p.Proof.At[0].Cmp(minus) != 0 || !nearest(torque, &x.Rat) {
				return fmt.Errorf("conflict %d: the torque of %s is not proved", i+1, name)
			}
		}
	}
	return nil
}

// A carried is the part of a load that a certificate covers.
type carried struct {
	subject
	Flow string `json:"flow"`
	Ways []struct {
		Exact     *Frac                  `json:"output_torque_exact"`
		Couplings map[string]json.Number `json:"couplings"`
	} `json:"ways"`
}

func verifyLoad(t *kinematics.Train, data []byte, torque, drag *float64) error {
	var l carried
	if err := json.Unmarshal(data, &l); err != nil {
		return err
	}
	_, _, st, err := l.state(t)
	if err != nil {
		return err
	}
	rows := RowsOf(t, st)
	if err := rows.Check(l.Certificate); err != nil {
		return err
	}
	if len(l.Ways) != len(l.Certificate.Balances) {
		return fmt.Errorf("there are %d ways, and proofs of %d", len(l.Ways), len(l.Certificate.Balances))
	}
	input, by := int64(1), torque
	if l.Flow == "coasting" {
		input, by = -1, drag
	}
	per := 1.0
	if by != nil {
		per = *by
	}
	for i, w := range l.Ways {
		b := &l.Certificate.Balances[i]
		in, out := b.Outside[rows.Input], b.Outside[rows.Output]
		if in == nil || out == nil || w.Exact == nil || len(b.Outside) != 2 || in.Cmp(big.NewRat(input,
			1)) != 0 || out.Cmp(&w.Exact.Rat) != 0 {
			return fmt.Errorf("way %d: the torques at input and output are not proved", i+1)
		}
		loaded := 0
		for name, x := range b.Proof.Couplings {
			want, _ := x.Float64()
			if got, err := w.Couplings[name].Float64(); x.Sign() != 0 && (err != nil ||
				math.Abs(got-want*per) > 1e-12*math.Abs(got)) {
				return fmt.Errorf("way %d: the torque of %s is not proved", i+1, name)
			}
			loaded += x.Sign() * x.Sign()
		}
		if loaded != len(w.Couplings) {
			return fmt.Errorf("way %d: it loads other couplings than are proved", i+1)
		}
	}
	return nil
}

// A mechanism is what a forced motion costs.
type mechanism struct {
	End    string          `json:"end"`
	Torque json.RawMessage `json:"torque"`
	Exact  *Frac           `json:"torque_exact"`
}

// A brokenAway is the part of an answer of breakaway that a certificate covers.
type brokenAway struct {
	subject
	Resistance struct {
		Exact *Frac `json:"torque_exact"`
	} `json:"resistance"`
	Elements map[string]struct {
		Holds json.RawMessage `json:"holds"`
	} `json:"elements"`
	Standing mechanism `json:"standing"`
	Rolling  []struct {
		mechanism
		Direction string          `json:"direction"`
		Engine    json.RawMessage `json:"engine_torque"`
	} `json:"rolling"`
}

func verifyBreakaway(t *kinematics.Train, data []byte) error {
	var b brokenAway
	if err := json.Unmarshal(data, &b); err != nil {
		return err
	}
	_, _, st, err := b.state(t)
	if err != nil {
		return err
	}
	c := b.Certificate
	slips := 0
	for name, e := range b.Elements {
		if _, err := strconv.ParseFloat(string(e.Holds), 64); err != nil {
			continue
		}
		if slips++; c.Capacities[name] == nil || !nearest(e.Holds, &c.Capacities[name].Rat) {
			return fmt.Errorf("%s holds another torque in the proof", name)
		}
	}
	if r := c.Capacities["resistance"]; r == nil || b.Resistance.Exact == nil || r.Cmp(&b.Resistance.Exact.Rat) != 0 || len(c.Capacities) != slips+1 {
		return errors.New("the proof has other capacities, or another resistance")
	}
	rows := RowsOf(t, st)
	rows.Slips(c.Capacities)
	if err := rows.Check(c); err != nil {
		return err
	}
	if err := b.forced(rows, "standing", "pull", &b.Standing, rows.Input, one, nil); err != nil {
		return err
	}
	for i := range b.Rolling {
		r := &b.Rolling[i]
		sense, field := big.NewRat(rows.Forward, 1), "coast.forward"
		if r.Direction == "backward" {
			sense, field = new(big.Rat).Neg(sense), "coast.backward"
		}
		if err := b.forced(rows, fmt.Sprintf("rolling.%d", i), field, &r.mechanism, rows.Output, sense,
			r.Engine); err != nil {
			return err
		}
	}
	return nil
}

// forced checks what it costs to give a member the speed sense, with a torque of the
// engine at the input.
func (b *brokenAway) forced(rows *Rows, field, slice string, m *mechanism, at string, sense *big.Rat,
	engine json.RawMessage) error {
	switch m.End {
	case "jams":
		if slices.ContainsFunc(b.Certificate.Slices, func(s Slice) bool {
			return s.Field == slice &&
				s.Empty != nil
		}) {
			return nil
		}
	case "runs-away":
		return nil // not certified
	case "moves":
		i := slices.IndexFunc(b.Certificate.Balances, func(x Balance) bool { return x.Field == field })
		if i < 0 || m.Exact == nil {
			break
		}
		x := &b.Certificate.Balances[i]
		motion, _ := b.Certificate.motion(x.Motion)
		torque := new(big.Rat).Mul(Form{at: Exactly(one)}.of(x.Outside), sense)
		ok := x.resisted() == (engine == nil) && torque.Cmp(&m.Exact.Rat) == 0 && nearest(m.Torque,
			torque) && Form{at: Exactly(one)}.of(motion).Cmp(sense) == 0
		for name, other := range x.Outside {
			ok = ok && (name == at || other.Sign() == 0 || name == rows.Input && engine != nil &&
				nearest(engine, &other.Rat))
		}
		if ok {
			return nil
		}
	}
	return fmt.Errorf("%s is not proved", field)
}
