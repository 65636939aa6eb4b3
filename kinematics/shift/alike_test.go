package shift

import (
	"testing"

	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Effects in one view are alike just when they are said in the same words.
func TestEffectsAlike(t *testing.T) {
	for _, coasting := range []bool{false, true} {
		var all []Effect
		for k := AsTo; k <= Locks; k++ {
			for _, v := range []solve.Verdict{solve.Forward, solve.Reverse, solve.TieUp, solve.InputHeld, solve.OutputHeld} {
				for _, back := range []bool{false, true} {
					all = append(all, Effect{Kind: k, verdict: v, back: back, coasting: coasting})
				}
			}
		}
		for _, k := range []Kind{Slackens, Dips, PullsUp, Flares} {
			for _, as := range []string{"", "D1"} {
				all = append(all, Effect{Kind: k, Speed: exact.Finite(exact.NewFrac(5, 2)), As: as, coasting: coasting})
			}
		}
		for _, a := range all {
			for _, b := range all {
				x, y := a.Text(), b.Text()
				if a.alike(&b) != (x == y) {
					t.Errorf("%q and %q: alike %v", x, y, a.alike(&b))
				}
			}
		}
	}
}
