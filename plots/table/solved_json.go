package table

import (
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// stateJSON is one state; the fields that every state has come first, in its
// order, then what was added.
type stateJSON struct {
	Train         string    `json:"train"`
	Range         *string   `json:"range"`
	Faults        []string  `json:"faults"`
	Verdict       string    `json:"verdict"`
	Ratio         *float64  `json:"ratio"`
	RatioExact    *string   `json:"ratio_exact"`
	At            atJSON    `json:"at"`
	Pull          minMax    `json:"pull"`
	Coast         coastJSON `json:"coast"`
	EngineBraking *bool     `json:"engine_braking"`
	InputBackward bool      `json:"input_backward"`
	Members       ordered   `json:"members"`
	Couplings     ordered   `json:"couplings"`

	Apply              []string   `json:"apply"`
	Input              string     `json:"input"`
	Output             string     `json:"output"`
	Reads              string     `json:"reads"`
	Coasting           string     `json:"coasting"`
	EngineBrakingRatio ratioJSON  `json:"engine_braking_ratio"`
	MembersExact       ordered    `json:"members_exact"`
	PinionSpin         ordered    `json:"pinion_spin"`
	NotGiven           []string   `json:"not_given"`
	Groups             [][]string `json:"groups"`
	// Friction is null where no fault acts through torque.
	Friction *frictionJSON `json:"friction"`
	Residual float64       `json:"residual"`
}

type atJSON struct {
	Input  any `json:"input"`
	Output any `json:"output"`
}

type coastJSON struct {
	Forward  coastWay `json:"forward"`
	Backward coastWay `json:"backward"`
}

type coastWay struct {
	Rolls    bool `json:"rolls"`
	InputMin any  `json:"input_min"`
	InputMax any  `json:"input_max"`
}

func jsonCoast(i exact.Interval) coastWay {
	b := jsonInterval(i, 1)
	return coastWay{!i.Empty, b.Min, b.Max}
}

// memberJSON is a free member; a member with one speed is just that number.
type memberJSON struct {
	minMax
	Group string `json:"group"`
}

type couplingJSON struct {
	Commanded *bool   `json:"commanded"`
	Fault     *string `json:"fault"`
	State     string  `json:"state"`
	Slip      any     `json:"slip"`
	Torque    any     `json:"torque"`
}

// JSON writes the schema tieup.solve/1.
func (s Solved) JSON(w io.Writer) error {
	speed := "turns per turn of the input"
	if s.InputRPM != 0 {
		speed = "rpm"
	}
	answer := struct {
		Schema   string      `json:"schema"`
		Units    ordered     `json:"units"`
		InputRPM *float64    `json:"input_rpm"`
		States   []stateJSON `json:"states"`
		Cautions []string    `json:"cautions"`
	}{
		Schema: "tieup.solve/1",
		Units: ordered{
			{"at, members, pinion_spin, slip", speed + ", + as the input turns"},
			{"ratio", "input speed / output speed"},
			{"torque", "per unit input torque, on the first member of the coupling, + as the input turns"},
			{"pull", "turns of the output per turn of the input, + moves the vehicle forward"},
			{"coast", "turns of the input per turn of the output"},
		},
		Cautions: append([]string{}, s.Cautions...),
	}
	if s.InputRPM != 0 {
		answer.InputRPM = &s.InputRPM
	}
	for i := range s.States {
		answer.States = append(answer.States, s.stateJSON(&s.States[i]))
	}
	return WriteJSON(w, answer)
}

func (s Solved) stateJSON(st *State) stateJSON {
	t, m := s.Train, st.Motion
	scale := 1.0
	if s.InputRPM != 0 {
		scale = s.InputRPM
	}
	ratio := jsonRatio(m.Ratio())
	j := stateJSON{
		Train: t.Name, Faults: []string{}, Verdict: m.Verdict.String(),
		Ratio: ratio.Ratio, RatioExact: ratio.Exact,
		Pull:          jsonInterval(m.Pull, 1),
		Coast:         coastJSON{jsonCoast(m.CoastForward), jsonCoast(m.CoastBackward)},
		InputBackward: m.InputBackward,
		Apply:         elementNames(t, st.Apply),
		Input:         t.Members[m.State.Input].Name,
		Output:        t.Members[m.State.Output].Name,
		Reads:         st.Cell.Text(),
		Coasting:      st.Cell.Reading.Coast,
		PinionSpin:    ordered{},
		NotGiven:      []string{},
		Groups:        turnAsOne(t, m.Groups),
		Residual:      m.Residual,
		Friction:      jsonFriction(st.Cell.Friction),
	}
	if st.Range != "" {
		j.Range = &st.Range
	}
	for _, f := range st.Faults {
		j.Faults = append(j.Faults, FaultText(t, f))
	}
	j.At.Input = scaled(exact.NewFrac(int64(m.At.Input), 1), scale)
	j.At.Output = "free"
	if !m.At.OutputFree {
		j.At.Output = scaled(m.At.Output, scale)
	}
	braking, brakes, rolls := m.EngineBraking()
	if rolls {
		j.EngineBraking = &brakes
	}
	j.EngineBrakingRatio = jsonRatio(braking, brakes)
	for i, member := range t.Members {
		switch {
		case member.Kind == kinematics.JointHub:
			continue
		case m.Members[i].Empty:
			j.NotGiven = append(j.NotGiven, member.Name)
		default:
			if v, one := m.Members[i].Point(); one {
				j.Members = append(j.Members, named{member.Name, scaled(v, scale)})
				j.MembersExact = append(j.MembersExact, named{member.Name, v.String()})
			} else {
				group := t.Members[leader(m.Groups, i)].Name
				j.Members = append(j.Members, named{member.Name, memberJSON{jsonInterval(m.Members[i].Interval, scale), group}})
				j.MembersExact = append(j.MembersExact, named{member.Name, minMax{m.Members[i].Min.String(), m.Members[i].Max.String()}})
			}
		}
		if g, p := pinionOf(t, kinematics.MemberID(i)); p != nil {
			switch spin := spinOf(t, g, p, m.Members, m.Groups); {
			case spin.known && spin.free:
				j.PinionSpin = append(j.PinionSpin, named{member.Name, "free"})
			case spin.known:
				j.PinionSpin = append(j.PinionSpin, named{member.Name, scaled(spin.speed, scale)})
			}
		}
	}
	for _, i := range st.shown(t) {
		c := &t.Couplings[i]
		var cj couplingJSON
		cj.State = m.States[i].String()
		if c.Kind != kinematics.Spline && (c.Kind != kinematics.OneWay || c.Switched) {
			on := st.commanded(i)
			cj.Commanded = &on
		}
		if f := st.fault(i); f != nil {
			kind := string(f.Kind)
			cj.Fault = &kind
		}
		if v, one := m.Slips[i].Point(); one {
			cj.Slip = scaled(v, scale)
		} else {
			cj.Slip = jsonInterval(m.Slips[i].Interval, scale)
		}
		cj.Torque = st.torque(i)
		j.Couplings = append(j.Couplings, named{c.Name, cj})
	}
	return j
}

// torque is what coupling i carries per unit input torque: a number, bounds
// where the load is shared, or null for a state that does not drive.
func (st *State) torque(i int) any {
	if len(st.Carried) == 0 {
		return nil
	}
	least, most := st.Carried[0].Torque[i], st.Carried[0].Torque[i]
	for _, way := range st.Carried[1:] {
		if way.Torque[i].Cmp(least) < 0 {
			least = way.Torque[i]
		}
		if way.Torque[i].Cmp(most) > 0 {
			most = way.Torque[i]
		}
	}
	if least.Cmp(most) == 0 {
		return scaled(least, 1)
	}
	return minMax{scaled(least, 1), scaled(most, 1)}
}

// FaultText writes a fault as it is given on the command line.
func FaultText(t *kinematics.Train, f kinematics.Fault) string { return t.FaultText(f) }

// CSV writes a line for each state.
func (s Solved) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "range", "apply", "faults", "verdict", "ratio", "ratio_exact", "pull_min", "pull_max",
		"rolls_forward", "rolls_backward", "engine_braking", "engine_braking_ratio_exact", "input_backward", "free", "reads", "coasting")}
	for i := range s.States {
		st := &s.States[i]
		m := st.Motion
		var faults []string
		for _, f := range st.Faults {
			faults = append(faults, FaultText(s.Train, f))
		}
		ratio, exact := "", ""
		if r, ok := m.Ratio(); ok {
			ratio, exact = shortest(r), r.String()
		}
		pullMin, pullMax := "", ""
		if !m.Pull.Empty {
			pullMin, pullMax = m.Pull.Min.String(), m.Pull.Max.String()
		}
		braking, brakingRatio := "", ""
		if r, brakes, rolls := m.EngineBraking(); rolls {
			braking = strconv.FormatBool(brakes)
			if brakes {
				brakingRatio = r.String()
			}
		}
		g.Add(s.Train.Name, st.Range, strings.Join(elementNames(s.Train, st.Apply), " "), strings.Join(faults, " "), m.Verdict.String(),
			ratio, exact, pullMin, pullMax,
			strconv.FormatBool(!m.CoastForward.Empty), strconv.FormatBool(!m.CoastBackward.Empty),
			braking, brakingRatio, strconv.FormatBool(m.InputBackward),
			strings.Join(free(s.Train, m), " "), st.Cell.Text(), st.Cell.Reading.Coast)
	}
	return g.CSV(w)
}

// shortest is the shortest decimal that reads back as the same float.
func shortest(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'g', -1, 64) }
