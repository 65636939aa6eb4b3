package gearsets_test

import (
	"fmt"

	"tieup/gearsets"
)

func ExampleParse() {
	const file = `tieup: 1
name: yard-tug-two-speed
source: invented for demonstration
gearsets:
  front: {kind: simple, sun: 30, ring: 62, pinion: 18, pinions: 4}
input: front.ring
output: front.carier
elements:
  low: {band: front.sun}
ranges:
  D1: {apply: [low]}
`
	train, problems := gearsets.Parse("mine.yaml", []byte(file))
	fmt.Println(train != nil)
	fmt.Print(problems.Excerpts())
	// Output:
	// false
	// mine.yaml:7:9: output: there is no member "front.carier"
	//     7 | output: front.carier
	//       |         ^^^^^^^^^^^^
	//   hint: did you mean "front.carrier"?
}

func ExampleLibrary() {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(train.Title)
	fmt.Println(train.ElementNames())
	for _, f := range gearsets.Audit(train)[:3] {
		fmt.Printf("%s, %s: %s: %s\n", train.Gearsets[f.Gearset].Name, f.Condition, f.State, f.Text)
	}
	// Output:
	// Simpson three-speed with a roller clutch in first
	// [forward direct intermediate low-reverse roller pawl]
	// front, coaxial: ok: pinion (ring 66 - sun 30) / 2 = 18
	// front, equal spacing: ok: (sun 30 + ring 66) / 4 = 24 is whole
	// front, clearance: ok: (sun 30 + pinion 18) sin(180°/4) = 33.9 is above pinion + 2 = 20
}
