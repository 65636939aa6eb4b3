package plots

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// breakaway draws ranges with assumed ratings and the rated torque.
func breakaway(t *testing.T, train *kinematics.Train, ranges []kinematics.Range, faults []kinematics.Fault) *Breakaway {
	t.Helper()
	scale := analysis.ScaleOf(train)
	c, err := analysis.Open(train).Chains(t.Context(), analysis.Question{Ranges: ranges, Condition: analysis.Under(faults...)},
		analysis.Torques{Scale: scale, Available: scale.Rated, Reserve: exact.NewFrac(3, 2)})
	if err != nil {
		t.Fatal(err)
	}
	return BreakawayPlan(c, 0)
}

// Second of the depot's three-speed with its direct clutch welded. By hand, per
// unit of rated input torque: the band carries 5/11 at most and the forward
// clutch 1, so with a reserve of 3/2 they are rated 15/22 and 3/2. Healthy, the
// range holds up to a resistance of 3/2 x 16/11 = 24/11. With the fault the band
// must slip from the start, at 15/22, and the output turns with the input; from
// 24/11 on the output stands and forward slips too, at 15/22 + 24/11 = 63/22.
func TestBreakawayPlan(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed").Train
	b := breakaway(t, train, ranges(t, train, "D2"), faults(t, train, "direct=stuck"))
	var got []string
	for _, c := range b.Chains {
		for _, p := range c.Pieces {
			got = append(got, fmt.Sprintf("%s %d: %.4f + %.4f (R - %.4f): %s", c.Label, p.Number, p.Torque, p.Slope, p.From, p.Words))
		}
	}
	want := []string{
		"D2, healthy 1: 0.0000 + 0.6875 (R - 0.0000): nothing slips, output +0.688",
		"D2, healthy 2: 1.5000 + 0.0000 (R - 2.1818): forward slips, output at rest",
		"D2, faulty 3: 0.6818 + 1.0000 (R - 0.0000): intermediate slips, output +1.000",
		"D2, faulty 4: 2.8636 + 0.0000 (R - 2.1818): forward and intermediate slip, output at rest",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if want := 1.25 * 24 / 11; math.Abs(b.UpTo-want) > 1e-9 {
		t.Errorf("drawn up to %v, want %v", b.UpTo, want)
	}
}
