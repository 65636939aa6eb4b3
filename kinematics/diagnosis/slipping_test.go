package diagnosis_test

import (
	"fmt"
	"strings"
	"testing"

	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// The slip of the elements of a commanded range follows from every speed that is given.
// The expected figures are worked by hand with the equation of a simple set,
// (1 + s) wCarrier = wRing + s wSun with s = sun/ring (Willis 1841), s = 35/73 in front and
// behind of the three-speed and 30/66 of the shuttle.
func TestSlipping(t *testing.T) {
	for _, c := range []struct {
		train, commanded string
		speeds           string
		want             string
	}{
		// The front ring turns 1217 (108/73) = 1800: forward slips by 800 to 2600.
		{"simpson-three-speed", "D2", "turbine 2600, output-shaft 1217, sun-shell 0", "forward 800"},
		// Without the speed of the shell it is that, or the shell runs back: (1217 (108/73) - 2600) 73/35 = -1668.
		{"simpson-three-speed", "D2", "turbine 2600, output-shaft 1217", "either forward 800+ or intermediate 1668+"},
		// Direct drive at 2200 of 2600: with the shell at 2200 the front ring does 2200, too.
		{"depot-shuttle-three-speed", "D3", "turbine +2600, output-shaft +2200, sun-shell +2200", "forward 400, direct 400"},
		{"depot-shuttle-three-speed", "D3", "turbine +2600, output-shaft +2200, sun-shell +2600", "forward 582, direct 0"},
		// Without signs the shell may turn either way: forward by 400, or by 1600 the other way.
		{"depot-shuttle-three-speed", "D3", "turbine 2600, output-shaft 2200, sun-shell 2200", "bounds forward 400 to 1600, direct 400 to 4800"},
	} {
		train := library(t, c.train)
		m := diagnosis.Readings{Tolerance: exact.NewFrac(1, 100), Signed: strings.Contains(c.speeds, "+")}
		for part := range strings.SplitSeq(c.speeds, ", ") {
			var name string
			var speed int64
			fmt.Sscan(part, &name, &speed)
			id, ok := train.Member(name)
			if !ok {
				t.Fatalf("no member %s", name)
			}
			m.Speeds = append(m.Speeds, diagnosis.Measured{Member: id, Speed: exact.Int(speed)})
		}
		r, err := train.FindRange(c.commanded)
		if err != nil {
			t.Fatal(err)
		}
		x := diagnosis.SlippingOf(solve.Compile(train), m, r)
		var settled, either []string
		text := func(s diagnosis.ElementSlip) string {
			more := "+"
			if _, one := s.Speed(); one {
				more = ""
			}
			return fmt.Sprintf("%s %.0f%s", train.Couplings[s.Element].Name, s.Least.Frac.Float(), more)
		}
		for _, s := range x.Settled {
			settled = append(settled, text(s))
		}
		for _, s := range x.Either {
			either = append(either, text(s))
		}
		got := strings.Join(settled, ", ")
		if got == "" && len(either) == 0 {
			for i, s := range x.Bounded {
				got += []string{"bounds ", ", "}[min(i, 1)] + fmt.Sprintf("%s %.0f to %.0f", train.Couplings[s.Element].Name, s.Least.Frac.Float(), s.Most.Frac.Float())
			}
		}
		if len(either) > 0 {
			got = "either " + strings.Join(either, " or ")
		}
		if got != c.want {
			t.Errorf("%s: %s in %s: %s, want %s", c.train, c.speeds, c.commanded, got, c.want)
		}
	}
}
