package verify

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/certify"
)

// A stated is the efficiencies that an answer states.
type stated struct {
	External json.RawMessage            `json:"external"`
	Internal json.RawMessage            `json:"internal"`
	Chain    json.RawMessage            `json:"chain"`
	Basic    map[string]json.RawMessage `json:"basic"`
}

// are says whether efficiencies are those stated, and no others.
func (s *stated) are(e efficiencies) bool {
	all := map[string]json.RawMessage{"external": s.External, "internal": s.Internal, "chain": s.Chain}
	if s.Basic != nil {
		clear(all)
	}
	for name, x := range s.Basic {
		all[BasicName(name)] = x
	}
	for name, x := range e {
		if !nearest(all[name], &x.Rat) {
			return false
		}
	}
	return len(e) == len(all)
}

// A way is one way to carry a load.
type way struct {
	Output    json.RawMessage        `json:"output_torque"`
	Exact     *certify.Frac          `json:"output_torque_exact"`
	Couplings map[string]json.Number `json:"couplings"`
}

// A carried is the part of a load that a certificate covers.
type carried struct {
	subject
	Flow  string `json:"flow"`
	Ways  []way  `json:"ways"`
	Lossy []way  `json:"ways_with_losses"`
}

func verifyLoad(t *kinematics.Train, data []byte, torque, drag *float64, losses *stated) error {
	var l carried
	if err := json.Unmarshal(data, &l); err != nil {
		return err
	}
	st, err := l.state(t)
	if err != nil {
		return err
	}
	if err := l.claims("ways", "ways.determinate", "ways_with_losses"); err != nil {
		return err
	}
	c := l.Certificate
	if !losses.are(efficiencies(c.Efficiencies)) {
		return errors.New("the proof has other efficiencies")
	}
	rows := RowsOf(t, st)
	lossy := efficiencies(c.Efficiencies).lossy(t, rows)
	of := func(b *certify.Balance) certify.Rows {
		if b.Field == "ways" {
			return rows
		}
		return lossy
	}
	if _, err := l.check(t, rows, of); err != nil {
		return err
	}
	input, per := big.NewRat(1, 1), 1.0
	if torque != nil {
		per = *torque
	}
	if l.Flow == "coasting" {
		input, per = minus, 1
		if drag != nil {
			per = *drag
		}
	}
	ways := map[string][]way{"ways": l.Ways}
	if slices.Contains(c.Covers, "ways_with_losses") {
		ways["ways_with_losses"] = l.Lossy
	}
	for field, list := range ways {
		balances := slices.DeleteFunc(slices.Clone(c.Balances), func(b certify.Balance) bool { return b.Field != field })
		if len(list) != len(balances) {
			return fmt.Errorf("%s: there are %d, and proofs of %d", field, len(list), len(balances))
		}
		for i := range list {
			if err := l.carries(t, &list[i], &balances[i], input, per); err != nil {
				return fmt.Errorf("%s %d: %w", field, i+1, err)
			}
		}
	}
	return nil
}

// carries compares a way with its balance, torques times per.
func (l *carried) carries(t *kinematics.Train, w *way, b *certify.Balance, input *big.Rat, per float64) error {
	name := t.Members[l.output].Name
	in, out := b.Outside[t.Members[l.input].Name], b.Outside[name]
	near := func(text string, x *big.Rat) bool {
		got, err := strconv.ParseFloat(text, 64)
		want, _ := x.Float64()
		return err == nil && math.Abs(got-want*per) <= 1e-12*math.Abs(got)
	}
	exact := w.Exact != nil && out.Cmp(&w.Exact.Rat) == 0 || w.Exact == nil && b.Field != "ways"
	turns := l.Certificate.Motions[b.Motion][t.Members[l.input].Name]
	if turns.Cmp(one) != 0 {
		return errors.New("the motion is not one turn of the input")
	}
	if len(b.Outside) != 2 || in.Cmp(input) != 0 || !exact || !near(string(w.Output), &out.Rat) {
		return errors.New("the torques at input and output are not proved")
	}
	if slices.Contains(l.Certificate.Covers, "ways.determinate") && b.Field == "ways" &&
		(b.Alone == nil || b.Unknown != name) {
		return errors.New("that it is the only one with these couplings is not proved")
	}
	loaded := 0
	for i := range t.Couplings {
		name := t.Couplings[i].Name
		x, ok := b.Rows[name]
		if ok && x.Sign() != 0 {
			if loaded++; !near(string(w.Couplings[name]), &x.Rat) {
				return fmt.Errorf("the torque of %s is not proved", name)
			}
		}
	}
	if loaded != len(w.Couplings) {
		return errors.New("it loads other couplings than are proved")
	}
	return nil
}

