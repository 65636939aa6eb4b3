package reading

import (
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
)

// MarshalJSON writes what torque decides, and in words; what does not apply is null.
func (f *Friction) MarshalJSON() ([]byte, error) {
	inverse := func(speed exact.Frac) *exact.Frac {
		if speed.Sign() == 0 {
			return nil
		}
		ratio := speed.Inv()
		return &ratio
	}
	var creeps document.Name
	switch {
	case f.Creeps && f.Way < 0:
		creeps = "backward"
	case f.Creeps:
		creeps = "forward"
	}
	return document.Marshal(struct {
		Unit       string                `json:"unit"`
		Missing    document.List[string] `json:"missing_ratings"`
		Reads      string                `json:"reads"`
		Limit      *exact.Frac           `json:"slips_above"`
		FlareRatio *exact.Frac           `json:"flares_to_ratio"` // null where the engine is not caught
		FlareAs    document.Name         `json:"flares_to_range"`
		Drag       exact.Frac            `json:"drag"`
		HeldTo     *exact.Frac           `json:"input_held_to"`
		HeldBy     document.List[string] `json:"input_held_by"`
		DrawnRatio *exact.Frac           `json:"drawn_to_ratio"`
		DrawnAs    document.Name         `json:"drawn_to_range"`
		Below      *exact.Frac           `json:"drawn_below"`
		Creeps     document.Name         `json:"creeps"`
		Pull       *exact.Frac           `json:"pull"`
		GivesWay   *exact.Frac           `json:"gives_way_at"`
	}{
		TorqueUnit(f.Scale), f.Missing, f.Text(),
		document.If(f.Limit, f.Limits), inverse(f.Flare), document.Name(f.FlareAs),
		f.Drag, document.If(f.HeldTo, f.Held), f.HeldBy,
		inverse(f.Drawn), document.Name(f.DrawnAs), document.If(f.Below, f.Drawn.Sign() != 0),
		creeps, document.If(f.Pull, f.Creeps), document.If(f.Give, f.Gives),
	})
}
