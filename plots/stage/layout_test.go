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

// Teeth stand in gaps: where two gears mesh, of the places on either side of the
// common pitch line just one of them is solid, but for the clearance at its flanks.
func TestTeethStandInGaps(t *testing.T) {
	// solid says whether a gear is solid at an angle, and whether that is clear.
	solid := func(angle, phase float64, teeth int64) (yes, clear bool) {
		part := (angle - phase) * float64(teeth) / (2 * math.Pi)
		off := math.Abs(part - math.Round(part)) // 0 in the middle of a tooth, 0.5 of a gap
		return off < 0.25, math.Abs(off-0.25) > 0.08
	}
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
				for s := -0.6; s <= 0.6; s += 0.01 { // in pitches along the pitch line
					onA := toward + s*2*math.Pi/float64(c.zA)
					onB := toward + math.Pi - s*2*math.Pi/float64(c.zB)
					if c.internal {
						onB = toward + s*2*math.Pi/float64(c.zB)
					}
					a, clearA := solid(onA, phaseA, c.zA)
					b, clearB := solid(onB, phaseB, c.zB)
					if clearA && clearB && a == b {
						t.Errorf("%s, %s: gears of %d and %d teeth are both solid (%v) %.2f pitches beside their contact", name, set.Name, c.zA, c.zB, a, s)
						break
					}
					seen++
				}
			}
		}
	}
	if seen < 4000 {
		t.Errorf("only %d places were looked at", seen)
	}
}
