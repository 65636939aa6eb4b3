package reading_test

import (
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Who holds what, and what drives what, as the schemas of these trains have it (reasoned by
// hand): the Lepelletier front sun is fixed in the case, so that its carrier, the slow
// shaft, turns whatever the rear set does and drives rear.sun-short through forward; a
// sheared front.carrier of the interlinked six-speed drives the output no more. In Park with
// forward stuck the pawl alone holds the Ravigneaux's output. Beside an applied brake or clutch
// a one-way clutch is idle; a stuck second-coast holds the front sun to the case.
func TestStoriesNameWhoHolds(t *testing.T) {
	for _, c := range []struct{ train, rng, fault, want string }{
		{"lepelletier-six-speed", "D1", "", "low-reverse takes the reaction at rear.carrier."},
		{"lepelletier-six-speed", "D2", "forward=open", "Nothing passes the drive from slow-shaft to rear.sun-short."},
		{"interlinked-six-speed", "D3", "output:front.carrier=sheared", "Nothing passes the drive from front.carrier to output-shaft."},
		{"overdrive-simpson-four-speed", "D1", "second-coast=stuck", "second-coast is stuck on and takes the reaction at front.sun"},
		{"three-carrier-five-speed", "D1", "", "front-brake, sun-clutch and centre-brake take the reaction"},
		{"simpson-three-speed", "D2", "low-reverse=stuck", "what they ask of the output has no speed in common."},
		{"ravigneaux-four-speed", "P", "forward=stuck", ": pawl holds the output."},
		{"simpson-three-speed", "R", "forward=stuck", "B, without direct: forward and low-reverse drive it forward at 2.48."},
	} {
		train := libraryTrain(t, c.train)
		reader := reading.NewReader(solve.Compile(train))
		var faults []kinematics.Fault
		if c.fault != "" {
			faults = append(faults, train.MustFault(c.fault))
		}
		r, _ := train.Range(c.rng)
		why := reading.Explain(t.Context(), reader, &train.Ranges[r], faults...)
		said := strings.Join(why.Brief(), " ") + " " + strings.Join(why.Lacks(), " ") + " " + why.Reason(reader.Read(&train.Ranges[r]))
		for _, f := range reading.Tell(reader, why).Frames {
			said += " " + f.Text
		}
		if !strings.Contains(said+".", c.want) {
			t.Errorf("%s %s %s says %q, not %q", c.train, c.rng, c.fault, said, c.want)
		}
	}
}
