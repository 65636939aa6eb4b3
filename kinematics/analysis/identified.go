package analysis

import (
	"context"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Readings are speeds that were measured at one moment.
type Readings = diagnosis.Readings

// Measured is one of them.
type Measured = diagnosis.Measured

// An IdentifyQuestion asks which elements hold, by measured speeds.
type IdentifyQuestion struct {
	Readings
	Commanded *kinematics.Range // nil if none was
	// Most is how many elements may be applied or not: with more there are too many
	// combinations, which the error says; 0 for as many as can be read.
	Most int
}

// Identified is which elements hold, by measured speeds. Its document is
// tieup.identify/1.
type Identified struct {
	Schema    string            `json:"schema"`
	Units     Named[string]     `json:"units"`
	Train     *kinematics.Train `json:"train"`
	Speeds    Named[exact.Frac] `json:"speeds"`
	Ratio     exact.Frac        `json:"ratio"`
	Exact     exact.Text        `json:"ratio_exact"`
	Bound     bool              `json:"ratio_is_upper_bound"`
	Tolerance exact.Frac        `json:"tolerance"`
	Commanded Name              `json:"commanded"`
	Holds     List[string]      `json:"holds_though_not_commanded"`
	Missing   List[string]      `json:"commanded_but_not_holding"`
	Slips     List[Named[any]]  `json:"slips"`        // of the elements of the commanded range
	Code      *Named[string]    `json:"trouble_code"` // nil unless the ratio is wrong and the code known
	Matches   List[Match]       `json:"matches"`
	Text      List[string]      `json:"text"`
	Cautions  List[string]      `json:"cautions"`

	Measured string           `json:"-"` // in words
	Hazards  []reading.Hazard `json:"-"`
}

// A Match is a ratio that the train can give, beside what was measured.
type Match struct {
	Ratio  exact.Frac         `json:"ratio"`
	Exact  exact.Text         `json:"ratio_exact"`
	Off    float64            `json:"off"` // measured / ratio - 1
	Fits   bool               `json:"fits"`
	Ranges List[string]       `json:"ranges"`
	Sets   List[List[string]] `json:"combinations"`

	// Holding are the combinations as text, those of ranges first.
	Holding []string `json:"-"`
}

// Identify answers which elements hold, by measured speeds.
func (a *Analysis) Identify(ctx context.Context, q IdentifyQuestion) (*Identified, error) {
	t := a.Train
	commanded := -1
	if q.Commanded != nil {
		at, err := indices(t, q.Commanded)
		if err != nil {
			return nil, err
		}
		commanded = at[0]
	}
	combinations := reading.CombinationsOf(a.system)
	if n := len(combinations.Elements); n > reading.MostElements || q.Most > 0 && n > q.Most {
		return nil, &TooMany{t.Name, n, "compare the ratio of the speeds with those of its ranges: tieup show", ""}
	}
	for _, s := range q.Speeds {
		if err := speedOf(t, "speeds", s.Member, s.Speed); err != nil {
			return nil, err
		}
	}
	if err := number("tolerance", q.Tolerance.Float(), 0); err != nil {
		return nil, err
	}
	states, err := combinations.States(ctx)
	if err != nil {
		return nil, err
	}
	identity, err := diagnosis.Identify(a.system, states, q.Readings)
	if err != nil {
		return nil, &QuestionError{[]string{"speeds"}, err}
	}
	d := identity.Beside(a.system, commanded)
	x := &Identified{
		Schema: "tieup.identify/1", Units: document.Texts("off", "measured ratio / ratio - 1", "speeds", "as given"),
		Train: t,
		Ratio: d.Ratio, Exact: exact.Text{Frac: d.Ratio}, Bound: d.Engine, Tolerance: d.Tolerance,
		Text: d.Sentences(), Measured: d.Measured(),
	}
	for _, s := range d.Speeds {
		x.Speeds.Add(t.Members[s.Member].Name, s.Speed)
	}
	x.Matches = kinematics.Map(d.Matches, func(m diagnosis.Match) Match {
		return Match{Ratio: m.Ratio, Exact: exact.Text{Frac: m.Ratio}, Off: m.Off, Fits: m.Fits, Ranges: d.RangeNames(&m),
			Holding: d.Holding(&m),
			Sets:    kinematics.Map(m.Sets, func(set []int) List[string] { return t.CouplingNames(set) })}
	})
	if commanded >= 0 {
		x.against(a, d)
	}
	return x, ctx.Err()
}

// against sets what was found against the commanded range.
func (x *Identified) against(a *Analysis, d *diagnosis.Identified) {
	t := a.Train
	x.Commanded = Name(t.Ranges[d.Commanded].Name)
	if diff := d.Against(d.Commanded); diff != nil {
		x.Holds, x.Missing = t.CouplingNames(diff.Holds), t.CouplingNames(diff.Missing)
	}
	if d.Slipping != nil {
		x.slips(t, d.Slipping.Settled, false)
		x.slips(t, d.Slipping.Bounded, false)
		x.slips(t, d.Slipping.Either, true)
	}
	code := document.Texts("code", d.Code.Code, "text", d.Code.Text, "source", diagnosis.CodeSource)
	x.Code = document.If(code, d.Wrong() && d.Code.Code != "")
	w := a.workers.take()
	defer a.workers.put(w)
	x.Hazards = d.Hazards(w.reader, d.Commanded)
	x.Cautions = reading.Cautions(t.Use, x.Hazards)
}

func (x *Identified) slips(t *kinematics.Train, list []diagnosis.ElementSlip, alone bool) {
	for _, e := range list {
		x.Slips = append(x.Slips, document.Object("element", t.Couplings[e.Element].Name,
			"slip", document.Object("min", e.Least, "max", e.Most), "if_all_others_hold", alone))
	}
}
