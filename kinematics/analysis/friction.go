package analysis

import (
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Friction is what torque decides in a range, where a fault acts through it.
type Friction struct {
	Unit    string       `json:"unit"`
	Missing List[string] `json:"missing_ratings"`
	Reads   string       `json:"reads"`
	// Limit is nil where nothing slips first, FlareRatio where the engine is not
	// caught.
	Limit      *exact.Frac  `json:"slips_above"`
	FlareRatio *exact.Frac  `json:"flares_to_ratio"`
	FlareAs    Name         `json:"flares_to_range"`
	Drag       exact.Frac   `json:"drag"`
	HeldTo     *exact.Frac  `json:"input_held_to"` // nil where the rated torque turns the input
	HeldBy     List[string] `json:"input_held_by"`
	DrawnRatio *exact.Frac  `json:"drawn_to_ratio"`
	DrawnAs    Name         `json:"drawn_to_range"`
	Below      *exact.Frac  `json:"drawn_below"`
	Creeps     Name         `json:"creeps"` // forward, backward, or not at all
	Pull       *exact.Frac  `json:"pull"`
	GivesWay   *exact.Frac  `json:"gives_way_at"`
}

// frictionOf returns nil where no fault acts through torque.
func frictionOf(f *reading.Friction) *Friction {
	if f == nil {
		return nil
	}
	inverse := func(speed exact.Frac) *exact.Frac {
		if speed.Sign() == 0 {
			return nil
		}
		ratio := speed.Inv()
		return &ratio
	}
	j := &Friction{
		Unit: reading.TorqueUnit(f.Scale), Missing: f.Missing, Reads: f.Text(), Drag: f.Drag, HeldBy: f.HeldBy,
		Limit: ptr(f.Limit, f.Limits), FlareRatio: inverse(f.Flare), FlareAs: Name(f.FlareAs),
		DrawnRatio: inverse(f.Drawn), DrawnAs: Name(f.DrawnAs), Below: ptr(f.Below, f.Drawn.Sign() != 0),
		HeldTo: ptr(f.HeldTo, f.Held), GivesWay: ptr(f.Give, f.Gives), Pull: ptr(f.Pull, f.Creeps),
	}
	switch {
	case f.Creeps && f.Way < 0:
		j.Creeps = "backward"
	case f.Creeps:
		j.Creeps = "forward"
	}
	return j
}
