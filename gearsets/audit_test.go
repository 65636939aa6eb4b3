package gearsets

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"tieup/kinematics"
)

// auditOf audits one gearset, built by f.
func auditOf(t *testing.T, f func(b *kinematics.Builder)) []Finding {
	t.Helper()
	b := kinematics.NewBuilder("test")
	f(b)
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return Audit(train)
}

// states writes the states of a condition: "ok warning".
func states(all []Finding, c Condition) string {
	var s []string
	for _, f := range all {
		if f.Condition == c {
			s = append(s, f.State.String())
		}
	}
	return strings.Join(s, " ")
}

// TestAuditSimple holds the three conditions against numbers worked out by hand
// from equations 13-5, 13-7 and 13-9 of source 1 of the package comment. The
// tooth counts are invented.
func TestAuditSimple(t *testing.T) {
	for _, c := range []struct {
		sun, ring, pinion          int64
		n                          int
		shifted                    bool
		coaxial, spacing, clearing string
	}{
		{30, 66, 0, 4, false, "ok", "ok", "ok"},
		{30, 66, 18, 4, false, "ok", "ok", "ok"},
		{30, 62, 18, 4, false, "warning", "ok", "ok"}, // 30 + 36 = 66; 92 / 4 = 23
		{30, 62, 18, 4, true, "excused (profile-shifted)", "ok", "ok"},
		{30, 67, 0, 4, false, "warning", "warning", "not checked"},          // 37 is odd; 97 / 4
		{30, 66, 0, 5, false, "ok", "warning", "ok"},                        // 96 / 5
		{30, 66, 0, 0, false, "ok", "not checked", "not checked"},           // number of pinions not given
		{30, 66, 0, 1, false, "ok", "ok", "ok"},                             // one pinion has no neighbour
		{30, 66, 0, 6, false, "ok", "ok", "ok"},                             // 48 sin 30° = 24 > 20
		{30, 66, 0, 8, false, "ok", "ok", "warning"},                        // 48 sin 22.5° = 18.4 < 20
		{30, 66, 0, 8, true, "ok", "ok", "excused (profile-shifted)"},       // the same, said to be meant
		{12, 48, 18, 4, false, "ok", "ok", "ok"},                            // 30 sin 45° = 21.2 > 20
		{12, 56, 22, 4, false, "ok", "ok", "ok"},                            // 34 sin 45° = 24.04 > 24
		{12, 60, 24, 4, false, "ok", "ok", "warning"},                       // 36 sin 45° = 25.5 < 26
		{16, 50, 18, 4, true, "excused (profile-shifted)", "warning", "ok"}, // 66 / 4; 34 sin 45° = 24 > 20
	} {
		all := auditOf(t, func(b *kinematics.Builder) {
			b.Simple("s", c.sun, c.ring, c.pinion, false)
			b.Last().PinionCount, b.Last().ProfileShifted = c.n, c.shifted
		})
		if got := states(all, Coaxial); got != c.coaxial {
			t.Errorf("%+v: coaxial %s", c, got)
		}
		if got := states(all, Spacing); got != c.spacing {
			t.Errorf("%+v: spacing %s", c, got)
		}
		if got := states(all, Clearance); got != c.clearing {
			t.Errorf("%+v: clearance %s", c, got)
		}
	}
}

