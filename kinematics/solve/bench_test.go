package solve_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// The trains that are swept: every combination of clutches, brakes and bands,
// the one-way clutches acting. gonum's linear programs return on each of them;
// on others they can fail or run for ever (gonum issue 1914), so a train is
// added here only when [TestGeneralPurpose] has been seen to pass on it.
var sweeps = []struct {
	name  string
	train func(testing.TB) *kinematics.Train
}{
	{"EightSpeed", eightSpeed},
	{"OverdriveSimpson", overdriveSimpson},
}

// combinations returns the states of all combinations. One-way clutches stand
// last in these trains.
func combinations(t *kinematics.Train) []kinematics.State {
	n := 0
	for n < t.ElementCount && t.Couplings[n].Kind != kinematics.OneWay {
		n++
	}
	states := make([]kinematics.State, 1<<n)
	for bits := range states {
		var applied []int
		for i := range n {
			if bits>>i&1 != 0 {
				applied = append(applied, i)
			}
		}
		states[bits] = t.Applying(applied...)
	}
	return states
}

// perState adds time per state and states per second to a benchmark that
// evaluates n states an iteration.
func perState(b *testing.B, n int) {
	d := b.Elapsed() / time.Duration(b.N)
	b.ReportMetric(float64(d.Nanoseconds())/float64(n), "ns/state")
	b.ReportMetric(float64(n)/d.Seconds(), "states/s")
}

func BenchmarkOutcome(b *testing.B) {
	for _, s := range sweeps {
		train := s.train(b)
		states := combinations(train)
		k := solve.Compile(train).Kernel()
		b.Run(fmt.Sprintf("%s%d", s.name, len(states)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for _, st := range states {
					k.Outcome(st)
				}
			}
			perState(b, len(states))
		})
	}
}

// TestOutcomeDoesNotAllocate holds for the trains that are swept.
func TestOutcomeDoesNotAllocate(t *testing.T) {
	for _, s := range sweeps {
		train := s.train(t)
		states := combinations(train)
		k := solve.Compile(train).Kernel()
		if n := testing.AllocsPerRun(10, func() {
			for _, st := range states {
				k.Outcome(st)
			}
		}); n != 0 {
			t.Errorf("%s: %v allocations for %d states", s.name, n, len(states))
		}
		if k.Fallbacks() != 0 {
			t.Errorf("%s: %d evaluations left int64", s.name, k.Fallbacks())
		}
	}
}

// BenchmarkGeneralPurpose is the same sweep as [BenchmarkOutcome] by the means
// that are at hand, so that the two can be compared in one run: the rank of the
// whole system by singular values alone, and with every bound by a linear program.
func BenchmarkGeneralPurpose(b *testing.B) {
	for _, s := range sweeps {
		train := s.train(b)
		states := combinations(train)
		b.Run(fmt.Sprintf("%s%d/SVD", s.name, len(states)), func(b *testing.B) {
			for b.Loop() {
				for _, st := range states {
					floatRank(train, func(i int) bool { return st.Modes[i] == kinematics.Locked })
				}
			}
			perState(b, len(states))
		})
		b.Run(fmt.Sprintf("%s%d/SVDAndLP", s.name, len(states)), func(b *testing.B) {
			for b.Loop() {
				for _, st := range states {
					if _, err := generalPurpose(train, st); err != nil {
						b.Fatal(err)
					}
				}
			}
			perState(b, len(states))
		})
	}
}

func BenchmarkMotion(b *testing.B) {
	for _, s := range sweeps {
		train := s.train(b)
		sys := solve.Compile(train)
		states := combinations(train)
		b.Run(s.name, func(b *testing.B) {
			for b.Loop() {
				for _, st := range states {
					sys.Motion(st)
				}
			}
			perState(b, len(states))
		})
	}
}

func BenchmarkCompile(b *testing.B) {
	for _, s := range sweeps {
		train := s.train(b)
		b.Run(s.name, func(b *testing.B) {
			for b.Loop() {
				solve.Compile(train)
			}
		})
	}
}

// bounds are the ends of an interval in floats; NaN twice for an empty one.
type bounds struct{ lo, hi float64 }

// floatOutcome is what general-purpose means find out about a state.
type floatOutcome struct {
	mobility                          int
	pull, coastForward, coastBackward bounds
}

// generalPurpose does with gonum what anyone would: the rank of the whole
// system by singular values, and every bound as a linear program.
func generalPurpose(t *kinematics.Train, st kinematics.State) (floatOutcome, error) {
	locked := func(i int) bool { return st.Modes[i] == kinematics.Locked }
	rank, columns := floatRank(t, locked)
	o := floatOutcome{mobility: columns - rank}
	var err error
	if o.pull, err = floatSlice(t, st, st.Output, st.Input, 1); err != nil {
		return o, fmt.Errorf("pull: %w", err)
	}
	if o.coastForward, err = floatSlice(t, st, st.Input, st.Output, 1); err != nil {
		return o, fmt.Errorf("coast forward: %w", err)
	}
	if o.coastBackward, err = floatSlice(t, st, st.Input, st.Output, -1); err != nil {
		return o, fmt.Errorf("coast backward: %w", err)
	}
	return o, nil
}

