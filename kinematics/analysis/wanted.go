package analysis

import (
	"context"
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/fit"
	"tieup/kinematics/solve"
)

// A WantedQuestion asks for tooth counts of a train's layout that come near wanted ratios.
type WantedQuestion struct {
	Train     *kinematics.Train
	Ratios    []exact.Frac // input / output in the vehicle's sense: below 0 for reverse
	Within    exact.Frac   // the greatest relative deviation
	Low, High int64        // teeth of every gear
	// Module bounds the module of every set in mm, and Outer the diameter in mm that its
	// largest gear may have; all 0 for none.
	LeastModule, MostModule, Outer float64
	Audit                          func(*kinematics.Train) []Finding
}

// WantedTeeth is the tooth counts that come nearest wanted ratios. Its document is
// tieup.wanted/1.
type WantedTeeth struct {
	Schema string                `json:"schema"`
	Units  Named[string]         `json:"units"`
	Layout string                `json:"layout"`
	Ranges List[string]          `json:"ranges"` // those of the layout, in the order of the ratios
	Wanted List[*exact.Frac]     `json:"wanted"` // parallel; null where none is wanted
	Within exact.Frac            `json:"within"`
	Found  List[WantedCandidate] `json:"found"` // none is beaten by another in both deviation and evenness
	Cut    bool                  `json:"cut"`
	Proved float64               `json:"nothing_missing_below_deviation"`
	Boxes  int                   `json:"boxes_searched"`
	Text   string                `json:"text"`
}

// A WantedCandidate is one set of tooth counts with what it means for its parts.
type WantedCandidate struct {
	Teeth     Named[int64]         `json:"teeth"`
	Ratios    List[exact.Frac]     `json:"ratios"`
	Exact     List[exact.Text]     `json:"ratios_exact"`
	Deviation exact.Frac           `json:"worst_deviation"`
	Uneven    exact.Frac           `json:"unevenness"`
	Modules   Named[float64]       `json:"modules"`
	Small     Named[int64]         `json:"small_pinions"` // of simple sets, with fewer teeth than a gear usually has
	Warnings  List[Finding]        `json:"audit_warnings"`
	Speeds    Named[Named[Amount]] `json:"member_speeds"`   // by range
	Torques   Named[exact.Frac]    `json:"element_torques"` // the largest in any range, per input torque
	Fastest   FastestMember        `json:"fastest_member"`
}

// Audit names what the audit of the teeth finds, "ok" for nothing.
func (c *WantedCandidate) Audit() string { return auditText(c.Warnings, c.Small) }

// A FastestMember is the member that turns fastest in any range.
type FastestMember struct {
	Member string     `json:"member"`
	Range  string     `json:"range"`
	Speed  exact.Frac `json:"speed"`
}

// Wanted answers which tooth counts come near wanted ratios. When ctx ends it answers
// with the best so far.
func Wanted(ctx context.Context, q WantedQuestion) (*WantedTeeth, error) {
	layouts := fit.Layouts([]*kinematics.Train{q.Train})
	if len(layouts) == 0 {
		return nil, fmt.Errorf("%s has no ratios to be searched for", q.Train.Name)
	}
	l := layouts[0]
	w, err := fit.FindWanted(ctx, fit.WantedQuestion{Layout: l, Wanted: q.Ratios, Within: q.Within,
		Low: q.Low, High: q.High,
		LeastModule: q.LeastModule, MostModule: q.MostModule, Outer: q.Outer})
	if err != nil {
		return nil, err
	}
	x := &WantedTeeth{Schema: "tieup.wanted/1", Layout: q.Train.Name, Within: q.Within, Cut: w.Cut, Proved: w.Proved,
		Boxes: w.Boxes,
		Units: document.Texts("ratios", "input speed / output speed", "member_speeds", "per turn of the input",
			"element_torques", "per input torque", "modules", "mm")}
	x.Ranges = q.Train.NamesOfRanges(w.Rows)
	x.Wanted = wantedOf(l, q, w.Rows)
	for i := range w.Found {
		c, err := wantedCandidate(l, q, &w.Found[i])
		if err != nil {
			return nil, err
		}
		x.Found = append(x.Found, c)
	}
	x.Text = x.says()
	return x, nil
}

