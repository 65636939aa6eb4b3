package analysis

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Opened is what parts were found to be on opening, and which suspect accounts for it:
// by its own fault, or by the heat that it gives to a part in what was driven.
type Opened struct {
	Found    List[Named[string]] `json:"found"`
	Suspects List[OpenedSuspect] `json:"suspects"` // that account for most, first
	Words    List[string]        `json:"words"`    // cause and effect told apart, a sentence for each part
	Driven   List[string]        `json:"driven"`   // ranges and shifts that were looked at
	Assumed  List[string]        `json:"assumptions"`
}

// Heading says what was found, and by what heat suspects are compared with it.
func (o *Opened) Heading() string {
	return "Found on opening, by heat taken in " + kinematics.And(o.Driven) + " (an order, no temperature)"
}

// An OpenedSuspect is a suspect, and what of the parts it accounts for.
type OpenedSuspect struct {
	Text string `json:"text"`
	// Itself are parts whose own fault it is, Heats those to which it gives heat, with the
	// motion, Open those that it does not account for.
	Itself List[string] `json:"itself"`
	Heats  List[string] `json:"heats"`
	Open   List[string] `json:"unexplained"`
	// Against are good parts that would not be good, by their own fault or by heat.
	Against        List[string] `json:"against"`
	Contradictions float64      `json:"contradictions"` // with what was seen on the road

	where map[string]string // by part
}

// speaks counts what speaks against a suspect, on the road and on the bench.
func (s *OpenedSuspect) speaks() float64 {
	return float64(len(s.Against)+len(s.Open)) + s.Contradictions
}

// mostOpened is how many suspects are compared with the parts.
const mostOpened = 40

// How a suspect is driven where nobody says it.
const (
	AssumedWearRPM     = 1000.0
	AssumedWearSeconds = 10.0
)

// opened compares the suspects of a diagnosis with the parts.
func (a *Analysis) opened(ctx context.Context, x *diagnosed) (*Opened, error) {
	t := a.Train
	o := &Opened{}
	o.Found = kinematics.Map(x.Case.Found, func(f diagnosis.Found) Named[string] {
		return document.Texts("part", f.Part, "found", string(f.Word))
	})
	q := a.drivenIn(x.Case)
	o.Driven = kinematics.Map(q.Ranges, func(r *kinematics.Range) string { return r.Name })
	for _, s := range q.Shifts {
		o.Driven = append(o.Driven, s[0].Name+"-"+s[1].Name)
	}
	for _, s := range toCompare(x.Answer) {
		y, err := a.openedSuspect(ctx, x, s, q)
		if err != nil {
			return nil, err
		}
		if y != nil {
			o.Suspects = append(o.Suspects, *y)
		}
	}
	kinematics.Sort(o.Suspects, func(a, b OpenedSuspect) int {
		return cmp.Or(cmp.Compare(a.speaks(), b.speaks()), cmp.Compare(a.Contradictions, b.Contradictions),
			len(b.Itself)+len(b.Heats)-len(a.Itself)-len(a.Heats))
	})
	o.Words = o.causes(x)
	o.Assumed = reading.WearAssumptions(t, q.RPM, q.Seconds, q.Torques.Available, len(q.Shifts) > 0)
	if len(q.Shifts) > 0 {
		o.Assumed = append(o.Assumed, reading.MistimedAssumption(lateRamp))
	}
	return o, nil
}

// drivenIn is the question of wear for what was driven: the ranges and shifts in which
// something was seen, all ranges where nothing was.
func (a *Analysis) drivenIn(c *Case) WearQuestion {
	t := a.Train
	q := WearQuestion{RPM: AssumedWearRPM, Seconds: AssumedWearSeconds, Torques: AssumedTorques(t),
		Shifts: [][2]*kinematics.Range{}}
	for i := range c.Seen {
		s := &c.Seen[i]
		switch {
		case s.Shop != nil || s.Range < 0:
		case s.IsShift():
			pair := [2]*kinematics.Range{&t.Ranges[s.Range], &t.Ranges[s.To]}
			q.Shifts = kinematics.Union(q.Shifts, pair)
		case !slices.Contains(q.Ranges, &t.Ranges[s.Range]):
			q.Ranges = append(q.Ranges, &t.Ranges[s.Range])
		}
	}
	if q.Ranges == nil {
		for i := range t.Ranges {
			q.Ranges = append(q.Ranges, &t.Ranges[i])
		}
	}
	return q
}

// AssumedTorques are the torques in N m that wear is found for where nobody says them.
func AssumedTorques(t *kinematics.Train) Torques {
	rated := solve.Decimal(cmp.Or(t.RatedTorque, AssumedRated))
	return Torques{Scale: Scale{NewtonMetres: true, Rated: rated}, Reserve: solve.DefaultReserve(), Available: rated,
		Resistance: exact.Int(0)}
}

// torques are those of a question, assumed where it gives none. Without a resistance the
// vehicle stands freely.
func torques(t *kinematics.Train, q Torques) (Torques, error) {
	if q.Reserve == (exact.Frac{}) {
		assumed := AssumedTorques(t)
		assumed.Given, assumed.Powered = q.Given, q.Powered
		q = assumed
	}
	if q.Resistance == (exact.Frac{}) {
		q.Resistance = exact.Int(0)
	}
	return q, cmp.Or(number("rated-torque", q.Scale.Rated.Float(), 0), number("reserve", q.Reserve.Float(), above0),
		number("torque", q.Available.Float(), 0), number("resistance", q.Resistance.Float(), 0), ratingsGiven(t, q.Given))
}

