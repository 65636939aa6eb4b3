package table

import (
	"io"
	"strings"

	"tieup/kinematics/reading"
)

// Reasons is the answer of why: what a state does and the reasons for it.
type Reasons struct {
	Why      *reading.Why
	Cautions []string
}

// Text writes the headline and the sections of the explanation.
func (r Reasons) Text(w io.Writer, width int) error {
	why := r.Why
	p := &page{w: w, width: width}
	apply := "combination"
	if why.Range.Name != "" {
		apply = "range " + why.Range.Name
	}
	p.line(why.Train.Name + ", " + apply + ": " + names(why.Train, why.Range.Apply) + " applied")
	for _, f := range why.Faults {
		p.line("fault: " + reading.Fault(why.Train, f))
	}
	p.line("")
	p.line(why.Headline())
	for _, s := range why.Sections() {
		p.line("")
		p.line(s.Title)
		for _, t := range s.Text {
			p.line("  " + t)
		}
		if len(s.Rows) > 0 {
			p.line("")
			p.grid(&Grid{Columns: columns(s.Heads...), Rows: s.Rows})
		}
		for _, t := range s.After {
			p.line("  " + t)
		}
	}
	if remark := r.Remark(); remark != "" {
		p.line("")
		p.line(remark)
	}
	p.cautions(r.Cautions)
	return p.err
}

// Remark says that torque decides more than the reasons tell, "" if it does not.
func (r Reasons) Remark() string {
	if reading.ByTorque(r.Why.Range, r.Why.Faults) {
		return reading.TorqueRemark
	}
	return ""
}

type conflictJSON struct {
	Motive   string        `json:"motive"`
	Elements []string      `json:"elements"`
	Joints   []string      `json:"joints"`
	Splines  []string      `json:"splines"`
	Torques  ordered       `json:"torques"`
	Witness  *string       `json:"witness"`
	Lettings []lettingJSON `json:"lettings"`
}

type lettingJSON struct {
	Element string `json:"element"`
	Verdict string `json:"others_verdict"`
	Reads   string `json:"others_read"`
	Pull    minMax `json:"others_pull"`
	Asks    minMax `json:"others_ask_witness"`
	Then    string `json:"then_reads"`
	Remain  []int  `json:"remaining_conflicts"`
}

type agreeJSON struct {
	Couplings []string `json:"couplings"`
	Spare     []string `json:"spare"`
}

type pathStepJSON struct {
	Through string   `json:"through"`
	Name    string   `json:"name"`
	From    []string `json:"from"`
	To      []string `json:"to"`
	Held    []string `json:"held"`
	Back    *int     `json:"circulates_to_step"`
}

type supportJSON struct {
	Members []string `json:"members"`
	By      []string `json:"by"`
	Fixed   bool     `json:"fixed_to_housing"`
	Through []string `json:"through_gearsets"`
}

type pathJSON struct {
	Steps    []pathStepJSON `json:"steps"`
	Reaction []string       `json:"reaction"`
	Loaded   []string       `json:"loaded"`
	Supports []supportJSON  `json:"supports"`
	Idle     []string       `json:"idle_gearsets"`
}

type changeJSON struct {
	Apply   []string  `json:"apply"`
	Release []string  `json:"release"`
	Mend    []string  `json:"mend"`
	Verdict string    `json:"verdict"`
	Ratio   ratioJSON `json:"ratio"`
	Reads   string    `json:"reads"`
	Healthy bool      `json:"as_when_healthy"`
	As      *string   `json:"as"`
}

