package certify_test

import (
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/solve"
)

// The engine proves an outcome; the checker multiplies it out, and finds what was
// changed.
func Example() {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		panic(err)
	}
	stuck, _ := kinematics.ParseFault(train, "low-reverse=stuck")
	r, _ := train.Range("D3")
	state := train.In(&train.Ranges[r], stuck)

	p := solve.Compile(train).Prover(state)
	p.Outcome()
	rows := certify.RowsOf(train, state)
	fmt.Println(p.Certificate.Slices[0].Field, "is empty:", p.Certificate.Slices[0].Empty != nil)
	fmt.Println(rows.Check(&p.Certificate))

	delete(p.Certificate.Slices[0].Empty.Couplings, "low-reverse")
	fmt.Println(rows.Check(&p.Certificate))
	// Output:
	// pull is empty: true
	// <nil>
	// pull: nothing is contradicted: the rows of a proof do not add up
}
