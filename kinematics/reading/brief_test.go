package reading_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// What a mechanic would give as the reason, in the words of an explanation:
// common practice, no source.
func TestBrief(t *testing.T) {
	for _, tt := range []struct {
		train, rng, fault string
		want              []string
	}{
		// Manual low is there for the brake beside the roller clutch.
		{"depot-shuttle-three-speed", "L1", "", []string{
			"Reaction: rear.carrier is held by low-reverse (applied in L1).",
			"Shared: roller (one-way clutch) can carry what low-reverse carries; either would do alone."}},
		// What slips, is sheared or is fitted backwards is named before what makes up for it.
		{"depot-shuttle-three-speed", "D1", "roller=slips", []string{
			"It would drive with this change: make roller hold; it then drives forward at 2.45, as when healthy."}},
		{"depot-shuttle-three-speed", "D1", "roller=reversed", []string{
			"It would drive with this change: turn roller round; it then drives forward at 2.45, as when healthy."}},
		{"depot-shuttle-three-speed", "R", "shell:rear.sun=sheared", []string{
			"It would drive with this change: join rear.sun to shell again; it then drives backward at 2.20, as when healthy."}},
		// Not driving and rolling one way have a reason each.
		{"ravigneaux-three-speed", "N", "intermediate=stuck", []string{
			"It would drive with this change: apply forward; it then drives forward at 1.51 (as D2).",
			"The vehicle cannot roll backward: intermediate (stuck on) and low-sprag (one-way clutch) contradict each other, through joint output."}},
		// Of several conflicts the one of fewest elements is told.
		{"depot-shuttle-three-speed", "R", "intermediate=stuck", []string{
			"The input cannot turn forward: direct (applied in R) and intermediate (stuck on) contradict each other."}},
		{"depot-shuttle-three-speed", "D2", "direct=stuck", []string{
			"The input cannot turn forward: direct (stuck on) and intermediate (applied in D2) contradict each other."}},
		// The pawl holds, whatever else there is.
		{"ravigneaux-three-speed", "P", "intermediate=stuck", []string{
			"The vehicle rolls neither way: pawl (applied in P) holds the output by itself."}},
		{"depot-shuttle-three-speed", "P", "forward=stuck", []string{
			"Without the pawl it would drive forward at 2.45.",
			"The input cannot turn forward: forward (stuck on), roller (one-way clutch) and pawl (applied in P) contradict each other, through joints shell and output."}},
		{"depot-shuttle-three-speed", "P", "pawl=missing", []string{
			"The healthy range holds the vehicle, which now rolls freely: pawl is missing: it holds nothing."}},
		{"simpson-transaxle-three-speed", "P", "transfer:transfer-shaft=sheared", []string{
			"The healthy range holds the vehicle, which now rolls freely: transfer-shaft splines stripped: it turns free of the others in joint transfer."}},
		// Neutral does not apply what would not hold.
		{"depot-shuttle-three-speed", "N", "forward=open", []string{
			"It would drive with this change: mend and apply forward; it then drives forward at 2.45 (as D1)."}},
		// Torque overrules speeds.
		{"depot-shuttle-three-speed", "R", "forward=dragging 0.4", []string{
			"Reaction: rear.carrier is held by low-reverse (applied in R).",
			"By its speeds it would drive so; by torque the drag of forward holds the input up to 1.27 times rated torque."}},
		{"power-split-hybrid", "generator-held", "engine:engine-shaft=sheared", []string{
			"It would drive with this change: join engine-shaft to engine again; it then drives forward at 2.36, as when healthy."}},
	} {
		train := libraryTrain(t, tt.train)
		var faults []kinematics.Fault
		if tt.fault != "" {
			f, err := kinematics.ParseFault(train, tt.fault)
			if err != nil {
				t.Fatal(err)
			}
			faults = append(faults, f)
		}
		i, _ := train.Range(tt.rng)
		why := reading.Explain(t.Context(), reading.NewReader(solve.Compile(train)), &train.Ranges[i], faults...)
		got := why.Brief()
		if text := why.Headline(); !strings.HasPrefix(text, "Range ") {
			t.Errorf("headline %q", text)
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s %s %s: %s", tt.train, tt.rng, tt.fault, strings.Join(got, "\n"))
		}
	}
}
