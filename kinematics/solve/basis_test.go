package solve_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// Every vector of the basis satisfies each mesh and each lock, and there are as
// many vectors as the rank of all these rows leaves free, counted by gonum's
// SVD on the full system.
func TestBasis(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "four-carrier-eight-speed",
		"ravigneaux-four-speed", "hub-fourteen-speed"} {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		sys := solve.Compile(train)
		for r := range train.Ranges {
			for _, sheared := range []bool{false, true} {
				modes := train.In(&train.Ranges[r]).Modes
				if sheared {
					modes[len(modes)-1] = kinematics.Open
				}
				checkBasis(t, sys, modes)
			}
		}
	}
}

func checkBasis(t *testing.T, sys *solve.System, modes []kinematics.Mode) {
	t.Helper()
	train := sys.Train
	members, slips := sys.Basis(modes)

	known := 0
	for i, m := range train.Members {
		if i > 0 && !m.Unknown {
			known++
		}
	}
	var rows [][]float64
	row := func() []float64 {
		rows = append(rows, make([]float64, len(train.Members)))
		return rows[len(rows)-1]
	}
	for _, m := range train.Meshes {
		r := row()
		zb := float64(m.Kind.Sign() * m.ZB)
		scale := float64(m.ZA + m.ZB)
		r[m.A] += float64(m.ZA) / scale
		r[m.B] += zb / scale
		r[m.Carrier] -= (float64(m.ZA) + zb) / scale
	}
	for i, c := range train.Couplings {
		if modes[i] == kinematics.Locked {
			r := row()
			r[c.A]++
			r[c.B]--
		}
	}
	full := mat.NewDense(len(rows), len(train.Members), nil)
	for i, r := range rows {
		r[kinematics.Housing] = 0
		full.SetRow(i, r)
	}
	var svd mat.SVD
	if !svd.Factorize(full, mat.SVDNone) {
		t.Fatal("no singular values")
	}
	k := 0
	if members != nil {
		_, k = members.Dims()
	}
	if want := known - svd.Rank(1e-10); k != want {
		t.Errorf("%s: %d free motions, the rank leaves %d", train.Name, k, want)
	}
	if k == 0 {
		return
	}
	var residual, own mat.Dense
	residual.Mul(full, members)
	if r := mat.Norm(&residual, math.Inf(1)); r > 1e-12 {
		t.Errorf("%s: a mesh or lock is off by %g", train.Name, r)
	}
	own.CloneFrom(slips)
	for i, c := range train.Couplings {
		for j := range k {
			own.Set(i, j, members.At(int(c.A), j)-members.At(int(c.B), j)-slips.At(i, j))
		}
	}
	if r := mat.Norm(&own, math.Inf(1)); r > 1e-12 {
		t.Errorf("%s: a slip is not wA - wB: off by %g", train.Name, r)
	}
}
