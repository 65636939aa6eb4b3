package solve_test

import (
	"fmt"
	"math/big"
	"math/bits"
	"slices"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// motives are the motions asked for, with the member and the sense that each
// means in a train.
var motives = []struct {
	motive solve.Demand
	end    func(t *kinematics.Train, st kinematics.State) (kinematics.MemberID, int64)
}{
	{solve.InputForward, func(_ *kinematics.Train, st kinematics.State) (kinematics.MemberID,
		int64) {
		return st.Input, 1
	}},
	{solve.InputBackward, func(_ *kinematics.Train, st kinematics.State) (kinematics.MemberID,
		int64) {
		return st.Input, -1
	}},
	{solve.OutputForward, func(t *kinematics.Train, st kinematics.State) (kinematics.MemberID, int64) {
		return st.Output, int64(t.Forward)
	}},
	{solve.OutputBackward, func(t *kinematics.Train, st kinematics.State) (kinematics.MemberID, int64) {
		return st.Output, -int64(t.Forward)
	}},
}

// checkEquilibrium checks the law of virtual power on every motion that the
// meshes alone allow, and that one-way clutches only push.
func checkEquilibrium(t *testing.T, train *kinematics.Train, st kinematics.State, e *solve.Equilibrium) {
	t.Helper()
	released := st.Clone()
	for i := range released.Modes {
		released.Modes[i] = kinematics.Open
	}
	o := newOracle(train, released)
	power := make(affine, o.mobility+1)
	power.addMul(e.Input.Rat(), o.speed[st.Input])
	power.addMul(e.Output.Rat(), o.speed[st.Output])
	var carry []int
	for i, torque := range e.Torque {
		power.addMul(torque.Rat(), o.slip(i))
		sign := torque.Sign()
		if sign != 0 {
			carry = append(carry, i)
		}
		switch mode := st.Modes[i]; {
		case sign == 0, mode == kinematics.Locked:
		case mode == kinematics.Overruns && sign > 0, mode == kinematics.Reversed && sign < 0:
		default:
			t.Errorf("coupling %d carries %v in mode %d", i, torque, mode)
		}
	}
	if !power.constant() || power[o.mobility].Sign() != 0 {
		t.Errorf("input %v, output %v and torques %v do work: %v", e.Input, e.Output, e.Torque, power)
	}
	if !slices.Equal(carry, e.Carry) {
		t.Errorf("%v carry, but the list says %v", carry, e.Carry)
	}
}

// TestConflicts compares the conflicts of random states with all smallest sets
// found by trying every set of couplings with the oracle.
func TestConflicts(t *testing.T) {
	const mostActive = 7
	trains := sampled(150)
	found, several := 0, 0
	for seed := uint64(0); found < trains; seed++ {
		d := seeded(seed)
		train := throwRecipe(d, limits{sets: 3, teeth: 60, oneWay: 4, grounded: true}).must(t)
		st := throwState(d, train)
		var active []int
		for i, m := range st.Modes {
			if m != kinematics.Open {
				active = append(active, i)
			}
		}
		if len(active) > mostActive || st.Input == st.Output {
			continue
		}
		found++
		// impossible[m][set]: with only that set of the active couplings, motive m is impossible.
		impossible := make([][]bool, len(motives))
		for set := range 1 << len(active) {
			some := st.Clone()
			for k, i := range active {
				if set>>k&1 == 0 {
					some.Modes[i] = kinematics.Open
				}
			}
			o := newOracle(train, some)
			for m, motive := range motives {
				end, v := motive.end(train, st)
				impossible[m] = append(impossible[m], o.where(o.speed[end],
					rat(v)).of(o.speed[kinematics.Housing]).empty)
			}
		}
		sys := solve.Compile(train)
		for m, motive := range motives {
			want := map[string]bool{}
			for set, no := range impossible[m] {
				smallest := no
				for rest := set; rest != 0; rest &= rest - 1 {
					smallest = smallest && !impossible[m][set&^(1<<bits.TrailingZeros(uint(rest)))]
				}
				if smallest {
					var members []int
					for k, i := range active {
						if set>>k&1 != 0 {
							members = append(members, i)
						}
					}
					want[fmt.Sprint(members)] = true
				}
			}
			got := map[string]bool{}
			for _, e := range whole(sys.Conflicts(t.Context(), st, motive.motive, solve.Limit{})) {
				checkEquilibrium(t, train, st, &e)
				got[fmt.Sprint(e.Carry)] = true
				end, v := motive.end(train, st)
				atInput, atOutput := e.Input.Rat(), e.Output.Rat()
				if end == st.Output {
					atInput, atOutput = atOutput, atInput
				}
				if atInput.Cmp(rat(v)) != 0 || atOutput.Sign() != 0 {
					t.Errorf("motive %d: torques %v at the input and %v at the output", motive.motive, e.Input,
						e.Output)
				}
			}
			if len(want) > 1 {
				several++
			}
			if fmt.Sprint(got) != fmt.Sprint(want) {
				t.Errorf("motive %d: conflicts %v, by trying all sets %v", motive.motive, got, want)
			}
			if t.Failed() {
				t.Fatalf("seed %d: %s", seed, describe(train, st))
			}
		}
	}
	if several < trains/10 {
		t.Errorf("only %d motions have several conflicts: the generator is too narrow", several)
	}
}

// TestCarrying: a state that drives carries its torque in at least one way, by
// no smaller set than listed, in balance, and power in is power out.
func TestCarrying(t *testing.T) {
	drives := sampled(400)
	found := 0
	for seed := uint64(0); found < drives; seed++ {
		d := seeded(seed)
		train := throwRecipe(d, usual).must(t)
		st := throwState(d, train)
		sys := solve.Compile(train)
		m := sys.Motion(st)
		if !m.Drives() {
			continue
		}
		found++
		ways := whole(sys.Carrying(t.Context(), m, solve.Limit{}))
		if len(ways) == 0 {
			t.Errorf("drives at %v but nothing carries", m.OutputSpeed())
		}
		for i, e := range ways {
			checkEquilibrium(t, train, st, &e)
			power := new(big.Rat).Mul(e.Output.Rat(), m.OutputSpeed().Rat())
			if power.Add(power, e.Input.Rat()).Sign() != 0 || e.Input.Rat().Cmp(rat(1)) != 0 {
				t.Errorf("input torque %v, output torque %v at speed %v", e.Input, e.Output, m.OutputSpeed())
			}
			for k, other := range ways {
				if i != k && subset(other.Carry, e.Carry) {
					t.Errorf("%v carry, but %v do already", e.Carry, other.Carry)
				}
			}
		}
		if t.Failed() {
			t.Fatalf("seed %d: %s", seed, describe(train, st))
		}
	}
}

func subset(a, b []int) bool {
	return !slices.ContainsFunc(a, func(x int) bool { return !slices.Contains(b, x) })
}

// TestSpare: a coupling can be spared exactly if the others leave its slip where
// it would hold it.
func TestSpare(t *testing.T) {
	spared, needed := 0, 0
	for seed := range uint64(400) {
		d := seeded(seed)
		train := throwRecipe(d, limits{sets: 3, teeth: 60, oneWay: 4, grounded: true}).must(t)
		st := throwState(d, train)
		sys := solve.Compile(train)
		for i, mode := range st.Modes {
			without := st.Clone()
			without.Modes[i] = kinematics.Open
			o := newOracle(train, without)
			slip := o.of(o.slip(i))
			want := true
			switch mode {
			case kinematics.Locked:
				want = slip.isZero()
			case kinematics.Overruns:
				want = slip.lo != nil && slip.lo.Sign() >= 0
			case kinematics.Reversed:
				want = slip.hi != nil && slip.hi.Sign() <= 0
			}
			if got := sys.Spare(st, i); got != want {
				t.Fatalf("seed %d: coupling %d can be spared: %v, by the oracle %v (slip %v)\n%s", seed, i, got,
					want, slip, describe(train, st))
			}
			if mode != kinematics.Open && want {
				spared++
			} else if mode != kinematics.Open {
				needed++
			}
		}
	}
	if spared < 100 || needed < 100 {
		t.Errorf("only %d spared and %d needed: the generator is too narrow", spared, needed)
	}
}
