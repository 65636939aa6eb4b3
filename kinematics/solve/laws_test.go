package solve_test

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Laws hold for any train and state, whatever their teeth: each property below
// throws a train, changes it, and says how the answer must change.

func TestMain(m *testing.M) {
	// Set before the command line is read, so that -rapid.checks still wins.
	if err := flag.Set("rapid.checks", "500"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

func outcome(t *kinematics.Train, st kinematics.State) solve.Outcome {
	return solve.Compile(t).Kernel().Outcome(st)
}

func throwTrainAndState(t *rapid.T) (*kinematics.Train, kinematics.State) {
	d := fromRapid(t)
	train := throwRecipe(d, usual).must(t)
	return train, throwState(d, train)
}

func same(i, j exact.Interval) bool {
	return i.Empty == j.Empty && (i.Empty || i.Min.Cmp(j.Min) == 0 && i.Max.Cmp(j.Max) == 0)
}

// within says whether i is a part of j.
func within(i, j exact.Interval) bool {
	return i.Empty || !j.Empty && i.Min.Cmp(j.Min) >= 0 && i.Max.Cmp(j.Max) <= 0
}

func sameOutcome(a, b solve.Outcome) bool {
	return a.Verdict == b.Verdict && same(a.Pull, b.Pull) &&
		same(a.CoastForward, b.CoastForward) && same(a.CoastBackward, b.CoastBackward) &&
		a.RollsForward == b.RollsForward && a.RollsBackward == b.RollsBackward &&
		a.InputBackward == b.InputBackward && a.Forward == b.Forward
}

// show writes an outcome for a message of failure.
func show(o solve.Outcome) string {
	return fmt.Sprintf("%v, pull %s, coast forward %s, backward %s, rolls %v %v, input backward %v",
		o.Verdict, text(o.Pull), text(o.CoastForward), text(o.CoastBackward), o.RollsForward, o.RollsBackward, o.InputBackward)
}

// A train that no housing holds, all its members locked together, turns as one.
func TestLockedTogetherTurnsAsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := fromRapid(t)
		r := throwRecipe(d, limits{sets: 4, teeth: 110})
		r.elements = nil
		for i := 2; i < len(r.members); i++ { // members[0] is the housing
			r.elements = append(r.elements, elementRecipe{kind: kinematics.Clutch, a: r.members[i-1], b: r.members[i]})
		}
		train := r.must(t)
		all := make([]int, train.ElementCount)
		for i := range all {
			all[i] = i
		}
		m := solve.Compile(train).Motion(train.Applying(all...))
		ratio, drives := m.Ratio()
		if !drives || ratio.Cmp(exact.NewFrac(1, 1)) != 0 {
			t.Fatalf("%s", show(m.Outcome))
		}
		if (m.Verdict == solve.Forward) != (train.Forward > 0) {
			t.Fatalf("output + is vehicle %+d, but the verdict is %v", train.Forward, m.Verdict)
		}
		for i, s := range m.Members[1:] {
			v, one := s.Point()
			if hub := train.Members[i+1]; !hub.Unknown && (!one || v.Cmp(exact.NewFrac(1, 1)) != 0) {
				t.Fatalf("%s turns at %s", hub.Name, text(s.Interval))
			}
		}
	})
}