// A mechanism is what a forced motion costs.
type mechanism struct {
	End    string          `json:"end"`
	Torque json.RawMessage `json:"torque"`
	Exact  *certify.Frac   `json:"torque_exact"`
}

// A stretch is a stretch of the resistance.
type stretch struct {
	From  json.RawMessage `json:"resistance_from"`
	To    json.RawMessage `json:"resistance_to"`
	At    mechanism       `json:"at_from"`
	Slope json.RawMessage `json:"torque_per_resistance"`
}

// A brokenAway is the part of an answer of breakaway that a certificate covers.
type brokenAway struct {
	subject
	Resistance struct {
		Exact *certify.Frac `json:"torque_exact"`
	} `json:"resistance"`
	Elements map[string]struct {
		Holds json.RawMessage `json:"holds"`
	} `json:"elements"`
	Standing  mechanism `json:"standing"`
	Stretches []stretch `json:"stretches"`
	Rolling   []struct {
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
	st, err := b.state(t)
	if err != nil {
		return err
	}
	if err := b.claims("standing", "stretches", "rolling"); err != nil {
		return err
	}
	if err := b.holds(); err != nil {
		return err
	}
	c := b.Certificate
	rows := Slipping(t, RowsOf(t, st), c.Capacities)
	p, err := b.check(t, rows, func(x *certify.Balance) certify.Rows {
		if r, ok := c.Resistances[x.Field]; ok {
			return resisted(t, rows, b.output, r)
		}
		return rows
	})
	if err != nil {
		return err
	}
	f := &forced{t: t, b: &b, proved: p, balances: map[string]*certify.Balance{}}
	for i := range c.Balances {
		f.balances[c.Balances[i].Field] = &c.Balances[i]
	}
	return f.verify()
}

// holds compares the capacities with the answer.
func (b *brokenAway) holds() error {
	slips := 0
	for name, e := range b.Elements {
		if _, err := strconv.ParseFloat(string(e.Holds), 64); err != nil {
			continue
		}
		x, ok := b.Certificate.Capacities[name]
		if slips++; !ok || !nearest(e.Holds, &x.Rat) {
			return fmt.Errorf("%s holds another torque in the proof", name)
		}
	}
	if len(b.Certificate.Capacities) != slips {
		return errors.New("the proof has other capacities")
	}
	return nil
}

// forced compares what forced motions cost with what was checked.
type forced struct {
	t        *kinematics.Train
	b        *brokenAway
	proved   proved
	balances map[string]*certify.Balance
}

func (f *forced) verify() error {
	b := f.b
	r, ok := b.Certificate.Resistances["standing"]
	if !ok || b.Resistance.Exact == nil || r.Cmp(&b.Resistance.Exact.Rat) != 0 {
		return errors.New("the proof has another resistance")
	}
	if !f.costs("standing", "pull", &b.Standing, b.input, one, nil) {
		return errors.New("standing is not proved")
	}
	for i := range b.Stretches {
		if !f.stretch(i) {
			return fmt.Errorf("stretch %d is not proved", i+1)
		}
	}
	for i := range b.Rolling {
		r := &b.Rolling[i]
		sense, field := big.NewRat(int64(f.t.Forward), 1), "coast.forward"
		if r.Direction == "backward" {
			sense, field = new(big.Rat).Neg(sense), "coast.backward"
		}
		if !f.costs(fmt.Sprintf("rolling.%d", i), field, &r.mechanism, b.output, sense, r.Engine) {
			return fmt.Errorf("rolling.%d is not proved", i)
		}
	}
	return nil
}

// costs checks what it costs to give a member the speed sense, with a torque of the
// engine at the input; field is that of the proof, slice what is empty if it jams.
func (f *forced) costs(field, slice string, m *mechanism, at kinematics.MemberID, sense *big.Rat,
	engine json.RawMessage) bool {
	switch m.End {
	case "jams":
		return f.proved[slice] != nil && f.proved[slice].Empty != nil
	case "runs-away":
		return f.runsAway(field, sense, engine)
	}
	name := f.t.Members[at].Name
	b, ok := f.balances[field]
	if m.End != "moves" || !ok || m.Exact == nil || f.speed(b, at).Cmp(sense) != 0 {
		return false
	}
	_, resisted := f.b.Certificate.Resistances[field]
	x := b.Outside[name]
	torque := new(big.Rat).Mul(&x.Rat, sense)
	ok = resisted == (engine == nil) && torque.Cmp(&m.Exact.Rat) == 0 && nearest(m.Torque, torque)
	input := f.t.Members[f.b.input].Name
	for member, other := range b.Outside {
		ok = ok && (member == name || other.Sign() == 0 || member == input && engine != nil && nearest(engine, &other.Rat))
	}
	return ok
}

// speed is that of a member in the motion of a balance.
func (f *forced) speed(b *certify.Balance, m kinematics.MemberID) *big.Rat {
	w := f.b.Certificate.Motions[b.Motion][f.t.Members[m].Name]
	return &w.Rat
}

// runsAway checks that with the output given its speed no cost is the least.
func (f *forced) runsAway(field string, sense *big.Rat, engine json.RawMessage) bool {
	for _, s := range f.b.Certificate.Slices {
		if s.Field == field && s.Costs && s.Empty == nil && s.Min.Ray != nil && len(s.Given) == 1 && len(s.Quantity) == 1 {
			x := s.Quantity[f.t.Members[f.b.input].Name]
			return equal(s.Given[0], form(f.t, sense, f.b.output)) && s.Is[0].Cmp(one) == 0 && nearest(engine, x.Neg(&x.Rat))
		}
	}
	return false
}

// stretch checks that over a stretch of the resistance the cost is that of one motion: it
// is so at both ends, and nowhere more; as it is concave, it is nowhere less. Without end
// it is so if the motion does not turn the output, or none that turns the input turns the
// output less.
func (f *forced) stretch(i int) bool {
	s := &f.b.Stretches[i]
	field := fmt.Sprintf("stretches.%d.", i)
	s.At.End = "moves"
	from, ok := f.b.Certificate.Resistances[field+"from"]
	if !ok || !nearest(s.From, &from.Rat) || !f.costs(field+"from", "", &s.At, f.b.input, one, nil) {
		return false
	}
	out := f.speed(f.balances[field+"from"], f.b.output)
	slope := new(big.Rat).Abs(out)
	if !nearest(s.Slope, slope) {
		return false
	}
	if string(s.To) == `"inf"` {
		return slope.Sign() == 0 || f.turnsMore(slope)
	}
	to, ok := f.b.Certificate.Resistances[field+"to"]
	b := f.balances[field+"to"]
	if !ok || b == nil || !nearest(s.To, &to.Rat) || f.balances[field+"from"].Motion != b.Motion {
		return false
	}
	delete(b.Outside, f.t.Members[f.b.input].Name)
	return len(b.Outside) == 0
}

// turnsMore says whether nothing that turns the input by one turns the output less.
func (f *forced) turnsMore(slope *big.Rat) bool {
	pull := f.proved["pull"]
	if pull == nil || pull.Empty != nil {
		return false
	}
	return pull.Min.Value != nil && pull.Min.Value.Cmp(slope) >= 0 ||
		pull.Max.Value != nil && pull.Max.Value.Cmp(new(big.Rat).Neg(slope)) <= 0
}
