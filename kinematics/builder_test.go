package kinematics_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics"
)

// twoSets is a train with most of what a train can have.
func twoSets() *kinematics.Builder {
	b := kinematics.NewBuilder("two-sets")
	b.Shaft("turbine", "race")
	b.Simple("front", 30, 66, 18, false)
	b.Simple("rear", 30, 66, 0, false)
	b.Join("shell", "front.sun", "rear.sun")
	b.Element("forward", kinematics.Clutch, "turbine", "front.ring")
	b.Join("output", "front.carrier", "rear.ring")
	b.Element("low", kinematics.Brake, "rear.carrier", kinematics.HousingName)
	b.Element("roller", kinematics.OneWay, "rear.carrier", kinematics.HousingName)
	b.Element("ratchet", kinematics.OneWay, "front.sun", "race").Switched = true
	b.Element("pawl", kinematics.Pawl, "front.carrier", kinematics.HousingName)
	b.Ports("turbine", "front.carrier")
	b.Range("N")
	b.Range("D1", "forward", "ratchet")
	b.Position("D", "D1", "N")
	return b
}

func mustBuild(t *testing.T, b *kinematics.Builder) *kinematics.Train {
	t.Helper()
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

func TestBuilder(t *testing.T) {
	train := mustBuild(t, twoSets())
	check := func(what string, got, want any) {
		t.Helper()
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", what, d)
		}
	}
	check("members", train.MemberNames(), []string{
		"housing", "turbine", "race",
		"front.carrier", "front.sun", "front.ring", "front.pinion",
		"rear.carrier", "rear.sun", "rear.ring", "rear.pinion",
	})
	check("elements", train.ElementNames(), []string{"forward", "low", "roller", "ratchet", "pawl"})
	check("ranges", train.RangeNames(), []string{"N", "D1"})
	check("position", train.Positions, []kinematics.Position{{Name: "D", Ranges: []int{1, 0}}})
	check("drive", train.Drive, kinematics.Converter)
	check("forward", train.Forward, 1)

	// Splines stand behind the elements, and joints and ranges still find theirs.
	if len(train.Couplings) != train.ElementCount+4 {
		t.Errorf("%d couplings, %d elements", len(train.Couplings), train.ElementCount)
	}
	for j, joint := range train.Joints {
		for k, s := range joint.Splines {
			c := train.Couplings[s]
			if c.Kind != kinematics.Spline || c.Joint != j || c.A != joint.Members[k] || c.B != joint.Hub {
				t.Errorf("spline %d of joint %s is %+v", k, joint.Name, c)
			}
		}
	}
	if e, ok := train.Element("shell:front.sun"); ok {
		t.Errorf("a spline is element %d", e)
	}
	if c, ok := train.Coupling("shell:front.sun"); !ok || train.Couplings[c].Kind != kinematics.Spline {
		t.Error("no spline shell:front.sun")
	}
	if m, ok := train.Member("!shell"); ok {
		t.Errorf("the hub of a joint is member %d by name", m)
	}
	d1, _ := train.Range("D1")
	var applied []string
	for _, e := range train.Ranges[d1].Apply {
		applied = append(applied, train.Couplings[e].Name)
	}
	check("D1 applies", applied, []string{"forward", "ratchet"})
}

// rows writes the meshes of a train in the notation of the package comment:
// x external, o internal or chain, and the carrier.
func rows(t *kinematics.Train) []string {
	var list []string
	for _, m := range t.Meshes {
		sign := map[int64]string{1: "x", -1: "o"}[m.Kind.Sign()]
		list = append(list, fmt.Sprintf("%s %d %s %s %d on %s", t.Members[m.A].Name, m.ZA, sign, t.Members[m.B].Name, m.ZB, t.Members[m.Carrier].Name))
	}
	return list
}

