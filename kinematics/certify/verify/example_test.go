package verify_test

import (
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/certify/verify"
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
	rows := verify.RowsOf(train, state)
	check := func() error { return rows.Check(&p.Certificate, func(*certify.Balance) certify.Rows { return rows }) }
	fmt.Println(p.Certificate.Slices[0].Field, "is empty:", p.Certificate.Slices[0].Empty != nil)
	fmt.Println(check())

	delete(p.Certificate.Slices[0].Empty.Rows, "low-reverse")
	fmt.Println(check())
	// Output:
	// pull is empty: true
	// <nil>
	// pull: the rows of a proof do not add up
}
