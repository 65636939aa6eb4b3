package solve

import (
	"math/big"

	"tieup/kinematics/internal/exact"
)

// FracOf returns n/d in lowest terms. It panics if d is 0.
func FracOf(n, d int64) Frac { return exact.NewFrac(n, d) }

// RatFrac returns r as a Frac. r must not be changed afterwards.
func RatFrac(r *big.Rat) Frac { return exact.FromRat(r) }
