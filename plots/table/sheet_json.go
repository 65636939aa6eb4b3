package table

import (
	"io"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

type gearJSON struct {
	Part        string `json:"part"`
	Teeth       *int64 `json:"teeth"`
	PinionTeeth *int64 `json:"pinion_teeth,omitempty"`
}

type gearsetJSON struct {
	Name           string     `json:"name"`
	Kind           string     `json:"kind"`
	RatioOnly      bool       `json:"ratio_only"`
	Ratio          ratioJSON  `json:"last_gear_over_first"`
	Gears          []gearJSON `json:"gears"`
	Pinions        []gearJSON `json:"pinions"`
	PinionCount    *int       `json:"pinion_count"`
	ProfileShifted bool       `json:"profile_shifted"`
	Mesh           *string    `json:"mesh"`
	Carrier        string     `json:"carrier"`
}

type elementJSON struct {
	Name     string   `json:"name"`
	Kind     string   `json:"kind"`
	Between  []string `json:"between"`
	Switched bool     `json:"switched"`
	Capacity *float64 `json:"capacity"`
	Also     string   `json:"also"`
	Does     string   `json:"does"`
}

type rangeJSON struct {
	Name       string    `json:"name"`
	Apply      []string  `json:"apply"`
	Input      string    `json:"input"`
	Output     string    `json:"output"`
	Verdict    string    `json:"verdict"`
	Ratio      *float64  `json:"ratio"`
	RatioExact *string   `json:"ratio_exact"`
	Published  *string   `json:"published"`
	Step       *stepJSON `json:"step"`
}

type stepJSON struct {
	To string `json:"to"`
	ratioJSON
}

type positionJSON struct {
	Name   string   `json:"name"`
	Ranges []string `json:"ranges"`
}

// JSON writes the schema tieup.show/1.
func (s RoadTest) JSON(w io.Writer) error {
	t := s.Train
	answer := struct {
		Schema    string         `json:"schema"`
		Units     ordered        `json:"units"`
		Name      string         `json:"name"`
		Title     string         `json:"title"`
		Sources   []string       `json:"sources"`
		Note      string         `json:"note"`
		Input     string         `json:"input"`
		Output    string         `json:"output"`
		Drive     string         `json:"drive"`
		Forward   string         `json:"forward"`
		Rated     *float64       `json:"rated_torque"`
		Gearsets  []gearsetJSON  `json:"gearsets"`
		Joined    ordered        `json:"joined"`
		Elements  []elementJSON  `json:"elements"`
		Ranges    []rangeJSON    `json:"ranges"`
		Spread    ratioJSON      `json:"spread"`
		Positions []positionJSON `json:"positions"`
	}{
		Schema: "tieup.show/1",
		Units:  ordered{{"ratio", "input speed / output speed"}, {"rated_torque, capacity", "N m"}},
		Name:   t.Name, Title: t.Title, Sources: t.Sources, Note: t.Note,
		Input: t.Members[t.Input].Name, Output: t.Members[t.Output].Name,
		Drive: string(t.Drive), Forward: map[bool]string{true: "same", false: "opposite"}[t.Forward > 0],
		Gearsets: []gearsetJSON{}, Joined: ordered{}, Elements: []elementJSON{}, Ranges: []rangeJSON{}, Positions: []positionJSON{},
		Spread: jsonRatio(s.spread()),
	}
	if t.RatedTorque > 0 {
		answer.Rated = &t.RatedTorque
	}
	for i := range t.Gearsets {
		answer.Gearsets = append(answer.Gearsets, s.gearsetJSON(&t.Gearsets[i]))
	}
	for _, j := range t.Joints {
		ms := []string{}
		for _, m := range j.Members {
			ms = append(ms, t.Members[m].Name)
		}
		answer.Joined = append(answer.Joined, named{j.Name, ms})
	}
	for i := range t.Couplings[:t.ElementCount] {
		c := &t.Couplings[i]
		e := elementJSON{Name: c.Name, Kind: c.Kind.String(), Between: []string{t.Members[c.A].Name, t.Members[c.B].Name},
			Switched: c.Switched, Also: c.Also, Does: Element(t, c)}
		if c.Capacity > 0 {
			e.Capacity = &c.Capacity
		}
		answer.Elements = append(answer.Elements, e)
	}
	steps := s.steps()
	for i := range t.Ranges {
		r, m := &t.Ranges[i], s.Motions[i]
		ratio := jsonRatio(m.Ratio())
		j := rangeJSON{Name: r.Name, Apply: t.CouplingNames(r.Apply), Input: t.Members[r.Input].Name, Output: t.Members[r.Output].Name,
			Verdict: m.Verdict.String(), Ratio: ratio.Ratio, RatioExact: ratio.Exact}
		if r.Published != nil {
			j.Published = &r.Published.Text
		}
		if st, ok := steps[i]; ok {
			j.Step = &stepJSON{t.Ranges[st.to].Name, jsonRatio(st.ratio, true)}
		}
		answer.Ranges = append(answer.Ranges, j)
	}
	for _, p := range t.Positions {
		answer.Positions = append(answer.Positions, positionJSON{p.Name, rangeNames(t, p.Ranges)})
	}
	return WriteJSON(w, answer)
}

func (s RoadTest) gearsetJSON(g *kinematics.Gearset) gearsetJSON {
	j := gearsetJSON{Name: g.Name, Kind: string(g.Kind), RatioOnly: g.RatioOnly, ProfileShifted: g.ProfileShifted,
		Carrier: s.Train.Members[g.Carrier].Name, Gears: []gearJSON{}, Pinions: []gearJSON{}}
	if n := len(g.Gears); n == 2 {
		j.Ratio = jsonRatio(exact.NewFrac(g.Gears[1].Teeth, g.Gears[0].Teeth), true)
	}
	for i := range g.Gears {
		gear := gearJSON{Part: g.Gears[i].Part}
		if !g.RatioOnly {
			gear.Teeth = &g.Gears[i].Teeth
		}
		if g.Steps() {
			gear.PinionTeeth = &g.Gears[i].PinionTeeth
		}
		j.Gears = append(j.Gears, gear)
	}
	for i := range g.Pinions {
		pinion := gearJSON{Part: g.Pinions[i].Part}
		if g.Pinions[i].Teeth > 0 {
			pinion.Teeth = &g.Pinions[i].Teeth
		}
		j.Pinions = append(j.Pinions, pinion)
	}
	if g.PinionCount > 0 {
		j.PinionCount = &g.PinionCount
	}
	if !g.Planetary() {
		mesh := s.Train.Meshes[g.Meshes[0]].Kind.String()
		j.Mesh = &mesh
	}
	return j
}
