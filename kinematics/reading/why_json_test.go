package reading_test

import (
	"encoding/json"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// In JSON reasons have names where Go has indices. Ratios by hand, from the equations of
// Willis as at TestMissing: R, with the rear carrier held and the suns driven, is -73/35; D1,
// with the front ring driven as well, is 1 + 35/73 + 1 = 181/73.
func TestReasonsAsJSON(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	for _, tt := range []struct {
		rng, fault string
		parts      []string
	}{
		{"R", "forward=stuck", []string{
			`{"motive":"turn-input-forward","elements":["forward","direct","low-reverse"],"joints":["input","shell","output"],`,
			`,"low-reverse":-1,`, `},"witness":"output-shaft","lettings":[{"element":"forward","others_verdict":"reverse",`,
			`"then_reads":"drives backward at 2.09","remaining_conflicts":[]}`, `"remaining_conflicts":[3]`,
			`"more_conflicts":[],"more_paths":false,"more_agreements":false,"paths":[],`,
			`"agreements":[{"couplings":["low-reverse","low-roller"],"spare":["low-roller"]}],`,
			`{"apply":[],"release":["direct"],"mend":[],"verdict":"forward","ratio":{"ratio":2.4794520547945207,` +
				`"ratio_exact":"181/73"},"reads":"drives forward at 2.48","as_when_healthy":false,"as":"D1"}`,
			`"ratio_exact":"-73/35"},"reads":"drives backward at 2.09","as_when_healthy":true,"as":null}`,
		}},
		{"D1", "", []string{
			`"paths":[{"steps":[{"through":"joint","name":"input","from":["turbine"],"to":["input-shaft"],"held":[],` +
				`"circulates_to_step":null},{"through":"element","name":"forward",`,
			`{"through":"gearset","name":"rear","from":["rear.sun"],"to":["rear.ring"],"held":["rear.carrier"],`,
			`"reaction":["low-roller"],"loaded":["forward","low-roller",`,
			`"supports":[{"members":["rear.carrier"],"by":["low-roller"],"fixed_to_housing":false,"through_gearsets":[]}],` +
				`"idle_gearsets":[]}],"agreements":[],"changes":[],"missing":[]}`,
		}},
		{"D1", "forward=open", []string{
			`"missing":[{"coupling":"forward","instead":[],"reaction":false,"member":"front.ring","to":"input-shaft","turns":{`,
		}},
		{"R", "low-reverse=open", []string{
			`"missing":[{"coupling":"low-reverse","instead":[],"reaction":true,"member":"rear.carrier","to":null,` +
				`"turns":"35/108"}]`,
		}},
	} {
		n, _ := train.Range(tt.rng)
		var faults []kinematics.Fault
		if tt.fault != "" {
			f, err := kinematics.ParseFault(train, tt.fault)
			if err != nil {
				t.Fatal(err)
			}
			faults = append(faults, f)
		}
		b, err := json.Marshal(reading.Explain(t.Context(), reader, &train.Ranges[n], faults...))
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range tt.parts {
			if !strings.Contains(string(b), part) {
				t.Errorf("%s %s: no %s in\n%s", tt.rng, tt.fault, part, b)
			}
		}
	}
}
