package analysis_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// Every answer cautions in the words of what the train is built into, and in no others'.
func TestCautionsByUse(t *testing.T) {
	rows := []struct {
		use               kinematics.Use
		train, rng, fault string
		caution           string // as it begins: common practice, no source
	}{
		{kinematics.InVehicle, "depot-shuttle-three-speed", "N", "forward=stuck", "The vehicle can move when it should not"},
		{kinematics.InVehicle, "depot-shuttle-three-speed", "R", "forward=stuck", "The wheels can lock without warning"},
		{kinematics.InCycle, "hub-three-speed", "normal", "carrier-pawls=seized", "The wheel or the cranks can lock"},
		{kinematics.InHoist, "stepped-pinion-winch", "haul", "band=open", "The load can fall: set it down"},
		{kinematics.InHoist, "stepped-pinion-winch", "free", "band=stuck", "The drum can turn when it should not"},
		{kinematics.InMachine, "simple-planetary", "reduction", "sun-brake=stuck", "The train can lock without warning"},
	}
	for _, row := range rows {
		train := gearsets.MustLibrary(row.train)
		if train.Use != row.use {
			t.Errorf("%s is built into %v, want %v", row.train, train.Use, row.use)
		}
		i, err := train.FindRange(row.rng)
		if err != nil {
			t.Fatal(err)
		}
		a, r, under := analysis.Open(train), &train.Ranges[i], analysis.Under(train.MustFault(row.fault))
		q := analysis.Question{Ranges: []kinematics.Range{*r}, Condition: under}
		verdict, err := a.Verdict(i, under)
		if err != nil {
			t.Fatal(err)
		}
		said := map[string][]string{"Verdict": verdict.Cautions}
		solved, err := a.Solve(t.Context(), analysis.SolveQuestion{Question: q})
		if err != nil {
			t.Fatal(err)
		}
		said["Solve"] = solved.Cautions
		why, err := a.Why(t.Context(), r, under)
		if err != nil {
			t.Fatal(err)
		}
		said["Why"] = why.Cautions
		chart, err := a.Chart(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		said["Chart"] = chart.Cautions

		for answer, cautions := range said {
			begins := func(text string) bool {
				return slices.ContainsFunc(cautions, func(c string) bool { return strings.HasPrefix(c, "Caution: "+text) })
			}
			if !begins(row.caution) {
				t.Errorf("%s of %s %s with %s does not say %q: %q", answer, row.train, row.rng, row.fault, row.caution, cautions)
			}
			for _, other := range rows {
				if other.use != row.use && begins(other.caution) {
					t.Errorf("%s of %s %s with %s says %q: %q", answer, row.train, row.rng, row.fault, other.caution, cautions)
				}
			}
		}
	}
}