// JSON writes the schema tieup.why/1.
func (r Reasons) JSON(w io.Writer) error {
	why := r.Why
	t := why.Train
	answer := struct {
		Schema     string         `json:"schema"`
		Units      ordered        `json:"units"`
		Train      string         `json:"train"`
		Range      *string        `json:"range"`
		Apply      []string       `json:"apply"`
		Faults     []string       `json:"faults"`
		Verdict    string         `json:"verdict"`
		Ratio      *float64       `json:"ratio"`
		RatioExact *string        `json:"ratio_exact"`
		Reads      string         `json:"reads"`
		Coasting   string         `json:"coasting"`
		Conflicts  []conflictJSON `json:"conflicts"`
		// What there is more of than is listed.
		MoreConflicts  []string `json:"more_conflicts"` // of these motives
		MorePaths      bool     `json:"more_paths"`
		MoreAgreements bool     `json:"more_agreements"`

		Paths      []pathJSON    `json:"paths"`
		Agreements []agreeJSON   `json:"agreements"`
		Changes    []changeJSON  `json:"changes"`
		Text       []sectionJSON `json:"text"`
		Cautions   []string      `json:"cautions"`
	}{
		Schema: "tieup.why/1",
		Units: ordered{
			{"others_pull", "turns of the output per turn of the input, + moves the vehicle forward"},
			{"others_ask_witness", "turns of the member per turn of the input, or of the output that is to roll, + as the input turns"},
			{"torques", "on the first member of a coupling, per unit torque at the member that is asked to turn"},
		},
		Train: t.Name, Apply: t.CouplingNames(why.Range.Apply), Faults: []string{},
		Verdict: why.Motion.Verdict.String(), Reads: why.Reading.Pull, Coasting: why.Reading.Coast,
		Conflicts: []conflictJSON{}, MoreConflicts: []string{}, MorePaths: why.MorePaths, MoreAgreements: why.MoreAgreements, Paths: []pathJSON{}, Agreements: []agreeJSON{}, Changes: []changeJSON{},
		Text: sectionsJSON(why.Sections()), Cautions: append([]string{}, r.Cautions...),
	}
	ratio := jsonRatio(why.Motion.Ratio())
	answer.Ratio, answer.RatioExact = ratio.Ratio, ratio.Exact
	if why.Range.Name != "" {
		answer.Range = &why.Range.Name
	}
	for _, f := range why.Faults {
		answer.Faults = append(answer.Faults, t.FaultText(f))
	}
	for _, motive := range why.MoreConflicts {
		answer.MoreConflicts = append(answer.MoreConflicts, motive.String())
	}
	for _, c := range why.Conflicts {
		answer.Conflicts = append(answer.Conflicts, r.conflict(&c))
	}
	for _, p := range why.Paths {
		answer.Paths = append(answer.Paths, r.path(&p))
	}
	for _, a := range why.Redundancies {
		answer.Agreements = append(answer.Agreements, agreeJSON{t.CouplingNames(a.Couplings), t.CouplingNames(a.Redundant)})
	}
	for _, c := range why.Changes {
		j := changeJSON{
			t.CouplingNames(c.Apply), t.CouplingNames(c.Release), t.CouplingNames(c.Mend), c.Outcome.Verdict.String(), jsonRatio(c.Outcome.Ratio()), c.Reading.Pull, c.Healthy, nil,
		}
		if c.As != "" {
			j.As = &c.As
		}
		answer.Changes = append(answer.Changes, j)
	}
	return WriteJSON(w, answer)
}

func (r Reasons) conflict(c *reading.Conflict) conflictJSON {
	t := r.Why.Train
	j := conflictJSON{
		Motive: c.Demand.String(), Elements: t.CouplingNames(c.Elements), Joints: []string{}, Splines: t.CouplingNames(c.Splines),
		Torques: ordered{}, Lettings: []lettingJSON{},
	}
	for _, joint := range c.Joints {
		j.Joints = append(j.Joints, t.Joints[joint].Name)
	}
	if c.Witness >= 0 {
		j.Witness = &t.Members[c.Witness].Name
	}
	for i, torque := range c.Torque {
		if torque.Sign() != 0 {
			j.Torques = append(j.Torques, named{t.Couplings[i].Name, torque.Float()})
		}
	}
	for _, l := range c.Lettings {
		j.Lettings = append(j.Lettings, lettingJSON{
			t.Couplings[l.Element].Name, l.Within.Verdict.String(), l.Reading.Pull, jsonInterval(l.Within.Pull, 1), jsonInterval(l.Asks, 1), l.Then.Pull, append([]int{}, l.Remain...),
		})
	}
	return j
}

func (r Reasons) path(p *reading.Path) pathJSON {
	t := r.Why.Train
	j := pathJSON{Steps: []pathStepJSON{}, Reaction: t.CouplingNames(p.Reaction), Loaded: t.CouplingNames(p.Loaded), Supports: []supportJSON{}, Idle: []string{}}
	for _, s := range p.Supports {
		support := supportJSON{t.NamesOf(s.Members), t.CouplingNames(s.By), s.Fixed, []string{}}
		for _, g := range s.Through {
			support.Through = append(support.Through, t.Gearsets[g].Name)
		}
		j.Supports = append(j.Supports, support)
	}
	for _, s := range p.Steps {
		step := pathStepJSON{From: t.NamesOf(s.From), To: t.NamesOf(s.To), Held: t.NamesOf(s.Held)}
		if s.Back >= 0 {
			back := s.Back + 1
			step.Back = &back
		}
		switch {
		case s.Coupling >= 0:
			step.Through, step.Name = "element", t.Couplings[s.Coupling].Name
		case s.Joint >= 0:
			step.Through, step.Name = "joint", t.Joints[s.Joint].Name
		default:
			step.Through, step.Name = "gearset", t.Gearsets[s.Gearset].Name
		}
		j.Steps = append(j.Steps, step)
	}
	for _, g := range p.Idle {
		j.Idle = append(j.Idle, t.Gearsets[g].Name)
	}
	return j
}

// sectionJSON is a section of an explanation as it is printed.
type sectionJSON struct {
	Title string     `json:"title"`
	Text  []string   `json:"text"`
	Heads []string   `json:"heads"`
	Rows  [][]string `json:"rows"`
	After []string   `json:"after"`
}

func sectionsJSON(sections []reading.Section) []sectionJSON {
	list := []sectionJSON{}
	for _, s := range sections {
		j := sectionJSON{s.Title, append([]string{}, s.Text...), []string{}, append([][]string{}, s.Rows...), append([]string{}, s.After...)}
		for _, h := range s.Heads {
			j.Heads = append(j.Heads, strings.TrimSuffix(h, ">"))
		}
		list = append(list, j)
	}
	return list
}
