package shift_test

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

// TestHoleByHand works out the shifts of a Simpson train (ring/sun 2.2) on paper.
//
// D1 to D2: in D1 the shell turns at -121/135; intermediate carries 1/2.2 = 5/11 in
// D2, and holds the shell against turning back, which is the way it slips. Output
// torque 27/11 (1 - 5/11 x 121/135) = 27/11 x 16/27 = 16/11, the ratio of D2, where
// the roller lets go by itself.
//
// D2 to D3: in D2 the shell stands, so direct slips at 1; it carries 1/3.2 = 5/16 in
// D3. At handover 16/11 x 11/16 = 1. At its rating of 1.5, held on to by the band,
// 16/11 (1 - 1.5) = -8/11: the wheels are braked.
//
// D3 to D2: the shell turns forward with all else, so intermediate brakes it, where
// in D2 it must hold it from turning back: no handover. At its rating of
// 1.5 x 5/11 = 15/22 the output is down to 1 - 15/22 = 7/22.
func TestHoleByHand(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	f := shift.NewPredictor(solve.Compile(train))
	for _, c := range []struct {
		from, to         string
		onComing, torque string
		first, handover  string // no handover if ""
		letsGo           bool
		fullTorque, full string
		least            string
	}{
		{"D1", "D2", "intermediate", "5/11", "27/11", "16/11", true, "15/22", "21/22", "16/11"},
		{"D2", "D3", "direct", "5/16", "16/11", "1", false, "3/2", "-8/11", "-8/11"},
		{"D3", "D2", "intermediate", "5/11", "1", "", false, "15/22", "7/22", "7/22"},
	} {
		h := f.Shift(context.Background(), pair(t, train, c.from, c.to)).Hole
		if h == nil || len(h.OnComing) != 1 {
			t.Fatalf("%s to %s: %+v", c.from, c.to, h)
		}
		if name := train.Couplings[h.OnComing[0]].Name; name != c.onComing || h.Torque[0].String() != c.torque || h.FullTorque[0].String() != c.fullTorque {
			t.Errorf("%s to %s: %s carries %v, at its rating %v", c.from, c.to, name, h.Torque, h.FullTorque)
		}
		if h.From.String() != c.first || h.HandsOver != (c.handover != "") || h.HandsOver && h.Handover.String() != c.handover || h.LetsGo != c.letsGo {
			t.Errorf("%s to %s: from %v, handover %t %v, lets go %t", c.from, c.to, h.From, h.HandsOver, h.Handover, h.LetsGo)
		}
		if h.Full.String() != c.full || h.Least.String() != c.least {
			t.Errorf("%s to %s: %v at the rating, least %v", c.from, c.to, h.Full, h.Least)
		}
	}
	for _, none := range [][2]string{{"N", "D1"}, {"D1", "L1"}, {"R", "N"}} {
		if h := f.Shift(context.Background(), pair(t, train, none[0], none[1])).Hole; h != nil {
			t.Errorf("%s to %s has a hole: %+v", none[0], none[1], h)
		}
	}
}

func pair(t *testing.T, train *kinematics.Train, from, to string) shift.Pair {
	t.Helper()
	a, okA := train.Range(from)
	b, okB := train.Range(to)
	if !okA || !okB {
		t.Fatalf("no range %s or %s", from, to)
	}
	return shift.Pair{From: a, To: b}
}

// TestHoleByEquilibrium computes the output torque of every shift of the library
// from the equilibrium of all members, by singular values: tooth loads, splines and
// whatever holds are unknown, the on-coming elements push against their slip.
func TestHoleByEquilibrium(t *testing.T) {
	holes, handovers, several := 0, 0, 0
	for _, name := range gearsets.Names() {
		train := library(t, name)
		sys := solve.Compile(train)
		f := shift.NewPredictor(sys)
		for _, p := range f.Pairs() {
			s := f.Shift(context.Background(), p)
			h := s.Hole
			if h == nil {
				continue
			}
			first := sys.Motion(train.In(&train.Ranges[p.From]))
			slips := make([]float64, len(h.OnComing))
			fixed := true
			for k, i := range h.OnComing {
				slips[k] = first.Slips[i].Float
				fixed = fixed && !math.IsNaN(slips[k])
			}
			if !fixed { // a race between a brake and a one-way clutch
				continue
			}
			holes++
			if h.HandsOver {
				handovers++
			}
			if len(h.OnComing) > 1 {
				several++
			}
			for _, c := range []struct {
				torques []exact.Frac
				want    exact.Frac
				there   bool
			}{
				{make([]exact.Frac, len(h.OnComing)), h.From, true},
				{h.Torque, h.Handover, h.HandsOver},
				{h.FullTorque, h.Full, h.Rated},
			} {
				if !c.there {
					continue
				}
				push := map[int]float64{}
				for k, i := range h.OnComing {
					x := 0.0
					if c.torques[k].Sign() != 0 {
						x = c.torques[k].Float()
					}
					push[i] = -math.Copysign(x, slips[k])
				}
				got := outputTorque(t, train, first, push)
				if math.Abs(got-c.want.Float()) > 1e-9 {
					t.Errorf("%s, %s: output torque %v, by equilibrium %v", name, s.Name(), c.want.Float(), got)
				}
			}
		}
	}
	t.Logf("%d holes, %d with a handover, %d with several on-coming elements", holes, handovers, several)
	if holes < 60 || handovers < 20 {
		t.Errorf("only %d holes, %d with a handover", holes, handovers)
	}
}

// outputTorque is the size of the torque at the output, along its motion, that
// balances a unit input torque and pushes on the first members of couplings.
func outputTorque(t *testing.T, train *kinematics.Train, m *solve.Motion, push map[int]float64) float64 {
	t.Helper()
	n := len(train.Members)
	var columns [][]float64
	column := func(pairs ...float64) {
		c := make([]float64, n)
		for i := 0; i < len(pairs); i += 2 {
			c[int(pairs[i])] += pairs[i+1]
		}
		columns = append(columns, c)
	}
	column(float64(m.State.Output), 1)
	for _, mesh := range train.Meshes {
		za, zb := float64(mesh.ZA), float64(mesh.ZB)
		if mesh.Kind != kinematics.External {
			zb = -zb
		}
		column(float64(mesh.A), za, float64(mesh.B), zb, float64(mesh.Carrier), -za-zb)
	}
	right := make([]float64, n)
	right[m.State.Input] = -1
	for i, c := range train.Couplings {
		if x, pushes := push[i]; pushes {
			right[c.A] -= x
			right[c.B] += x
			continue
		}
		switch m.States[i] {
		case solve.StateLocked, solve.StateHolding:
			column(float64(c.A), 1, float64(c.B), -1)
		}
	}
	var rows []int
	for i := range n {
		if i != int(kinematics.Housing) && !train.Members[i].Unknown {
			rows = append(rows, i)
		}
	}
	a, b := mat.NewDense(len(rows), len(columns), nil), mat.NewVecDense(len(rows), nil)
	for r, i := range rows {
		b.SetVec(r, right[i])
		for j, c := range columns {
			a.Set(r, j, c[i])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		t.Fatal("no singular values")
	}
	var x mat.VecDense
	svd.SolveVecTo(&x, b, svd.Rank(1e-11))
	var rest mat.VecDense
	rest.MulVec(a, &x)
	rest.SubVec(&rest, b)
	if mat.Norm(&rest, 2) > 1e-9 {
		t.Fatalf("%s: no equilibrium", train.Name)
	}
	out, _ := m.Members[m.State.Output].Point()
	return -x.AtVec(0) * math.Copysign(1, out.Float())
}
