package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// lurches are the words of a range that pushes against the pawl.
var lurches = []Word{Lurch, LurchForward, LurchBackward}

// applies says whether a range applies an element of a kind.
func applies(t *kinematics.Train, r int, k kinematics.CouplingKind) bool {
	return slices.ContainsFunc(t.Ranges[r].Apply, func(e int) bool { return t.Couplings[e].Kind == k })
}

// noPawl refuses a lurch in a range without the pawl, and says what can be seen there.
func noPawl(t *kinematics.Train, o *Observation) error {
	instead := map[Word]string{Lurch: "forward, reverse or creeps", LurchForward: "forward or creeps-forward",
		LurchBackward: "reverse or creeps-backward"}
	var pawls []string
	for r := range t.Ranges {
		if applies(t, r, kinematics.Pawl) {
			pawls = append(pawls, t.Ranges[r].Name)
		}
	}
	where := "no range does"
	if len(pawls) > 0 {
		where = "only " + strings.Join(pawls, ", ") + kinematics.Plural(len(pawls), " does", " do")
	}
	return fmt.Errorf("%s: %s applies no parking pawl to push against (%s); write %s", o.Word, t.Ranges[o.Range].Name,
		where, instead[o.Word])
}

// drivesOr refuses ok beside what says that a range does not drive, of one that should.
func drivesOr(t *kinematics.Train, a, b *Observation) error {
	for _, p := range [][2]*Observation{{a, b}, {b, a}} {
		if p[0].Word != OK || !slices.Contains([]Word{None, Revs, Loaded}, p[1].Word) {
			continue
		}
		sys := solve.Compile(t)
		if sys.Kernel().Outcome(t.In(&t.Ranges[a.Range])).Drives() {
			return fmt.Errorf("ok and %s cannot both be: %s should drive, so that ok says that it does", p[1].Word,
				t.Ranges[a.Range].Name)
		}
	}
	return nil
}
