package stage

import (
	"math"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
)

// between is how far apart two angles are as a part of a pitch, at most a half.
func between(a, b float64, teeth int64) float64 {
	part := (a - b) * float64(teeth) / (2 * math.Pi)
	return math.Abs(part - math.Round(part))
}

// Pinions spaced equally mesh with sun and ring at once if and only if
// (sun + ring) / pinions is whole: the assembly condition of the handbooks
// (common practice, no source). The drawing turns each pinion so that it meshes
// with the sun; where the condition holds it then meshes with the ring as well.
func TestAssemblyCondition(t *testing.T) {
	for _, tt := range []struct {
		sun, ring int64
		pinions   int
		whole     bool
	}{
		{30, 66, 4, true}, {30, 66, 3, true}, {33, 57, 3, true}, {28, 68, 4, true}, {24, 60, 3, true}, {26, 62, 4, true},
		{30, 66, 5, false}, {35, 73, 5, false}, {28, 68, 5, false}, {31, 65, 5, false},
	} {
		if got := (tt.sun+tt.ring)%int64(tt.pinions) == 0; got != tt.whole {
			t.Fatalf("%v: the condition is %v", tt, got)
		}
		pinion := (tt.ring - tt.sun) / 2
		set := &kinematics.Gearset{
			Kind: kinematics.Simple, PinionCount: tt.pinions, Pinions: []kinematics.Pinion{{Teeth: pinion}},
			Gears: []kinematics.Gear{
				{Part: "sun", Teeth: tt.sun, PinionTeeth: pinion},
				{Part: "ring", Teeth: tt.ring, PinionTeeth: pinion, Internal: true},
			},
		}
		l := newLayout(&kinematics.Train{}, set)
		first := l.phases(0, tt.pinions, nil)
		meshes := true
		for k := range tt.pinions {
			ph := l.phases(k, tt.pinions, first.gears)
			toRing := contact{zA: pinion, zB: tt.ring, internal: true}
			if between(meshing(toRing, ph.steps[0][0], turn(k, tt.pinions)), first.gears[1], tt.ring) > 1e-6 {
				meshes = false
			}
		}
		if meshes != tt.whole {
			t.Errorf("sun %d, ring %d, %d pinions: all mesh in the drawing is %v, in the handbooks %v", tt.sun, tt.ring, tt.pinions, meshes, tt.whole)
		}
	}
}

// Gears that mesh touch: the distance of their middles is the sum of their radii,
// or with a ring the difference. Every train of the library whose teeth are
// known is looked at.
func TestMeshingGearsTouch(t *testing.T) {
	// Shifted profiles and pinions that mesh gears of different teeth leave small
	// gaps, as their pinion is drawn once.
	const gaps = 0.02
	seen := 0
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		for g := range train.Gearsets {
			set := &train.Gearsets[g]
			if set.Layout() == kinematics.Axles || set.Across() {
				continue
			}
			l := newLayout(train, set)
			l.scale(rim)
			for _, c := range l.contacts {
				seen++
				b := l.pinions[c.pinionB]
				rb := b.steps[c.stepB].radius
				distance, sum := b.orbit, 0.0
				switch {
				case c.gearA < 0:
					a := l.pinions[c.pinionA]
					xa, ya := polar(a.orbit, a.angle)
					xb, yb := polar(b.orbit, b.angle)
					distance, sum = math.Hypot(xa-xb, ya-yb), a.steps[c.stepA].radius+rb
				case c.internal:
					sum = l.gears[c.gearA].radius - rb
				default:
					sum = l.gears[c.gearA].radius + rb
				}
				if math.Abs(distance-sum) > gaps*distance {
					t.Errorf("%s, %s: two gears that mesh are %g apart and reach %g", name, set.Name, distance, sum)
				}
				if c.gearA >= 0 {
					if got, want := l.gears[c.gearA].radius/rb, float64(c.zA)/float64(c.zB); math.Abs(got-want) > 0.12*want {
						t.Errorf("%s, %s: radii are as %g, teeth as %g", name, set.Name, got, want)
					}
				}
			}
		}
	}
	if seen < 40 {
		t.Errorf("only %d meshes were looked at", seen)
	}
}

// clash looks for a place beside the contact of two gears where both are solid or neither is,
// in pitches along the pitch line, NaN for none. The gears are turned by their phases, the
// contact is in a direction seen from the first one, and with internal one of them is a ring.
func clash(phaseA, phaseB float64, zA, zB int64, internal bool, toward float64) (places int, at float64) {
	// solid says whether a gear is solid at an angle, and whether that is clear.
	solid := func(angle, phase float64, teeth int64) (yes, clear bool) {
		part := (angle - phase) * float64(teeth) / (2 * math.Pi)
		off := math.Abs(part - math.Round(part)) // 0 in the middle of a tooth, 0.5 of a gap
		return off < 0.25, math.Abs(off-0.25) > 0.08
	}
	for s := -0.6; s <= 0.6; s += 0.01 {
		onA := toward + s*2*math.Pi/float64(zA)
		onB := toward + math.Pi - s*2*math.Pi/float64(zB)
		if internal {
			onB = toward + s*2*math.Pi/float64(zB)
		}
		a, clearA := solid(onA, phaseA, zA)
		b, clearB := solid(onB, phaseB, zB)
		if clearA && clearB && a == b {
			return places, s
		}
		places++
	}
	return places, math.NaN()
}

