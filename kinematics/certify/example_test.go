package certify_test

import (
	"encoding/json"
	"fmt"
	"log"

	"tieup/kinematics/certify"
)

// A sun of 30 teeth, a ring of 66 that is held, a carrier that is driven: the proof
// that the sun turns 16/5 times as fast is one motion and one multiplier for each row.
func Example() {
	var rows certify.Rows
	read(`{
		"mesh 0": {"form": {"sun": "30", "ring": "66", "carrier": "-96"}, "sense": "="},
		"low":    {"form": {"ring": "1"}, "sense": "="}
	}`, &rows)
	var proof certify.Certificate
	read(`{
		"motions": [{"sun": "1", "carrier": "5/16"}],
		"slices": [{
			"field": "pull", "given": [{"sun": "1"}], "is": ["1"], "quantity": {"carrier": "1"},
			"min": {"value": "5/16", "motion": 0, "rows": {"mesh 0": "-1/96", "low": "11/16"}, "at": ["-5/16"]},
			"max": {"value": "5/16", "motion": 0, "rows": {"mesh 0": "1/96", "low": "-11/16"}, "at": ["5/16"]}
		}]
	}`, &proof)
	fmt.Println(rows.Check(&proof, nil))

	proof.Motions[0]["carrier"] = proof.Motions[0]["sun"]
	fmt.Println(rows.Check(&proof, nil))
	// Output:
	// <nil>
	// motions: mesh 0 forbids a motion
}

func read(text string, into any) {
	if err := json.Unmarshal([]byte(text), into); err != nil {
		log.Fatal(err)
	}
}
