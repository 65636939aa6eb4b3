package solve_test

import (
	"encoding/json"
	"testing"

	"tieup/kinematics/solve"
)

// The words of enumerations are those of machine output.
func TestWords(t *testing.T) {
	for _, c := range []struct {
		values any
		want   string
	}{
		{[]solve.Verdict{solve.TieUp, solve.InputHeld, solve.OutputHeld, solve.Neutral, solve.Forward, solve.Reverse},
			`["tie-up","input-held","output-held","neutral","forward","reverse"]`},
		{[]solve.CouplingState{solve.StateOpen, solve.StateLocked, solve.StateHolding, solve.StateIdle,
			solve.StateOverrunning, solve.StateFree},
			`["open","locked","holding","idle","overrunning","free to overrun"]`},
		{[]solve.Demand{solve.InputForward, solve.InputBackward, solve.OutputForward, solve.OutputBackward},
			`["turn-input-forward","turn-input-backward","roll-forward","roll-backward"]`},
		{[]solve.MechanismEnd{solve.Moves, solve.Jams, solve.RunsAway}, `["moves","jams","runs-away"]`},
		{[]solve.RatingOrigin{solve.NoFriction, solve.Unloaded, solve.Unscaled, solve.Stated, solve.InFile,
			solve.Assumed},
			`["","unloaded","unscaled","given","file","assumed"]`},
		{[]solve.LossStatus{solve.NoLossTrouble, solve.SelfLocking, solve.Ambiguous, solve.LooseSpeeds, solve.TooMany},
			`["","self-locking","ambiguous","loose-speeds","too-many-directions"]`},
		{[]solve.Hold{solve.Overrun, solve.Idles, solve.MayHold, solve.Holds}, `["overruns","idles","may hold","holds"]`},
	} {
		if got, err := json.Marshal(c.values); err != nil || string(got) != c.want {
			t.Errorf("%s (%v), want %s", got, err, c.want)
		}
	}
}