// TestKinds checks the rows that each kind of gearset stands for against the
// table in the package comment.
func TestKinds(t *testing.T) {
	for _, c := range []struct {
		name string
		set  func(*kinematics.Builder)
		want []string
	}{
		{"simple", func(b *kinematics.Builder) { b.Simple("s", 30, 66, 17, false) },
			[]string{"s.sun 30 x s.pinion 17 on s.carrier", "s.ring 66 o s.pinion 17 on s.carrier"}},
		{"simple, pinion derived", func(b *kinematics.Builder) { b.Simple("s", 30, 66, 0, false) },
			[]string{"s.sun 30 x s.pinion 18 on s.carrier", "s.ring 66 o s.pinion 18 on s.carrier"}},
		{"simple, no whole pinion", func(b *kinematics.Builder) { b.Simple("s", 30, 67, 0, false) },
			[]string{"s.sun 30 x s.ring 67 on s.carrier"}},
		{"simple, ratio only", func(b *kinematics.Builder) { b.Simple("s", 5, 11, 0, true) },
			[]string{"s.sun 5 x s.ring 11 on s.carrier"}},
		{"double-pinion", func(b *kinematics.Builder) { b.DoublePinion("d", 27, 60, 15, 16, false) },
			[]string{"d.sun 27 x d.inner-pinion 15 on d.carrier", "d.ring 60 o d.outer-pinion 16 on d.carrier", "d.inner-pinion 15 x d.outer-pinion 16 on d.carrier"}},
		{"double-pinion, pinions unknown", func(b *kinematics.Builder) { b.DoublePinion("d", 27, 60, 0, 0, false) },
			[]string{"d.sun 27 o d.ring 60 on d.carrier"}},
		{"ravigneaux", func(b *kinematics.Builder) {
			b.Ravigneaux("r", kinematics.RavigneauxSet{SunShort: 31, SunLong: 38, Ring: 85, ShortPinion: 20, LongPinion: 22})
		}, []string{"r.sun-short 31 x r.short-pinion 20 on r.carrier", "r.sun-long 38 x r.long-pinion 22 on r.carrier",
			"r.ring 85 o r.long-pinion 22 on r.carrier", "r.short-pinion 20 x r.long-pinion 22 on r.carrier"}},
		// Over two external meshes the sense is kept, over three it is turned.
		{"ravigneaux, pinions unknown", func(b *kinematics.Builder) {
			b.Ravigneaux("r", kinematics.RavigneauxSet{SunShort: 31, SunLong: 38, Ring: 85})
		}, []string{"r.sun-short 31 x r.sun-long 38 on r.carrier", "r.sun-short 31 o r.ring 85 on r.carrier"}},
		{"ravigneaux, ratios 5/2 and 9/4", func(b *kinematics.Builder) {
			b.Gearset("r", kinematics.Ravigneaux, kinematics.GearsetSpec{RatioOnly: true,
				Teeth: map[string]int64{"ring": 45, "sun-short": 18, "sun-long": 20}})
		}, []string{"r.sun-short 9 x r.sun-long 10 on r.carrier", "r.sun-short 2 o r.ring 5 on r.carrier"}},
		{"ravigneaux, ring on the short pinions", func(b *kinematics.Builder) {
			b.Ravigneaux("r", kinematics.RavigneauxSet{SunShort: 31, SunLong: 38, Ring: 85, RingOnShort: true})
		}, []string{"r.sun-short 31 x r.sun-long 38 on r.carrier", "r.sun-short 31 x r.ring 85 on r.carrier"}},
		{"stepped", func(b *kinematics.Builder) {
			b.StepPinions("t", kinematics.Step{Part: "slow", Teeth: 21, PinionTeeth: 33}, kinematics.Step{Part: "ring", Teeth: 90, PinionTeeth: 24, Ring: true})
		}, []string{"t.slow 21 x t.pinion 33 on t.carrier", "t.ring 90 o t.pinion 24 on t.carrier"}},
		{"bevel", func(b *kinematics.Builder) { b.Bevel("b", 40, 30, 15, false) },
			[]string{"b.left 40 x b.right 30 on b.carrier"}},
		// in 20 on 56 against held 76 on 56: 20 x 76; against out 35 on 24: 20 x 24 x 35 x 56 = 480 x 1960.
		{"stepped bevel", func(b *kinematics.Builder) {
			b.StepBevels("h", kinematics.Step{Part: "in", Teeth: 20, PinionTeeth: 56},
				kinematics.Step{Part: "held", Teeth: 76, PinionTeeth: 56, Right: true},
				kinematics.Step{Part: "out", Teeth: 35, PinionTeeth: 24, Right: true})
		}, []string{"h.in 5 x h.held 19 on h.carrier", "h.in 12 x h.out 49 on h.carrier"}},
		{"stepped bevel, one side", func(b *kinematics.Builder) {
			b.StepBevels("h", kinematics.Step{Part: "a", Teeth: 30, PinionTeeth: 20}, kinematics.Step{Part: "c", Teeth: 40, PinionTeeth: 10})
		}, []string{"h.a 3 o h.c 8 on h.carrier"}},
		{"pair", func(b *kinematics.Builder) { b.Pair("f", 24, 77, kinematics.External, "housing", false) },
			[]string{"f.a 24 x f.b 77 on housing"}},
		{"chain", func(b *kinematics.Builder) { b.Pair("f", 24, 77, kinematics.Chain, "housing", false) },
			[]string{"f.a 24 o f.b 77 on housing"}},
		{"pairs on a pinion and on a carrier declared later", func(b *kinematics.Builder) {
			b.Simple("s", 30, 66, 18, false)
			b.Pair("f", 12, 48, kinematics.Internal, "s.pinion", false)
			b.Pair("g", 10, 20, kinematics.External, "late.carrier", false)
			b.Simple("late", 5, 11, 0, true)
		}, []string{"s.sun 30 x s.pinion 18 on s.carrier", "s.ring 66 o s.pinion 18 on s.carrier", "f.a 12 o f.b 48 on s.pinion",
			"g.a 10 x g.b 20 on late.carrier", "late.sun 5 x late.ring 11 on late.carrier"}},
	} {
		b := kinematics.NewBuilder("t")
		c.set(b)
		train := mustBuild(t, b)
		if d := cmp.Diff(c.want, rows(train)); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
		for _, g := range train.Gearsets {
			for _, m := range g.Meshes {
				if train.Meshes[m].Gearset < 0 || train.Gearsets[train.Meshes[m].Gearset].Name != g.Name {
					t.Errorf("%s: mesh %d of %s belongs to another set", c.name, m, g.Name)
				}
			}
		}
	}
}