// TestInclined: the pitch cones of all steps must share one pinion axis. With 20 and 76
// on 56 it stands at arc cos (56 / 112) = 60 degrees.
func TestInclined(t *testing.T) {
	for _, c := range []struct {
		steps []kinematics.Step
		want  string
		part  string
	}{
		{[]kinematics.Step{{Part: "a", Teeth: 20, PinionTeeth: 56}, {Part: "b", Teeth: 76, PinionTeeth: 56, Right: true},
			{Part: "c", Teeth: 35, PinionTeeth: 24, Right: true}}, "ok", ""},
		{[]kinematics.Step{{Part: "a", Teeth: 20, PinionTeeth: 56}, {Part: "b", Teeth: 76, PinionTeeth: 56, Right: true},
			{Part: "c", Teeth: 30, PinionTeeth: 24}, {Part: "d", Teeth: 54, PinionTeeth: 24, Right: true}}, "ok", ""}, // 24 / 48
		{[]kinematics.Step{{Part: "a", Teeth: 20, PinionTeeth: 56}, {Part: "b", Teeth: 76, PinionTeeth: 56, Right: true},
			{Part: "c", Teeth: 30, PinionTeeth: 24}, {Part: "d", Teeth: 50, PinionTeeth: 24, Right: true}}, "warning", "d"},
		{[]kinematics.Step{{Part: "a", Teeth: 20, PinionTeeth: 25}, {Part: "b", Teeth: 76, PinionTeeth: 25, Right: true}},
			"warning", "b"}, // 56 / 50
		{[]kinematics.Step{{Part: "a", Teeth: 20, PinionTeeth: 56}, {Part: "b", Teeth: 24, PinionTeeth: 56}}, "warning", "b"},
		{[]kinematics.Step{{Part: "a", Teeth: 20, PinionTeeth: 56}, {Part: "b", Teeth: 76, PinionTeeth: 40, Right: true}},
			"not checked", ""},
	} {
		all := auditOf(t, func(b *kinematics.Builder) { b.StepBevels("s", c.steps...) })
		if got := states(all, Coaxial); got != c.want || all[0].Part != c.part {
			t.Errorf("%v: %s at %q, want %s at %q", c.steps, got, all[0].Part, c.want, c.part)
		}
	}
}

// TestAuditSkips sees that nothing is claimed where teeth are not known.
func TestAuditSkips(t *testing.T) {
	all := auditOf(t, func(b *kinematics.Builder) {
		b.Simple("a", 5, 11, 0, true)
		b.DoublePinion("b", 27, 60, 0, 0, false)
		b.Pair("c", 20, 30, kinematics.External, kinematics.HousingName, false)
		b.Bevel("d", 20, 20, 0, false)
	})
	for _, f := range all {
		if f.State != AuditNotChecked || f.Text == "" {
			t.Errorf("gearset %d: %s: %s: %s", f.Gearset, f.Condition, f.State, f.Text)
		}
	}
	if len(all) == 0 {
		t.Error("no finding says that teeth are not known")
	}
}

// TestSpacingPhases holds equal spacing against the phases of the teeth. Turned
// by y (in turns), a pinion at an angle of 1/n turn meshes
//
//	sun of z teeth    with its step p    if p y - z/n is whole,
//	ring of z teeth   with its step p    if p y + z/n is whole,
//
// and all y that suit the first gear are tried on all others: for two to four
// gears, on a plain pinion or on steps.
func TestSpacingPhases(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	yes := 0
	const cases = 4000
	for range cases {
		n := 2 + rng.Int64N(4)
		steps := make([]kinematics.Step, 2+rng.IntN(3))
		for i := range steps {
			p := 2 + rng.Int64N(12)
			if i > 0 && rng.IntN(3) == 0 {
				p = steps[0].PinionTeeth
			}
			steps[i] = kinematics.Step{Part: string(rune('a' + i)), Teeth: n*rng.Int64N(12) + 6*rng.Int64N(5) + 1, PinionTeeth: p, Ring: rng.IntN(2) == 0}
			if steps[i].Ring {
				steps[i].Teeth += p
			}
		}
		fits := false
		signed := func(s kinematics.Step) int64 {
			if s.Ring {
				return -s.Teeth
			}
			return s.Teeth
		}
		// y = (z/n + k) / p for the first gear; the others need q y - z'/n whole,
		// that is q (z + k n) - z' p divisible by p n.
		p := steps[0].PinionTeeth
		for k := int64(0); k < p && !fits; k++ {
			fits = true
			for _, s := range steps[1:] {
				fits = fits && (s.PinionTeeth*(signed(steps[0])+k*n)-signed(s)*p)%(p*n) == 0
			}
		}
		all := auditOf(t, func(b *kinematics.Builder) {
			b.StepPinions("s", steps...)
			b.Last().PinionCount = int(n)
		})
		if got := !strings.Contains(states(all, Spacing), "warning"); got != fits {
			t.Fatalf("%d pinions, %+v: audit %t, phases %t", n, steps, got, fits)
		}
		if fits {
			yes++
		}
	}
	if yes < cases/50 || yes > cases*49/50 {
		t.Errorf("%d of %d sets fit: the test says little", yes, cases)
	}
}

