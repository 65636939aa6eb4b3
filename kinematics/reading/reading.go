package reading

import (
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Reading is a state in words.
type Reading struct {
	Pull  string // "drives forward at 2.45", "no drive", "ties up"
	Coast string // "engine brakes", "freewheels", "does not roll"
}

// Of puts an outcome of a state of t in words.
func Of(t *kinematics.Train, o solve.Outcome) Reading { panic("todo") }
