// Package polyhedra computes polyhedral cones and linear systems over integers.
//
// The work is done in int64 with bounds on the bit lengths that make every
// product and sum safe; where a bound would be exceeded the same computation is
// repeated with math/big.
package polyhedra