// toCompare are the first suspects of the train, its controls and the timing of shifts.
func toCompare(x *diagnosis.Answer) []*diagnosis.Suspect {
	var list []*diagnosis.Suspect
	for i := range x.Groups {
		for _, s := range x.Groups[i].Suspects {
			compared := s.Kind == diagnosis.Faulty || s.Kind == diagnosis.Controlled || s.Kind == diagnosis.Timing
			if compared && len(list) < mostOpened {
				list = append(list, s)
			}
		}
	}
	return list
}

// openedSuspect compares one suspect; nil where nobody knows what its elements hold.
func (a *Analysis) openedSuspect(ctx context.Context, x *diagnosed, s *diagnosis.Suspect,
	q WearQuestion) (*OpenedSuspect, error) {
	if q.Condition = Under(s.Faults...); s.Controls != nil { // one way that they can come to
		q.brought = &controls.Brought{Faults: s.Controls}
	}
	if s.Kind == diagnosis.Timing {
		mistime(x.Train, s, &q)
	}
	worn, err := a.Wear(ctx, q)
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil, s.Kind == diagnosis.Timing && len(worn.Unplayed) > 0:
		return nil, nil // it cannot be compared
	}
	y := &OpenedSuspect{Text: s.Short(x.Train), Contradictions: float64(s.Halves) / 2, where: map[string]string{}}
	for i := range x.Case.Found {
		f := &x.Case.Found[i]
		itself := slices.ContainsFunc(s.Faults, func(x kinematics.Fault) bool { return ownFault(x) && f.Itself(x) })
		where := heatedIn(worn, f)
		y.where[f.Part] = where
		switch {
		case f.Word == diagnosis.FoundGood:
			own := slices.ContainsFunc(s.Faults, func(x kinematics.Fault) bool {
				return ownFault(x) && slices.Contains(f.Couplings, x.Coupling)
			})
			if own {
				y.Against = append(y.Against, f.Part)
			} else if where != "" {
				y.Against = append(y.Against, f.Part+" ("+where+")")
			}
		case itself:
			y.Itself = append(y.Itself, f.Part)
		case f.Heated() && where != "":
			y.Heats = append(y.Heats, f.Part+" ("+where+")")
		default:
			y.Open = append(y.Open, f.Part)
		}
	}
	return y, nil
}

// Ramps, s after the command, of what lets go or takes hold so late that a shift is
// mistimed: timed shifts change over within half a second.
var lateRamp = kinematics.Ramp{Start: 0.9, End: 1.2, Shape: kinematics.Line}

// mistime makes what is applied in a shift late, or what is released where it overlaps.
func mistime(t *kinematics.Train, s *diagnosis.Suspect, q *WearQuestion) {
	from, to := &t.Ranges[s.Shift[0]], &t.Ranges[s.Shift[1]]
	late := map[int]kinematics.Ramp{}
	off, on := from, to
	if s.Late {
		off, on = to, from
	}
	for _, e := range kinematics.Without(off.Apply, on.Apply) {
		late[e] = lateRamp
	}
	if s.Late {
		q.Apply = late
	} else {
		q.Release = late
	}
	q.Ranges, q.Shifts = []*kinematics.Range{}, [][2]*kinematics.Range{{from, to}}
}

// ownFault says whether a fault is of the part itself, and not of what feeds it: it then
// acts in every range.
func ownFault(f kinematics.Fault) bool { return f.Cause == "" && len(f.Ranges) == 0 }

// heatedIn is the motion in which a part takes most heat, "" for none.
func heatedIn(worn *Worn, f *diagnosis.Found) string {
	for i := range worn.Parts {
		if p := &worn.Parts[i]; p.Heated() && slices.Contains(f.Couplings, p.coupling) {
			return p.Where
		}
	}
	return ""
}

// causes tells cause and effect apart, by the suspect that accounts for most.
func (o *Opened) causes(x *diagnosed) []string {
	if len(o.Suspects) == 0 {
		return nil
	}
	var list []string
	if len(x.Case.Seen) == 0 {
		list = append(list, reading.ByHeatAlone)
	}
	best := &o.Suspects[0]
	for i := range x.Case.Found {
		f := &x.Case.Found[i]
		if f.Word == diagnosis.FoundGood {
			continue
		}
		itself, heated := slices.Contains(best.Itself, f.Part), best.where[f.Part]
		list = append(list, reading.FoundCause(f.Part, string(f.Word), best.Text, itself, heated, explainsRoad(x, f)))
	}
	return list
}

// explainsRoad says whether a fault of the part alone fits what was seen on the road
// better than a sound train does.
func explainsRoad(x *diagnosed, f *diagnosis.Found) bool {
	sound, best := -1, -1
	for i := range x.Groups {
		for _, s := range x.Groups[i].Suspects {
			switch {
			case s.Kind == diagnosis.Healthy:
				sound = s.Halves
			case s.Kind == diagnosis.Faulty && len(s.Faults) == 1 && f.Itself(s.Faults[0]) && (best < 0 || s.Halves < best):
				best = s.Halves
			}
		}
	}
	return best >= 0 && (sound < 0 || best < sound)
}

// TakenAs says what is taken for granted.
func (o *Opened) TakenAs() string { return "Taken to be so: " + strings.Join(o.Assumed, "; ") + "." }

// Says tells what the suspect accounts for.
func (s *OpenedSuspect) Says() string {
	var parts []string
	add := func(label string, list []string) {
		if len(list) > 0 {
			parts = append(parts, label+kinematics.And(list))
		}
	}
	add("the fault itself: ", s.Itself)
	add("gives heat to ", s.Heats)
	add("does not account for ", s.Open)
	add("would harm what is good: ", s.Against)
	if parts == nil {
		parts = []string{"harms nothing"}
	}
	return s.Text + ": " + strings.Join(parts, "; ")
}