// permuted returns t with members, meshes, elements and splines in another
// order and under other names, and where each member and coupling went.
func permuted(t *kinematics.Train, d dice) (p *kinematics.Train, member []kinematics.MemberID, coupling []int) {
	shuffle := func(from, to int) []int { // of the numbers from..to-1
		s := make([]int, to-from)
		for i := range s {
			s[i] = from + i
		}
		for i := len(s) - 1; i > 0; i-- {
			j := d(i + 1)
			s[i], s[j] = s[j], s[i]
		}
		return s
	}
	c := *t
	p = &c
	p.Members = make([]kinematics.Member, len(t.Members))
	p.Members[0] = t.Members[0]
	member = append(member, kinematics.Housing)
	for i, to := range shuffle(1, len(t.Members)) {
		member = append(member, kinematics.MemberID(to))
		p.Members[to] = t.Members[i+1]
		p.Members[to].Name = fmt.Sprintf("m%d", to)
	}
	p.Meshes = make([]kinematics.Mesh, len(t.Meshes))
	mesh := shuffle(0, len(t.Meshes))
	for i, m := range t.Meshes {
		m.A, m.B, m.Carrier = member[m.A], member[m.B], member[m.Carrier]
		p.Meshes[mesh[i]] = m
	}
	p.Gearsets = slices.Clone(t.Gearsets)
	for i := range p.Gearsets {
		g := &p.Gearsets[i]
		g.Carrier = member[g.Carrier]
		g.Gears, g.Pinions, g.Meshes = slices.Clone(g.Gears), slices.Clone(g.Pinions), slices.Clone(g.Meshes)
		for k := range g.Gears {
			g.Gears[k].Member = member[g.Gears[k].Member]
		}
		for k := range g.Pinions {
			g.Pinions[k].Member = member[g.Pinions[k].Member]
		}
		for k := range g.Meshes {
			g.Meshes[k] = mesh[g.Meshes[k]]
		}
	}
	coupling = append(shuffle(0, t.ElementCount), shuffle(t.ElementCount, len(t.Couplings))...)
	p.Couplings = make([]kinematics.Coupling, len(t.Couplings))
	for i, k := range t.Couplings {
		k.Name = fmt.Sprintf("c%d", coupling[i])
		k.A, k.B = member[k.A], member[k.B]
		p.Couplings[coupling[i]] = k
	}
	p.Joints = slices.Clone(t.Joints)
	for i := range p.Joints {
		j := &p.Joints[i]
		j.Hub = member[j.Hub]
		j.Members, j.Splines = slices.Clone(j.Members), slices.Clone(j.Splines)
		for k := range j.Members {
			j.Members[k] = member[j.Members[k]]
			if j.Splines[k] >= 0 {
				j.Splines[k] = coupling[j.Splines[k]]
			}
		}
	}
	p.Input, p.Output = member[t.Input], member[t.Output]
	return p, member, coupling
}

// Names and order mean nothing.
func TestPermutedTrainIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		other, member, coupling := permuted(train, fromRapid(t))
		moved := kinematics.State{Input: member[st.Input], Output: member[st.Output],
			Modes: make([]kinematics.Mode, len(st.Modes))}
		for i, m := range st.Modes {
			moved.Modes[coupling[i]] = m
		}
		m, n := solve.Compile(train).Motion(st), solve.Compile(other).Motion(moved)
		if !sameOutcome(m.Outcome, n.Outcome) {
			t.Fatalf("%s\nbecomes\n%s", show(m.Outcome), show(n.Outcome))
		}
		for i := range m.Members {
			if !same(m.Members[i].Interval, n.Members[member[i]].Interval) {
				t.Fatalf("member %d turns at %s, elsewhere at %s", i, text(m.Members[i].Interval),
					text(n.Members[member[i]].Interval))
			}
		}
		for i := range m.Slips {
			if !same(m.Slips[i].Interval, n.Slips[coupling[i]].Interval) || m.States[i] != n.States[coupling[i]] {
				t.Fatalf("coupling %d slips at %s, elsewhere at %s", i, text(m.Slips[i].Interval),
					text(n.Slips[coupling[i]].Interval))
			}
		}
		for i := range m.Groups {
			for k := range m.Groups {
				if (m.Groups[i] == m.Groups[k]) != (n.Groups[member[i]] == n.Groups[member[k]]) {
					t.Fatalf("members %d and %d turn as one only before", i, k)
				}
			}
		}
	})
}

// What holds more allows less.
func TestLockNeverAddsFreedom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		if len(st.Modes) == 0 {
			t.Skip("no coupling")
		}
		d := fromRapid(t)
		i := d(len(st.Modes))
		tighter := st.Clone()
		switch st.Modes[i] {
		case kinematics.Open:
			tighter.Modes[i] = kinematics.Mode(1 + d(3))
		default:
			tighter.Modes[i] = kinematics.Locked
		}
		k := solve.Compile(train).Kernel()
		was, is := k.Outcome(st), k.Outcome(tighter)
		if !within(is.Pull, was.Pull) || !within(is.CoastForward, was.CoastForward) || !within(is.CoastBackward,
			was.CoastBackward) ||
			is.RollsForward && !was.RollsForward || is.RollsBackward && !was.RollsBackward || is.InputBackward && !was.InputBackward {
			t.Fatalf("%s\nbecomes, with coupling %d tighter,\n%s", show(was), i, show(is))
		}
	})
}