// wantedOf puts the wanted ratios beside the ranges.
func wantedOf(l *fit.Layout, q WantedQuestion, rows []int) List[*exact.Frac] {
	list := make(List[*exact.Frac], len(rows))
	used := make([]bool, len(q.Ratios))
	for i := range rows {
		reverse := l.Reverses(rows[i])
		best := -1
		for k, r := range q.Ratios {
			if used[k] || (r.Sign() < 0) != reverse {
				continue
			}
			if best < 0 || r.Abs().Cmp(q.Ratios[best].Abs()) > 0 {
				best = k
			}
		}
		if best >= 0 {
			used[best] = true
			list[i] = &q.Ratios[best]
		}
	}
	return list
}

// says sums the search up.
func (x *WantedTeeth) says() string {
	percent := func(v float64) string { return fmt.Sprintf("%.2g %%", 100*v) }
	switch {
	case x.Cut && len(x.Found) == 0:
		return "The search was cut, and nothing was found so far: nothing is nearer than " + percent(x.Proved) + "."
	case x.Cut:
		return "The search was cut: nothing with a worst deviation below " + percent(x.Proved) +
			" is missing; what is above may be bettered."
	case len(x.Found) == 0:
		return "No teeth within the bounds come within " + percent(x.Within.Float()) + "."
	}
	return "The list is whole: every other set of teeth within the bounds is beaten in both things by one of these."
}

func wantedCandidate(l *fit.Layout, q WantedQuestion, w *fit.WantedTeeth) (WantedCandidate, error) {
	c := WantedCandidate{Ratios: w.Ratios, Deviation: w.Deviation, Uneven: w.Uneven}
	c.Exact = kinematics.Map(w.Ratios, func(r exact.Frac) exact.Text { return exact.Text{Frac: r} })
	for _, t := range w.Teeth {
		c.Teeth.Add(t.Member, t.Count)
	}
	for _, m := range w.Modules {
		if m.Module > 0 {
			c.Modules.Add(m.Gearset, m.Module)
		}
	}
	t, err := l.With("searched", w.Teeth)
	if err != nil {
		return c, err
	}
	c.Small = smallPinions(t, c.Teeth, q.Low)
	for _, f := range q.Audit(t) {
		if f.Fails {
			c.Warnings = append(c.Warnings, f)
		}
	}
	s := solve.Compile(t)
	c.speeds(t, s)
	for i, p := range s.Peaks() {
		if i < t.ElementCount && p.Range >= 0 {
			c.Torques.Add(t.Couplings[i].Name, p.Torque)
		}
	}
	return c, nil
}

// speeds fills in the speeds of all members in every range that drives.
func (c *WantedCandidate) speeds(t *kinematics.Train, s *solve.System) {
	for i := range t.Ranges {
		r := &t.Ranges[i]
		m := s.Motion(t.In(r))
		if !m.Drives() {
			continue
		}
		var speeds Named[Amount]
		for id, w := range m.Members {
			member := &t.Members[id]
			if member.Kind == kinematics.JointHub || member.Unknown || id == 0 || w.Empty {
				continue
			}
			speeds.Add(member.Name, Amount(w.Interval))
			if v, one := w.Point(); one && v.Abs().Cmp(c.fastest()) > 0 {
				c.Fastest = FastestMember{member.Name, r.Name, v}
			}
		}
		c.Speeds.Add(r.Name, speeds)
	}
}

func (c *WantedCandidate) fastest() exact.Frac {
	if c.Fastest.Member == "" {
		return exact.Int(0)
	}
	return c.Fastest.Speed.Abs()
}
