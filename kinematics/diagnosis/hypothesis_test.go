package diagnosis_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics/diagnosis"
)

// The hypotheses of one train, written down by hand: its chart is
//
//	P pawl; R direct, low-reverse; N -; D1 forward; D2 forward, intermediate;
//	D3 forward, direct; L1 forward, low-reverse; positions P R N D L
//
// Intermediate is applied in D2 alone, so that off in D2 is the same as never fed.
func TestHypotheses(t *testing.T) {
	want := strings.Split(`nothing wrong
low pressure
no pressure
lever one place back
lever one place further
D always gives D1
D always gives D2
D always gives D3
D1 gives D2
D1 gives D3
D2 gives D1
D2 gives D3
D3 gives D1
D3 gives D2
forward always fed
forward never fed
forward stuck on
forward never holds
forward weak
forward drags
direct always fed
direct never fed
direct stuck on
direct never holds
direct weak
direct drags
intermediate always fed
intermediate never fed
intermediate stuck on
intermediate never holds
intermediate weak
intermediate drags
low-reverse always fed
low-reverse never fed
low-reverse stuck on
low-reverse never holds
low-reverse weak
low-reverse drags
roller slips
roller seized
roller backwards
pawl missing
sun-shell splines stripped
rear.carrier torn off
front.sun sheared off shell
rear.sun sheared off shell
output-shaft splines stripped
front.carrier sheared off output
rear.ring sheared off output`, "\n")
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	var got []string
	texts := map[string]bool{}
	for _, s := range b.singles() {
		if s.Kind != diagnosis.Controlled { // TestControlHypotheses lists those
			got = append(got, s.Short(train))
		}
		if text := s.Text(train); texts[text] {
			t.Errorf("two hypotheses read %q", text)
		} else {
			texts[text] = true
		}
		if len(s.Causes(train)) == 0 {
			t.Errorf("no causes under %s", s.Text(train))
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// What a lever gives that is one place off: the n-th range of the neighbour for
// the n-th of the position, or its last; nothing beyond the ends.
func TestLeverGives(t *testing.T) {
	train := library(t, "simpson-three-speed") // P R N D[D1 D2 D3] 2[D1 M2] 1[M1]
	b := newBench(train, diagnosis.Default())
	want := map[int]string{
		-1: "the lever is one place off (back): R gives P, N gives R, D1 gives N, D2 gives N, D3 gives N, M1 gives D1, M2 gives D2",
		+1: "the lever is one place off (further): P gives R, R gives N, N gives D1, D2 gives M2, D3 gives M2, M2 gives M1",
	}
	for _, s := range b.singles() {
		if s.Lever != 0 && s.Text(train) != want[s.Lever] {
			t.Errorf("%s\nwant %s", s.Text(train), want[s.Lever])
		}
	}
}

// Where two ranges have other shafts, one is never commanded for the other.
func TestCommandsKeepTheShafts(t *testing.T) {
	for _, train := range withFriction(t) {
		for _, s := range newBench(train, diagnosis.Default()).singles() {
			for r, q := range s.Command {
				if train.Ranges[r].Input != train.Ranges[q].Input || train.Ranges[r].Output != train.Ranges[q].Output {
					t.Errorf("%s: %s", train.Name, s.Text(train))
				}
			}
		}
	}
}