// Only ratios of teeth matter.
func TestScaledTeeth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		d := fromRapid(t)
		scaled := *train
		scaled.Meshes = slices.Clone(train.Meshes)
		set, by := d(len(train.Gearsets)), int64(d.between(2, 1000))
		for _, m := range train.Gearsets[set].Meshes {
			scaled.Meshes[m].ZA *= by
			scaled.Meshes[m].ZB *= by
		}
		if a, b := outcome(train, st), outcome(&scaled, st); !sameOutcome(a, b) {
			t.Fatalf("%s\nbecomes, with %d times the teeth,\n%s", show(a), by, show(b))
		}
	})
}

// A train whose one-way clutches are all turned round does forward what it did
// backward: its motions are the negatives.
func TestMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		mirror := st.Clone()
		for i, m := range st.Modes {
			switch m {
			case kinematics.Overruns:
				mirror.Modes[i] = kinematics.Reversed
			case kinematics.Reversed:
				mirror.Modes[i] = kinematics.Overruns
			}
		}
		k := solve.Compile(train).Kernel()
		a, b := k.Outcome(st), k.Outcome(mirror)
		if a.InputBackward == b.Pull.Empty || b.InputBackward == a.Pull.Empty ||
			!same(a.CoastForward, b.CoastBackward.Neg()) || !same(a.CoastBackward, b.CoastForward.Neg()) ||
			a.RollsForward != b.RollsBackward || a.RollsBackward != b.RollsForward {
			t.Fatalf("%s\nmirrored\n%s", show(a), show(b))
		}
	})
}

// Driven from the other end, a train without losses pulls as it coasted, and a
// determinate ratio is inverted.
func TestSwappedEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		k := solve.Compile(train).Kernel()
		swapped := st.Clone()
		swapped.Input, swapped.Output = st.Output, st.Input
		a, b := k.Outcome(st), k.Outcome(swapped)
		// Pull is in the vehicle's sense; coast and the two below are in the input's.
		pull, back, coast := a.Pull, b.Pull, a.CoastForward
		if train.Forward < 0 {
			pull, back, coast = pull.Neg(), back.Neg(), a.CoastBackward
		}
		if !same(coast, back) {
			t.Fatalf("%s\nswapped\n%s", show(a), show(b))
		}
		v, one := pull.Point()
		w, other := back.Point()
		if one && other && v.Sign() > 0 && v.Inv().Cmp(w) != 0 {
			t.Fatalf("pulls at %v, and at %v the other way", v, w)
		}
	})
}

// A member whose spline is sheared might as well not be in the joint.
func TestShearedSpline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := fromRapid(t)
		r := throwRecipe(d, usual)
		var ends []string
		for _, j := range r.joins {
			ends = append(ends, j...)
		}
		ends = slices.DeleteFunc(ends, func(m string) bool { return m == kinematics.HousingName })
		if len(ends) == 0 {
			t.Skip("no joint")
		}
		train := r.must(t)
		st := throwState(d, train)
		for i := train.ElementCount; i < len(st.Modes); i++ {
			st.Modes[i] = kinematics.Locked
		}
		gone := d.pick(ends)
		for j, members := range r.joins {
			if i := slices.Index(members, gone); i >= 0 {
				s, _ := train.Coupling(fmt.Sprintf("j%d:%s", j, gone))
				st.Modes[s] = kinematics.Open
				r.joins[j] = slices.Delete(slices.Clone(members), i, i+1)
			}
		}
		without := r.must(t)
		rest := kinematics.State{Input: throwSame(train, without, st.Input),
			Output: throwSame(train, without, st.Output)}
		rest.Modes = append(rest.Modes, st.Modes[:train.ElementCount]...)
		for len(rest.Modes) < len(without.Couplings) {
			rest.Modes = append(rest.Modes, kinematics.Locked)
		}
		a, b := outcome(train, st), outcome(without, rest)
		if !sameOutcome(a, b) {
			t.Fatalf("%s sheared off: %s\nnot joined: %s", gone, show(a), show(b))
		}
	})
}

// throwSame finds member m of one train in another by its name.
func throwSame(from, to *kinematics.Train, m kinematics.MemberID) kinematics.MemberID {
	i := slices.IndexFunc(to.Members, func(x kinematics.Member) bool { return x.Name == from.Members[m].Name })
	return kinematics.MemberID(i)
}