// A pinion whose teeth are not known has no speed, and nothing may hang on it.
func TestUnknownPinions(t *testing.T) {
	b := kinematics.NewBuilder("t")
	b.Simple("s", 5, 11, 0, true)
	b.Bevel("b", 40, 30, 15, false)
	b.Simple("known", 30, 66, 0, false)
	train := mustBuild(t, b)
	for name, want := range map[string]bool{"s.pinion": true, "b.pinion": true, "known.pinion": false, "s.sun": false} {
		m, ok := train.Member(name)
		if !ok || train.Members[m].Unknown != want {
			t.Errorf("%s: found %v, unknown %v, want %v", name, ok, train.Members[m].Unknown, want)
		}
	}
	g := &train.Gearsets[2]
	if p := g.Pinions[0]; p.Teeth != 18 || !p.Derived || g.Gear("sun").PinionTeeth != 18 || g.Gear("moon") != nil {
		t.Errorf("derived pinion %+v, sun %+v", p, g.Gear("sun"))
	}
}

// TestBuilderMistakes: each mistake is the error of Build.
func TestBuilderMistakes(t *testing.T) {
	for _, c := range []struct {
		want string
		make func(*kinematics.Builder)
	}{
		{"member turbine is declared twice", func(b *kinematics.Builder) { b.Shaft("turbine") }},
		{"member housing is declared twice", func(b *kinematics.Builder) { b.Shaft("housing") }},
		{"member front.carrier is declared twice", func(b *kinematics.Builder) { b.Simple("front", 30, 66, 0, false) }},
		{"s.sun has 0 teeth", func(b *kinematics.Builder) { b.Simple("s", 0, 66, 0, false) }},
		{"s.ring has -66 teeth", func(b *kinematics.Builder) { b.Simple("s", 30, -66, 0, false) }},
		{"s.pinion has -18 teeth", func(b *kinematics.Builder) { b.Simple("s", 30, 66, -18, false) }},
		{"d.outer-pinion has -1 teeth", func(b *kinematics.Builder) { b.DoublePinion("d", 27, 60, 15, -1, false) }},
		{"r.ring has -85 teeth", func(b *kinematics.Builder) {
			b.Ravigneaux("r", kinematics.RavigneauxSet{SunShort: 31, Ring: -85})
		}},
		{"r needs two of sun-short, sun-long and ring", func(b *kinematics.Builder) {
			b.Ravigneaux("r", kinematics.RavigneauxSet{SunShort: 31})
		}},
		{"t.slow meshes a pinion step of 0 teeth", func(b *kinematics.Builder) {
			b.StepPinions("t", kinematics.Step{Part: "slow", Teeth: 21})
		}},
		{"b.pinion has -2 teeth", func(b *kinematics.Builder) { b.Bevel("b", 40, 30, -2, false) }},
		{"s.ring has 9000000000000000000 teeth", func(b *kinematics.Builder) { b.Simple("s", 30, 9e18, 0, false) }},
		{"s.pinion has 9000000000000000000 teeth", func(b *kinematics.Builder) { b.Simple("s", 30, 66, 9e18, false) }},
		{"t.slow meshes a pinion step of 9000000000000000000 teeth", func(b *kinematics.Builder) {
			b.StepPinions("t", kinematics.Step{Part: "slow", Teeth: 21, PinionTeeth: 9e18})
		}},
		{"element e is a spline", func(b *kinematics.Builder) { b.Element("e", kinematics.Spline, "turbine", "race") }},
		{"f.b has 0 teeth", func(b *kinematics.Builder) { b.Pair("f", 24, 0, kinematics.External, "housing", false) }},
		{"no member moon", func(b *kinematics.Builder) { b.Pair("f", 24, 77, kinematics.External, "moon", false) }},
		{"no member moon", func(b *kinematics.Builder) { b.Join("j", "turbine", "moon") }},
		{"joint j lists turbine twice", func(b *kinematics.Builder) { b.Join("j", "turbine", "turbine") }},
		{"no member moon", func(b *kinematics.Builder) { b.Element("e", kinematics.Brake, "moon", "housing") }},
		{"no member moon", func(b *kinematics.Builder) { b.Element("e", kinematics.Brake, "moon", "moon") }},
		{"e joins turbine to itself", func(b *kinematics.Builder) { b.Element("e", kinematics.Clutch, "turbine", "turbine") }},
		{"element low is declared twice", func(b *kinematics.Builder) { b.Element("low", kinematics.Brake, "turbine", "housing") }},
		{"the speed of s.pinion is not known", func(b *kinematics.Builder) {
			b.Simple("s", 5, 11, 0, true)
			b.Element("e", kinematics.Brake, "s.pinion", "housing")
		}},
		{"no member moon", func(b *kinematics.Builder) { b.Ports("turbine", "moon") }},
		{"range R applies reverse, which is no element", func(b *kinematics.Builder) { b.Range("R", "reverse") }},
		{"range R applies shell:front.sun, which is no element", func(b *kinematics.Builder) { b.Range("R", "shell:front.sun") }},
		{"position R offers R, which is no range", func(b *kinematics.Builder) { b.Position("R", "R") }},
	} {
		b := twoSets()
		c.make(b)
		train, err := b.Build()
		if err == nil || !strings.HasPrefix(err.Error(), "two-sets: "+c.want) {
			t.Errorf("got the error %v, want %q", err, c.want)
		}
		if train != nil {
			t.Errorf("%s: built a train nevertheless", c.want)
		}
	}
}

// Calls may follow a mistake; the first one is reported.
func TestFirstMistakeWins(t *testing.T) {
	b := twoSets()
	b.Shaft("turbine")
	b.Ports("also", "wrong")
	b.Element("e", kinematics.Brake, "no", "such").Capacity = 1
	b.Range("R", "none").Intended = true
	if _, err := b.Build(); err == nil || err.Error() != "two-sets: member turbine is declared twice" {
		t.Errorf("got the error %v", err)
	}
}

// What holds a member of a joint with the housing among them holds the housing.
func TestJoinToHousing(t *testing.T) {
	b := kinematics.NewBuilder("t")
	b.Simple("s", 30, 66, 18, false)
	b.Join("case", "s.ring", "housing")
	train := mustBuild(t, b)
	j := train.Joints[0]
	if j.Hub != kinematics.Housing || j.Splines[1] != -1 || train.Couplings[j.Splines[0]].B != kinematics.Housing {
		t.Errorf("joint %+v", j)
	}
}
