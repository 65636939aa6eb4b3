package table

import (
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

type torqueJSON struct {
	Torque any    `json:"torque"`
	Exact  string `json:"torque_exact"`
}

func jsonTorque(f exact.Frac) torqueJSON { return torqueJSON{scaled(f, 1), f.String()} }

type ratingJSON struct {
	Here    string   `json:"here"`
	Origin  *string  `json:"origin"`
	Rating  *float64 `json:"rating"`
	Carried *float64 `json:"carried"`
	Reserve *float64 `json:"reserve"`
	Range   *string  `json:"range"`
	// Holds is null for an element that holds nothing, "inf" for one without limit.
	Holds any `json:"holds"`
}

type optimumJSON struct {
	Input       float64 `json:"input"`
	Output      float64 `json:"output"`
	OutputExact string  `json:"output_exact"`
	Slips       ordered `json:"slips"`
	Heat        ordered `json:"heat"`
}

type breakJSON struct {
	End string `json:"end"` // moves, jams, runs-away
	*torqueJSON
	Proved  bool          `json:"proved"`
	Input   minMax        `json:"input"`
	Output  minMax        `json:"output"`
	Optima  []optimumJSON `json:"optima"`
	Duals   ordered       `json:"duals"`
	Shared  bool          `json:"shared"` // the load can be carried in several ways
	InputT  *float64      `json:"input_torque"`
	OutputT *float64      `json:"output_torque"`
}

type standingJSON struct {
	breakJSON
	Turns     bool   `json:"turns"`
	Direction string `json:"direction"`
	// One ratio that all motions of least cost agree on, or null.
	ratioJSON
	Reads []string `json:"reads"`
}

type stretchJSON struct {
	From      any           `json:"resistance_from"`
	To        any           `json:"resistance_to"`
	Torque    torqueJSON    `json:"at_from"`
	Slope     float64       `json:"torque_per_resistance"`
	Direction string        `json:"direction"`
	Optima    []optimumJSON `json:"optima"`
}

type rollJSON struct {
	Direction string  `json:"direction"`
	Engine    float64 `json:"engine_torque"`
	breakJSON
	Carry []string `json:"carry_torque"`
	Reads string   `json:"reads"`
}

func (a BrokenAway) optima(list []solve.MechanismMotion) []optimumJSON {
	js := []optimumJSON{}
	for _, m := range list {
		j := optimumJSON{Input: scaled(m.Input, 1), Output: scaled(m.Output, 1), OutputExact: m.Output.String(), Slips: ordered{}, Heat: ordered{}}
		for k, i := range m.Slips {
			j.Slips = append(j.Slips, named{a.Train.Couplings[i].Name, scaled(m.Slip[i], 1)})
			j.Heat = append(j.Heat, named{a.Train.Couplings[i].Name, scaled(m.Heat[k], 1)})
		}
		js = append(js, j)
	}
	return js
}

func (a BrokenAway) breakJSON(k *solve.Mechanism) breakJSON {
	j := breakJSON{End: k.End.String(), Proved: k.Proved, Shared: k.Shared, Optima: a.optima(k.Optima), Duals: ordered{}}
	if k.End != solve.Moves {
		return j
	}
	torque := jsonTorque(k.Torque)
	in, out := scaled(k.InputTorque, 1), scaled(k.OutputTorque, 1)
	j.torqueJSON, j.InputT, j.OutputT = &torque, &in, &out
	j.Input, j.Output = jsonInterval(k.Input, 1), jsonInterval(k.Output, 1)
	for i, d := range k.Dual {
		if i < a.Train.ElementCount || d.Sign() != 0 {
			j.Duals = append(j.Duals, named{a.Train.Couplings[i].Name, scaled(d, 1)})
		}
	}
	return j
}

// JSON writes the schema tieup.breakaway/1.
func (a BrokenAway) JSON(w io.Writer) error {
	b, t := a.Breakaway, a.Train
	type slipFree struct {
		Resistance any `json:"resistance"`
		Torque     any `json:"input_torque"`
	}
	answer := struct {
		Schema     string        `json:"schema"`
		Units      ordered       `json:"units"`
		Train      string        `json:"train"`
		Range      string        `json:"range"`
		Apply      []string      `json:"apply"`
		Faults     []string      `json:"faults"`
		Rated      *float64      `json:"rated_torque"`
		Available  torqueJSON    `json:"available"`
		Resistance torqueJSON    `json:"resistance"`
		Elements   ordered       `json:"elements"`
		Proved     bool          `json:"proved"`
		Standing   standingJSON  `json:"standing"`
		Stretches  []stretchJSON `json:"stretches"`
		SlipFree   *slipFree     `json:"slip_free"`
		Rolling    []rollJSON    `json:"rolling"`
		Cautions   []string      `json:"cautions"`
	}{
		Schema: "tieup.breakaway/1",
		Units: ordered{
			{"torque, available, resistance, rating, holds, duals", reading.TorqueUnit(b.Scale)},
			{"input, output, slips", "turns per turn of the forced end: the input standing, the output rolling; + as the input turns"},
			{"heat", "torque times slip speed"},
			{"ratio", "input speed / output speed"},
		},
		Train: t.Name, Range: a.Range.Name, Apply: t.CouplingNames(a.Range.Apply), Faults: []string{},
		Available: jsonTorque(b.Available), Resistance: jsonTorque(b.Resistance),
		Elements: a.elementsJSON(), Proved: a.proved(), Stretches: []stretchJSON{}, Rolling: []rollJSON{},
		Cautions: append([]string{}, a.Cautions...),
	}
	if b.Scale.NewtonMetres && b.Scale.Rated.Sign() > 0 {
		rated := b.Scale.Rated.Float()
		answer.Rated = &rated
	}
	for _, f := range a.Faults {
		answer.Faults = append(answer.Faults, t.FaultText(f))
	}
	course, speeds := b.Goes()
	answer.Standing = standingJSON{
		breakJSON: a.breakJSON(b.Standing), Turns: b.Turns(), Direction: string(course),
		Reads: []string{b.Needs(), b.Against(), b.Vehicle()},
	}
	if len(speeds) == 1 {
		answer.Standing.ratioJSON = jsonRatio(speeds[0].Inv(), true)
	}
	for _, s := range b.Chain {
		course, _ := b.Course(s)
		answer.Stretches = append(answer.Stretches, stretchJSON{
			From: jsonBound(s.From, 1), To: jsonBound(s.To, 1), Torque: jsonTorque(s.Torque), Slope: scaled(s.Slope, 1),
			Direction: string(course), Optima: a.optima(s.Optima),
		})
	}
	if r, torque, limited, ok := b.SlipFree(); ok {
		answer.SlipFree = &slipFree{"inf", "inf"}
		if limited {
			answer.SlipFree = &slipFree{scaled(r, 1), scaled(torque, 1)}
		}
	}
	for _, r := range b.Rolls {
		j := rollJSON{Direction: "backward", breakJSON: a.breakJSON(r.Break), Carry: t.CouplingNames(r.LockedBy), Reads: b.Does(r)}
		if r.Forward {
			j.Direction = "forward"
		}
		if r.Powered {
			j.Engine = scaled(b.Available, 1)
		}
		answer.Rolling = append(answer.Rolling, j)
	}
	return WriteJSON(w, answer)
}

// proved says whether every answer that moves is proved.
func (a BrokenAway) proved() bool {
	proved := a.Standing.End != solve.Moves || a.Standing.Proved
	for _, r := range a.Rolls {
		proved = proved && (r.Break.End != solve.Moves || r.Break.Proved)
	}
	return proved
}

func (a BrokenAway) elementsJSON() ordered {
	elements := ordered{}
	for i, c := range a.Train.Couplings[:a.Train.ElementCount] {
		r := &a.Ratings[i]
		j := ratingJSON{Here: a.Here(i)}
		if word := r.Origin.String(); word != "" {
			j.Origin = &word
		}
		if r.Known() {
			x := r.Torque.Float()
			j.Rating = &x
		}
		if r.Origin == solve.Assumed {
			carried, reserve := r.Carried.Float(), r.Reserve.Float()
			j.Carried, j.Reserve, j.Range = &carried, &reserve, &r.Range
		}
		switch {
		case a.Grip.Capacity[i] != nil:
			j.Holds = scaled(exact.FromRat(a.Grip.Capacity[i]), 1)
		case a.Grip.State.Modes[i] != kinematics.Open:
			j.Holds = "inf"
		}
		elements = append(elements, named{c.Name, j})
	}
	return elements
}

// CSV writes a line for the standing answer and for each way of rolling.
func (a BrokenAway) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "range", "faults", "moved", "unit", "resistance", "engine_torque", "end", "torque", "torque_exact",
		"available", "turns", "direction", "output", "slips", "heat", "carry_torque", "proved")}
	var faults []string
	for _, f := range a.Faults {
		faults = append(faults, a.Train.FaultText(f))
	}
	row := func(moved, resistance, engine string, k *solve.Mechanism, turns, direction string, carry []int) {
		torque, exact, output := "", "", ""
		var slips, heat []string
		if k.End == solve.Moves {
			torque, exact, output = shortest(k.Torque), k.Torque.String(), k.Output.Min.String()
			if _, one := k.Output.Point(); !one {
				output += " to " + k.Output.Max.String()
			}
			for n, m := range k.Optima {
				if n > 0 {
					slips, heat = append(slips, "or"), append(heat, "or")
				}
				for x, i := range m.Slips {
					name := a.Train.Couplings[i].Name
					slips = append(slips, name+"="+shortest(m.Slip[i]))
					heat = append(heat, name+"="+shortest(m.Heat[x]))
				}
			}
		}
		g.Add(a.Train.Name, a.Range.Name, strings.Join(faults, "; "), moved, reading.ShortUnit(a.Scale), resistance, engine, k.End.String(), torque, exact,
			shortest(a.Available), turns, direction, output, strings.Join(slips, " "), strings.Join(heat, " "),
			strings.Join(a.Train.CouplingNames(carry), " "), strconv.FormatBool(k.Proved))
	}
	course, _ := a.Goes()
	row("input", shortest(a.Resistance), "", a.Standing, strconv.FormatBool(a.Turns()), string(course), a.Loaded(a.Standing))
	for _, r := range a.Rolls {
		engine, direction := "0", "backward"
		if r.Powered {
			engine = shortest(a.Available)
		}
		if r.Forward {
			direction = "forward"
		}
		row("wheels", "", engine, r.Break, "", direction, r.LockedBy)
	}
	return g.CSV(w, a.Cautions...)
}
