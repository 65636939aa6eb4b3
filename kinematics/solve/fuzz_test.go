package solve_test

import (
	"math/rand/v2"
	"testing"

	"tieup/kinematics/solve"
)

// FuzzSolve reads its input as throws of a die that make a train, a state and
// speeds to turn it with. Nothing may panic, and the answers must be the
// oracle's.
func FuzzSolve(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("a train of one simple set, more or less"))
	for seed := range uint64(64) {
		r := rand.New(rand.NewPCG(seed, 1))
		b := make([]byte, 20+r.IntN(180))
		for i := range b {
			b[i] = byte(r.Uint32())
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		d := fromBytes(b)
		lim := usual
		if d.odds(8) {
			lim.teeth = 100_000
		}
		train := throwRecipe(d, lim).must(t)
		st := throwState(d, train)
		given := throwGiven(d, train)
		sys := solve.Compile(train)
		o := newOracle(train, st)
		a := o.answer()
		compareOutcome(t, a, sys.Kernel().Outcome(st))
		m := sys.Motion(st)
		compareMotion(t, o, a, m)
		compareStates(t, train, a, m)
		r := sys.Turn(st.Modes, given)
		at := turned(train, st.Modes, given, func(int) bool { return true })
		if possible := !at.of(at.speed[0]).empty; r.Locks == possible {
			t.Errorf("turning locks %v, the oracle says possible %v", r.Locks, possible)
		}
		if t.Failed() {
			t.Logf("%s%v", describe(train, st), given)
		}
	})
}