// floatRank is the rank, by gonum's singular values, of the whole float system:
// a column per known member but the housing, a row per mesh and per coupling
// that locked says is locked.
func floatRank(t *kinematics.Train, locked func(i int) bool) (rank, columns int) {
	column := make([]int, len(t.Members))
	for m := range t.Members {
		column[m] = -1
		if m != int(kinematics.Housing) && !t.Members[m].Unknown {
			column[m] = columns
			columns++
		}
	}
	a := mat.NewDense(len(t.Meshes)+len(t.Couplings), columns, nil)
	add := func(row int, m kinematics.MemberID, v float64) {
		if c := column[m]; c >= 0 {
			a.Set(row, c, a.At(row, c)+v)
		}
	}
	for i, m := range t.Meshes {
		scale := float64(max(m.ZA, m.ZB))
		za, zb := float64(m.ZA)/scale, float64(m.Kind.Sign()*m.ZB)/scale
		add(i, m.A, za)
		add(i, m.B, zb)
		add(i, m.Carrier, -za-zb)
	}
	for i, c := range t.Couplings {
		if locked(i) {
			add(len(t.Meshes)+i, c.A, 1)
			add(len(t.Meshes)+i, c.B, -1)
		}
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDNone) {
		panic("gonum found no singular values")
	}
	const tolerance = 1e-10 // relative to the largest; tooth counts are below 1e3
	return svd.Rank(tolerance), columns
}

// Singular values agree with the exact count of free motions.
func TestMobilityBySingularValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		rank, columns := floatRank(train, func(i int) bool { return train.Couplings[i].Kind == kinematics.Spline })
		if got := solve.Compile(train).Mobility(); got != columns-rank {
			t.Fatalf("mobility %d, by singular values %d", got, columns-rank)
		}
		rank, columns = floatRank(train, func(i int) bool { return st.Modes[i] == kinematics.Locked })
		if got := newOracle(train, st).mobility; got != columns-rank {
			t.Fatalf("the oracle has %d coordinates, by singular values %d", got, columns-rank)
		}
	})
}

// Members are the same exactly when no motion with sound joints tells them apart.
func TestSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := fromRapid(t)
		train := throwRecipe(d, usual).must(t)
		released := train.Applying()
		for i := range train.Couplings[:train.ElementCount] {
			released.Modes[i] = kinematics.Open
		}
		sys, o := solve.Compile(train), newOracle(train, released)
		a, b := throwMember(d, train), throwMember(d, train)
		diff := minus(o.speed[a], o.speed[b])
		if want := diff.constant(); sys.Same(a, b) != want {
			t.Fatalf("members %d and %d the same: %v, want %v", a, b, sys.Same(a, b), want)
		}
	})
}

// Turning input and output as the operating point says gives the motion again.
func TestTurnReproducesMotion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		sys := solve.Compile(train)
		m := sys.Motion(st)
		given := []solve.Given{{Member: st.Input, Speed: exact.NewFrac(int64(m.At.Input), 1)}}
		if !m.At.OutputFree {
			given = append(given, solve.Given{Member: st.Output, Speed: m.At.Output})
		}
		r := sys.Turn(st.Modes, given)
		if r.Locks {
			t.Fatalf("the operating point of %s locks", show(m.Outcome))
		}
		for i := range m.Members {
			if !same(m.Members[i].Interval, r.Members[i].Interval) {
				t.Fatalf("member %d turns at %s, in the motion at %s", i, text(r.Members[i].Interval),
					text(m.Members[i].Interval))
			}
		}
		for i := range m.Slips {
			if !same(m.Slips[i].Interval, r.Slips[i].Interval) {
				t.Fatalf("coupling %d slips at %s, in the motion at %s", i, text(r.Slips[i].Interval),
					text(m.Slips[i].Interval))
			}
		}
	})
}

// throwGiven throws speeds of one to four members.
func throwGiven(d dice, train *kinematics.Train) []solve.Given {
	given := make([]solve.Given, d.between(1, 4))
	for i := range given {
		given[i].Member = throwMember(d, train)
		if !d.odds(3) { // else held
			given[i].Speed = exact.NewFrac(int64(d.between(-40, 40)), int64(d.between(1, 7)))
		} else {
			given[i].Speed = exact.NewFrac(0, 1)
		}
	}
	return given
}

