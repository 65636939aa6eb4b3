package transient

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/combin"

	"tieup/kinematics"
)

// A body is the train as a mass that moves. Its coordinates y are those in which
// the mass matrix of a step is the unit matrix: with the basis w = B q of the
// motions that are left when all that is rigid for good is locked,
//
//	M = Σ I_m B_mᵀ B_m + I_vehicle B_outᵀ B_out    k×k
//	A = M + h/2 e B_inᵀ B_in = L Lᵀ                y = Lᵀ q
//
// where e is the fall of the input torque with speed, N m s, that the step takes
// at its mean speed. Any speed or slip g q is then (L⁻¹ g)·y.
type body struct {
	k       int
	members [][]float64 // speeds of members: rows of k; the housing's is 0
	slips   [][]float64 // slips of couplings: rows of k
	in, out []float64
	fall    float64 // e
	step    float64 // h, s
	vehicle float64 // inertia at the output, kg m²
}

// errNoInertia is a fault of the data: a motion without energy has no speed.
var errNoInertia = errors.New("a motion of this train moves nothing that has inertia: " +
	"give one of its members an inertia")

// newBody puts masses on the motions that modes leave.
func newBody(s *Shift, modes []kinematics.Mode, fall, h float64) (*body, error) {
	b := &body{fall: fall, step: h, vehicle: s.Vehicle.Inertia()}
	members, slips := s.System.Basis(modes)
	if members == nil {
		b.members, b.slips = make([][]float64, len(s.System.Train.Members)), make([][]float64, len(s.System.Train.Couplings))
		return b, nil
	}
	_, b.k = members.Dims()

	a := mat.NewSymDense(b.k, nil)
	for m, inertia := range s.inertias(modes) {
		a.SymRankOne(a, inertia, members.RowView(m))
	}
	a.SymRankOne(a, b.vehicle, members.RowView(int(s.From.Output)))
	a.SymRankOne(a, h/2*fall, members.RowView(int(s.From.Input)))
	var factor mat.Cholesky
	if !factor.Factorize(a) {
		return nil, errNoInertia
	}
	var l mat.TriDense
	factor.LTo(&l)
	var err error
	if b.members, err = coordinates(&l, members); err == nil {
		b.slips, err = coordinates(&l, slips)
	}
	if err != nil {
		return nil, errNoInertia
	}
	b.in, b.out = b.members[s.From.Input], b.members[s.From.Output]
	return b, nil
}

// coordinates returns L⁻¹ g for every row g of m.
func coordinates(l *mat.TriDense, m *mat.Dense) ([][]float64, error) {
	var x mat.Dense
	if err := x.Solve(l, m.T()); err != nil {
		return nil, err
	}
	n, k := m.Dims()
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = make([]float64, k)
		mat.Col(rows[i], i, &x)
	}
	return rows, nil
}

// energy is the kinetic energy of the motion y, J: of all, and of the vehicle.
func (b *body) energy(y []float64) (all, vehicle float64) {
	if b.k == 0 {
		return 0, 0
	}
	in, out := dot(b.in, y), dot(b.out, y)
	return dot(y, y)/2 - b.step/4*b.fall*in*in, b.vehicle * out * out / 2
}

// maxBases bounds the search of [steepest].
const maxBases = 20_000

// steepest bounds how far speeds can change with the slips that a step leaves
// wrong. The speeds that solve a step are a continuous, piecewise linear
// function of an error δ in the slips; on each piece they change by
// Gᵀ (G Gᵀ)⁻¹ δ for some independent rows G, so |Δy| <= |δ| / σ with σ the least
// singular value of any such G. The least is met on largest independent sets. The
// bound is infinite if those are too many.
func steepest(rows [][]float64) float64 {
	least := math.Inf(1)
	rank := rank(rows)
	if binomial(len(rows), rank) > maxBases {
		return least
	}
	set, chosen := make([][]float64, rank), make([]int, rank)
	for g := combin.NewCombinationGenerator(len(rows), rank); rank > 0 && g.Next(); {
		for k, i := range g.Combination(chosen) {
			set[k] = rows[i]
		}
		if s := leastSingular(set); s > 1e-9 {
			least = min(least, s)
		}
	}
	return 1 / least
}

func rank(rows [][]float64) int {
	if len(rows) == 0 || len(rows[0]) == 0 {
		return 0
	}
	var svd mat.SVD
	svd.Factorize(dense(rows), mat.SVDNone)
	return svd.Rank(1e-9)
}

func leastSingular(rows [][]float64) float64 {
	var svd mat.SVD
	if !svd.Factorize(dense(rows), mat.SVDNone) {
		return 0
	}
	values := svd.Values(nil)
	return values[len(values)-1]
}

func dense(rows [][]float64) *mat.Dense {
	m := mat.NewDense(len(rows), len(rows[0]), nil)
	for i, r := range rows {
		m.SetRow(i, r)
	}
	return m
}
