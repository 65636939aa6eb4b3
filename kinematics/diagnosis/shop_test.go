package diagnosis_test

import (
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
)

// What a suspect predicts of the train turned by hand is what the bench of
// package solve says of it: whether it locks, and how far the output turns.
func TestBenchAgreesWithTurning(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "ravigneaux-two-speed", "simpson-transaxle-three-speed"} {
		train := library(t, name)
		b := newBench(train, diagnosis.Default())
		locked, turned, free := 0, 0, 0
		for _, f := range append([]kinematics.Fault{{Coupling: -1}}, train.SingleFaults()...) {
			var faults []kinematics.Fault
			if f.Coupling >= 0 {
				faults = append(faults, f)
			}
			for _, apply := range [][]int{nil, {0}, {1}, {0, 1}, {0, 2}} {
				at := kinematics.Range{Apply: apply, Input: train.Input, Output: train.Output}
				modes := train.In(&at, faults...).Modes
				given := func(input int64, hold bool) []solve.Given {
					list := []solve.Given{{Member: train.Input, Speed: solve.FracOf(input, 1)}}
					if hold {
						list = append(list, solve.Given{Member: train.Output, Speed: solve.FracOf(0, 1)})
					}
					return list
				}
				reply := func(how diagnosis.Turning) diagnosis.Reply {
					return b.all.Reply(&diagnosis.Test{Kind: diagnosis.Bench, Apply: apply, Turning: how}, suspect(faults...))
				}
				for how, speeds := range map[diagnosis.Turning][]solve.Given{
					diagnosis.HeldOutput: given(1, true), diagnosis.BackInput: given(-1, false), diagnosis.FreeOutput: given(1, false),
				} {
					got, want := reply(how), b.sys.Turn(modes, speeds)
					if (got.Key == "locks") != want.Locks {
						t.Errorf("%s %v apply %v, turning %d: %s, but it locks: %v", name, faults, apply, how, got.Text, want.Locks)
					}
					if want.Locks || how != diagnosis.FreeOutput {
						locked++
						continue
					}
					out := want.Members[train.Output]
					if w, one := out.Point(); one {
						turned++
						if key := w.String(); got.Key != key {
							t.Errorf("%s %v apply %v: output %s, want %s", name, faults, apply, got.Key, key)
						}
					} else {
						free++
						if out.HasZero() != (got.Key == "free") {
							t.Errorf("%s %v apply %v: output %s, but bounds %v", name, faults, apply, got.Key, out)
						}
					}
				}
			}
		}
		if locked < 10 || turned < 5 || free < 5 {
			t.Errorf("%s: %d locked, %d turned, %d free: the sample is too small", name, locked, turned, free)
		}
	}
}

// A tap says whether an element is fed, not whether it holds; an element in hand
// shows its own fault and no other.
func TestShopReplies(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	direct, _ := train.Element("direct")
	d1, _ := train.Range("D1")
	d3, _ := train.Range("D3")
	for _, c := range []struct {
		kind  diagnosis.TestKind
		r     int
		fault string
		want  string
	}{
		{diagnosis.PressureAt, d3, "roller=seized", "full pressure"},
		{diagnosis.PressureAt, d1, "roller=seized", "no pressure"},
		{diagnosis.PressureAt, d1, "direct=stuck", "no pressure"},      // stuck by itself
		{diagnosis.PressureAt, d1, "direct=stuck@D1", "full pressure"}, // applied where it should not be
		{diagnosis.PressureAt, d3, "direct=open@D3", "no pressure"},
		{diagnosis.PressureAt, d3, "direct=open", ""}, // the element or its feed
		{diagnosis.Air, d3, "direct=open", ""},
		{diagnosis.Air, d3, "direct=stuck", "applies and lets go"},
		{diagnosis.Air, d3, "roller=slips", "applies and lets go"},
		{diagnosis.Element, d3, "direct=stuck", "does not let go"},
		{diagnosis.Element, d3, "direct=stuck@R", "good"},
		{diagnosis.Element, d3, "roller=seized", "good"},
	} {
		x := diagnosis.Test{Kind: c.kind, Range: c.r, Coupling: direct}
		if got := b.all.Reply(&x, suspect(fault(t, train, c.fault))).Text; got != c.want {
			t.Errorf("%s, %s: %q, want %q", x.Text(train), c.fault, got, c.want)
		}
	}
}

// Every test that can move a vehicle, throw oil or hurt a hand has its caution.
func TestEveryTestHasItsCaution(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	a := newBench(train, diagnosis.Default()).all
	kinds := map[diagnosis.TestKind]bool{}
	for _, p := range a.Split(10000, nil) {
		kinds[p.Kind] = true
		if lines := a.TestCautions([]diagnosis.Proposal{p}); len(lines) < 2 {
			t.Errorf("no caution for: %s", p.Test.Text(train))
		}
	}
	if len(kinds) < 9 {
		t.Errorf("only %d kinds of test tell anything", len(kinds))
	}
	if len(a.TestCautions(nil)) != 0 {
		t.Error("cautions for no test")
	}
}