// Teeth stand in gaps: where two gears mesh, of the places on either side of the
// common pitch line just one of them is solid, but for the clearance at its flanks.
func TestTeethStandInGaps(t *testing.T) {
	seen := 0
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		for g := range train.Gearsets {
			set := &train.Gearsets[g]
			if set.Layout() == kinematics.Axles || set.Across() {
				continue
			}
			l := newLayout(train, set)
			ph := l.phases(0, max(set.PinionCount, 1), nil)
			for _, c := range l.contacts {
				if c.zA == 0 || c.zB == 0 {
					continue
				}
				b := l.pinions[c.pinionB]
				xb, yb := polar(b.orbit, b.angle)
				phaseA, phaseB, xa, ya := 0.0, ph.steps[c.pinionB][c.stepB], 0.0, 0.0
				if c.gearA >= 0 {
					phaseA = ph.gears[c.gearA]
				} else {
					a := l.pinions[c.pinionA]
					xa, ya = polar(a.orbit, a.angle)
					phaseA = ph.steps[c.pinionA][c.stepA]
				}
				toward := math.Atan2(yb-ya, xb-xa)
				places, at := clash(phaseA, phaseB, c.zA, c.zB, c.internal, toward)
				seen += places
				if !math.IsNaN(at) {
					t.Errorf("%s, %s: gears of %d and %d teeth are both solid or both not %.2f pitches beside their contact",
						name, set.Name, c.zA, c.zB, at)
				}
			}
		}
	}
	if seen < 4000 {
		t.Errorf("only %d places were looked at", seen)
	}
}

// Two gears on axles touch, and teeth stand in gaps: of two spur gears at the point between
// their axles, of a gear in a ring beyond the axle of the gear, whichever is named first.
func TestPairsMesh(t *testing.T) {
	for _, tt := range []struct {
		a, b int64
		kind kinematics.MeshKind
	}{
		{20, 35, kinematics.External}, {21, 34, kinematics.External},
		{48, 12, kinematics.Internal}, {49, 13, kinematics.Internal}, {12, 48, kinematics.Internal},
		{13, 48, kinematics.Internal}, {13, 49, kinematics.Internal},
	} {
		b := kinematics.NewBuilder("pair")
		b.Pair("pair", tt.a, tt.b, tt.kind, kinematics.HousingName, false)
		b.Ports("pair.a", "pair.b")
		b.Range("D")
		train, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		set := NewFigure(train, nil, train.Input, train.Output).Sets[0]
		wheels := map[string]Wheel{}
		for _, w := range append(set.Rings, set.Suns...) {
			wheels[w.Part] = w
		}
		wa, wb := wheels["a"], wheels["b"]
		distance, toward := wa.R+wb.R, 0.0
		ring := wa
		if tt.kind == kinematics.Internal {
			distance = math.Abs(wa.R - wb.R)
			if wb.R > wa.R { // the gear is left of the middle of its ring
				ring, toward = wb, math.Pi
			}
			if len(set.Rings) != 1 || set.Rings[0].Part != ring.Part {
				t.Errorf("%+v: the rings are %+v", tt, set.Rings)
			}
		}
		if math.Abs(wb.X-wa.X-distance) > 1e-12 {
			t.Errorf("%+v: axles at %g and %g, radii %g and %g", tt, wa.X, wb.X, wa.R, wb.R)
		}
		if _, at := clash(wa.Phase, wb.Phase, tt.a, tt.b, tt.kind == kinematics.Internal, toward); !math.IsNaN(at) {
			t.Errorf("%+v: both solid or both not %.2f pitches beside their contact", tt, at)
		}
	}
}

// The side gears of a bevel set stand each on its side of the carrier, beside each other, as
// large as their teeth say, and the whole in the middle of the picture.
func TestBevelsStandOnTheirSides(t *testing.T) {
	b := kinematics.NewBuilder("bevels")
	b.StepBevels("set", kinematics.Step{Part: "near", Teeth: 20, PinionTeeth: 10}, kinematics.Step{Part: "far", Teeth: 24,
		PinionTeeth: 10, Right: true}, kinematics.Step{Part: "wide", Teeth: 30, PinionTeeth: 16, Right: true})
	b.Element("hold", kinematics.Brake, "set.carrier", kinematics.HousingName)
	b.Ports("set.near", "set.far")
	b.Range("D", "hold")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	set := NewFigure(train, nil, train.Input, train.Output).Sets[0]
	if len(set.Suns) != 3 || set.Kind != "bevel" {
		t.Fatalf("%+v", set)
	}
	left, right := 1.0, -1.0
	for i, w := range set.Suns {
		if right := w.X > set.X; right != (w.Part != "near") || math.Abs(w.X-set.X) < w.R {
			t.Errorf("%s of radius %g is at %g, the carrier at %g", w.Part, w.R, w.X, set.X)
		}
		if got, want := w.R/set.Suns[0].R, float64(w.Teeth)/float64(set.Suns[0].Teeth); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: radii are as %g, teeth as %g", w.Part, got, want)
		}
		for _, x := range set.Suns[:i] {
			if math.Abs(w.X-x.X) < w.R+x.R {
				t.Errorf("%s at %g of radius %g overlaps %s at %g of radius %g", w.Part, w.X, w.R, x.Part, x.X, x.R)
			}
		}
		left, right = min(left, w.X-w.R), max(right, w.X+w.R)
	}
	if math.Abs(left+right) > 1e-12 || right > 1 {
		t.Errorf("the set goes from %g to %g", left, right)
	}
}