// turned restricts the oracle of the modes to the given speeds that are in use.
func turned(train *kinematics.Train, modes []kinematics.Mode, given []solve.Given, use func(i int) bool) *oracle {
	at := newOracle(train, kinematics.State{Modes: modes})
	for i, g := range given {
		if use(i) {
			at = at.where(at.speed[g.Member], g.Speed.Rat())
		}
	}
	return at
}

// Turning any members, or finding that they lock, agrees with the oracle; what
// fights is a contradiction, and none of it can be left out.
func TestTurn(t *testing.T) {
	locks, turns := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		train, st := throwTrainAndState(rt)
		given := throwGiven(fromRapid(rt), train)
		r := solve.Compile(train).Turn(st.Modes, given)
		at := turned(train, st.Modes, given, func(int) bool { return true })
		possible := !at.of(at.speed[kinematics.Housing]).empty
		if r.Locks == possible {
			rt.Fatalf("locks %v, but the oracle says possible %v\n%s%v", r.Locks, possible, describe(train, st), given)
		}
		if !r.Locks {
			turns++
			compareSpeeds(reporter{t, rt}, at, r.Members, r.Slips)
			if !(r.Residual <= residualLimit*40) {
				rt.Fatalf("residual %g", r.Residual)
			}
			return
		}
		locks++
		checkFight(rt, train, st, given, r)
	})
	if locks == 0 || turns == 0 {
		t.Errorf("%d settings lock and %d turn: one kind was not tested", locks, turns)
	}
}

func checkFight(t *rapid.T, train *kinematics.Train, st kinematics.State, given []solve.Given, r *solve.Turned) {
	// possible leaves out one given speed or one coupling, or none (-1).
	possible := func(speed, coupling int) bool {
		modes := slices.Clone(st.Modes)
		for i := range modes {
			sound := i >= train.ElementCount && st.Modes[i] == kinematics.Locked
			if i == coupling || !slices.Contains(r.FightCouplings, i) && !sound {
				modes[i] = kinematics.Open
			}
		}
		at := turned(train, modes, given, func(i int) bool { return i != speed && slices.Contains(r.Fight, i) })
		return !at.of(at.speed[kinematics.Housing]).empty
	}
	if possible(-1, -1) {
		t.Fatalf("speeds %v and couplings %v do not fight\n%s%v", r.Fight, r.FightCouplings,
			describe(train, st), given)
	}
	for _, i := range r.Fight {
		if !possible(i, -1) {
			t.Fatalf("speed %d is not needed for the fight of %v and %v\n%s%v", i, r.Fight, r.FightCouplings,
				describe(train, st), given)
		}
	}
	for _, i := range r.FightCouplings {
		if !possible(-1, i) {
			t.Fatalf("coupling %d is not needed for the fight of %v and %v\n%s%v", i, r.Fight, r.FightCouplings,
				describe(train, st), given)
		}
	}
}

// A reporter is a testing.TB whose errors end a check of rapid.
type reporter struct {
	testing.TB
	t *rapid.T
}

func (r reporter) Helper()                           {}
func (r reporter) Errorf(format string, args ...any) { r.t.Fatalf(format, args...) }

// Faster turning is the same motion, faster.
func TestTurnScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train, st := throwTrainAndState(t)
		d := fromRapid(t)
		given := throwGiven(d, train)
		by := exact.NewFrac(int64(d.between(1, 50)), int64(d.between(1, 50)))
		faster := slices.Clone(given)
		for i := range faster {
			faster[i].Speed = given[i].Speed.Mul(by)
		}
		sys := solve.Compile(train)
		a, b := sys.Turn(st.Modes, given), sys.Turn(st.Modes, faster)
		if a.Locks != b.Locks {
			t.Fatalf("locks %v, %v times as fast %v", a.Locks, by, b.Locks)
		}
		scaled := func(i exact.Interval) exact.Interval {
			for _, b := range []*exact.Bound{&i.Min, &i.Max} {
				if !i.Empty && b.Inf == 0 {
					b.Frac = b.Frac.Mul(by)
				}
			}
			return i
		}
		for i := range a.Members {
			if !same(scaled(a.Members[i].Interval), b.Members[i].Interval) {
				t.Fatalf("member %d turns at %s, %v times as fast at %s", i, text(a.Members[i].Interval), by,
					text(b.Members[i].Interval))
			}
		}
	})
}
