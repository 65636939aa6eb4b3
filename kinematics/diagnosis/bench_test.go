package diagnosis_test

import (
	"fmt"
	"testing"
	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
)

func BenchmarkDiagnose(b *testing.B) {
	for _, n := range []string{"overdrive-simpson-four-speed", "four-carrier-eight-speed"} {
		tr, err := gearsets.Library(n)
		if err != nil {
			b.Fatal(err)
		}
		_ = kinematics.Open
		var seen []diagnosis.Observation
		for i := range tr.Ranges {
			o, err := diagnosis.Parse(tr, tr.Ranges[i].Name, []string{"none", "bind", "forward"}[i%3])
			if err != nil {
				b.Fatal(err)
			}
			seen = append(seen, o...)
		}
		b.Run(n, func(b *testing.B) {
			for b.Loop() {
				sys := solve.Compile(tr)
				f := diagnosis.New(sys, diagnosis.Default())
				a := f.Diagnose(&diagnosis.Case{Train: tr, Seen: seen, Assume: diagnosis.Default()}, diagnosis.Options{})
				if len(a.Groups) == 0 {
					b.Fatal()
				}
				_ = fmt.Sprint
			}
		})
	}
}