// floatSlice bounds the speed of one member while another turns at v.
func floatSlice(t *kinematics.Train, st kinematics.State, of, by kinematics.MemberID, v float64) (bounds, error) {
	a, rhs, c := program(t, st, of, by, v)
	if a == nil {
		return bounds{math.NaN(), math.NaN()}, nil // the equations alone contradict
	}
	end := func(sign float64) (float64, error) {
		signed := make([]float64, len(c))
		for i := range c {
			signed[i] = sign * c[i]
		}
		x, _, err := lp.Simplex(signed, a, rhs, 1e-10, nil)
		switch {
		case errors.Is(err, lp.ErrInfeasible):
			return math.NaN(), nil
		case errors.Is(err, lp.ErrUnbounded):
			return math.Inf(-int(sign)), nil
		}
		return sign * x, err
	}
	lo, err := end(1)
	if err != nil {
		return bounds{}, err
	}
	hi, err := end(-1)
	return bounds{lo, hi}, err
}

// program writes the motions of a state at which member by turns at v in the
// standard form A x = b, x >= 0: each speed is the difference of two unknowns,
// and each one-way clutch has a slack. c x is the speed of member of. Dependent
// rows and empty columns, which the solver refuses, are left out; A is nil if
// the rows contradict each other.
func program(t *kinematics.Train, st kinematics.State, of, by kinematics.MemberID, v float64) (a *mat.Dense, b,
	c []float64) {
	n := len(t.Members)
	width := 2 * n
	for _, m := range st.Modes {
		if m == kinematics.Overruns || m == kinematics.Reversed {
			width++
		}
	}
	var rows [][]float64
	add := func(row []float64, m kinematics.MemberID, x float64) {
		if m != kinematics.Housing {
			row[2*m] += x
			row[2*m+1] -= x
		}
	}
	begin := func() []float64 {
		rows = append(rows, make([]float64, width+1))
		return rows[len(rows)-1]
	}
	for _, m := range t.Meshes {
		scale := float64(max(m.ZA, m.ZB))
		za, zb := float64(m.ZA)/scale, float64(m.Kind.Sign()*m.ZB)/scale
		row := begin()
		add(row, m.A, za)
		add(row, m.B, zb)
		add(row, m.Carrier, -za-zb)
	}
	slack := 2 * n
	for i, k := range t.Couplings {
		if st.Modes[i] == kinematics.Open {
			continue
		}
		row := begin()
		add(row, k.A, 1)
		add(row, k.B, -1)
		if st.Modes[i] != kinematics.Locked {
			row[slack] = -1
			if st.Modes[i] == kinematics.Reversed {
				row[slack] = 1
			}
			slack++
		}
	}
	row := begin()
	add(row, by, 1)
	row[width] = v

	rows, ok := independent(rows)
	if !ok {
		return nil, nil, nil
	}
	var used []int
	for j := range width {
		for _, r := range rows {
			if r[j] != 0 {
				used = append(used, j)
				break
			}
		}
	}
	a = mat.NewDense(len(rows), len(used), nil)
	b, c = make([]float64, len(rows)), make([]float64, len(used))
	for i, r := range rows {
		b[i] = r[width]
		for k, j := range used {
			a.Set(i, k, r[j])
		}
	}
	for k, j := range used {
		switch j {
		case 2 * int(of):
			c[k] = 1
		case 2*int(of) + 1:
			c[k] = -1
		}
	}
	return a, b, c
}

// independent keeps the rows that are not combinations of those before, by
// Gram and Schmidt. It returns false if such a combination has another right
// hand side, which stands last in a row.
func independent(rows [][]float64) (kept [][]float64, ok bool) {
	const zero = 1e-9
	dot := func(x, y []float64) (s float64) {
		for i := range x[:len(x)-1] {
			s += x[i] * y[i]
		}
		return s
	}
	var base [][]float64
	for _, r := range rows {
		rest := append([]float64(nil), r...)
		for range 2 { // twice is enough (from memory)
			for _, q := range base {
				k := dot(rest, q)
				for i := range rest {
					rest[i] -= k * q[i]
				}
			}
		}
		length := math.Sqrt(dot(rest, rest))
		if length < zero {
			if math.Abs(rest[len(rest)-1]) > zero {
				return nil, false
			}
			continue
		}
		for i := range rest {
			rest[i] /= length
		}
		base = append(base, rest)
		kept = append(kept, r)
	}
	return kept, true
}

// TestGeneralPurpose makes sure that the benchmark compares like with like: on
// every state swept gonum finds the engine's bounds.
func TestGeneralPurpose(t *testing.T) {
	agree := func(f bounds, i exact.Interval) bool {
		if i.Empty || math.IsNaN(f.lo) || math.IsNaN(f.hi) {
			return i.Empty && math.IsNaN(f.lo) && math.IsNaN(f.hi)
		}
		end := func(f float64, b exact.Bound) bool {
			if b.Inf != 0 || math.IsInf(f, 0) {
				return math.IsInf(f, int(b.Inf)) && b.Inf != 0
			}
			return math.Abs(f-b.Float()) < 1e-6
		}
		return end(f.lo, i.Min) && end(f.hi, i.Max)
	}
	for _, s := range sweeps {
		train := s.train(t)
		k := solve.Compile(train).Kernel()
		for bits, st := range combinations(train) {
			f, err := generalPurpose(train, st)
			o := k.Outcome(st)
			if err != nil || !agree(f.pull, o.Pull) || !agree(f.coastForward,
				o.CoastForward) || !agree(f.coastBackward, o.CoastBackward) {
				t.Errorf("%s, combination %b: %s, but by floats %+v, %v", s.name, bits, show(o), f, err)
			}
			if f.mobility != newOracle(train, st).mobility {
				t.Errorf("%s, combination %b: mobility %d by floats", s.name, bits, f.mobility)
			}
		}
	}
}