// TestSpacingPairs does the same for pinions that mesh each other: turned by x
// and y, they do if z x + z' y is whole. x is tried in steps of one tooth of
// the first gear, y then follows from the other gear.
func TestSpacingPairs(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	yes := 0
	const cases = 2000
	for range cases {
		n := 2 + rng.Int64N(4)
		sun, inner, outer := 12+rng.Int64N(24), 8+rng.Int64N(8), 8+rng.Int64N(8)
		ring := sun + inner + outer + rng.Int64N(20)
		double := auditOf(t, func(b *kinematics.Builder) {
			b.DoublePinion("s", sun, ring, inner, outer, false)
			b.Last().PinionCount = int(n)
		})
		// Sun and inner: inner x = sun/n + k. Ring and outer: outer y = -ring/n + l.
		// Inner and outer: inner x + outer y whole, whatever k and l.
		fits := (sun-ring)%n == 0
		long := auditOf(t, func(b *kinematics.Builder) {
			b.Ravigneaux("s", kinematics.RavigneauxSet{SunShort: sun, SunLong: sun + 7, Ring: ring + 30, ShortPinion: inner, LongPinion: outer})
			b.Last().PinionCount = int(n)
		})
		// Long pinions are the outer ones; both sun-long and ring mesh them.
		z := ring + 30
		fitsLong := (sun-z)%n == 0 && (sun+7+z)%n == 0 && (sun+sun+7)%n == 0
		if got := !strings.Contains(states(double, Spacing), "warning"); got != fits {
			t.Fatalf("%d pinions, double %d %d: audit %t, phases %t", n, sun, ring, got, fits)
		}
		if got := !strings.Contains(states(long, Spacing), "warning"); got != fitsLong {
			t.Fatalf("%d pinions, Ravigneaux %d %d %d: audit %t, phases %t", n, sun, sun+7, z, got, fitsLong)
		}
		if fits {
			yes++
		}
	}
	if yes == 0 || yes == cases {
		t.Errorf("%d of %d sets fit: the test says little", yes, cases)
	}
}

// TestClearanceDrawn draws double-pinion sets in the plane: axes as complex
// numbers in modules, the outer pinion at the cut of two circles. What touches
// there must be what the audit warns of.
func TestClearanceDrawn(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	seen := map[bool]int{}
	for range 2000 {
		n := 2 + rng.IntN(4)
		sun, inner, outer := 12+rng.Int64N(30), 8+rng.Int64N(20), 8+rng.Int64N(20)
		ring := sun + inner + outer + rng.Int64N(40)
		all := auditOf(t, func(b *kinematics.Builder) {
			b.DoublePinion("s", sun, ring, inner, outer, false)
			b.Last().PinionCount = n
		})
		r := func(z int64) float64 { return float64(z) / 2 }
		a, b, c := r(sun)+r(inner), r(ring)-r(outer), r(inner)+r(outer)
		x := (a*a + b*b - c*c) / (2 * a)
		closes := math.Abs(x) <= b
		if got := states(all, Coaxial) == "ok"; got != closes {
			t.Fatalf("sun %d ring %d inner %d outer %d: coaxial %s, drawn %t", sun, ring, inner, outer, states(all, Coaxial), closes)
		}
		if !closes {
			continue
		}
		var in, out []complex128
		for k := range n {
			turn := cmplx.Rect(1, 2*math.Pi*float64(k)/float64(n))
			in = append(in, complex(a, 0)*turn)
			out = append(out, complex(x, math.Sqrt(b*b-x*x))*turn)
		}
		tip := func(z int64) float64 { return r(z) + 1 }
		clear := b > tip(sun)+tip(outer) && a+tip(inner) < r(ring)-1
		for i := range n {
			for k := range n {
				if i == k {
					continue
				}
				clear = clear && cmplx.Abs(in[i]-in[k]) > 2*tip(inner) && cmplx.Abs(out[i]-out[k]) > 2*tip(outer) &&
					cmplx.Abs(in[i]-out[k]) > tip(inner)+tip(outer)
			}
		}
		if got := !strings.Contains(states(all, Clearance), "warning"); got != clear {
			t.Fatalf("%d x sun %d ring %d inner %d outer %d: audit %t, drawn %t: %+v", n, sun, ring, inner, outer, got, clear, all)
		}
		seen[clear]++
	}
	if seen[true] < 20 || seen[false] < 20 {
		t.Errorf("clear and touching sets: %v", seen)
	}
}
