package page

import (
	"math"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
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
			if set.Kind == kinematics.Pair || set.Kind == kinematics.Bevel {
				continue
			}
			l := newLayout(train, set)
			l.scale(pictureRadius)
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

// Every member of every gearset is in its view, with its number on a wheel; what
// turns has the speed of the engine and what is not settled stands as a ghost.
func TestEveryMemberIsDrawn(t *testing.T) {
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		reader := reading.NewReader(solve.Compile(train))
		for i := range train.Ranges {
			why := reading.Explain(t.Context(), reader, &train.Ranges[i])
			views := NewEndOn(why)
			if len(views) != len(train.Gearsets) {
				t.Fatalf("%s: %d views of %d gearsets", name, len(views), len(train.Gearsets))
			}
			for g, v := range views {
				checkView(t, train, &train.Gearsets[g], why.Motion, v)
			}
		}
	}
}

func checkView(t *testing.T, train *kinematics.Train, set *kinematics.Gearset, m *solve.Motion, v EndOn) {
	t.Helper()
	find := func(id kinematics.MemberID) *EndOnMember {
		i := slices.IndexFunc(v.Members, func(x EndOnMember) bool { return x.Name == train.Members[id].Name })
		if i < 0 {
			t.Fatalf("%s, %s: %s is not drawn", train.Name, set.Name, train.Members[id].Name)
		}
		return &v.Members[i]
	}
	var ids []kinematics.MemberID
	for _, g := range set.Gears {
		ids = append(ids, g.Member)
	}
	if set.Kind != kinematics.Bevel {
		for _, p := range set.Pinions {
			ids = append(ids, p.Member)
		}
	}
	if set.Carrier != kinematics.Housing {
		ids = append(ids, set.Carrier)
	}
	for _, id := range ids {
		x := find(id)
		n := slices.IndexFunc(v.Marks, func(k Mark) bool { return k.Number == x.Number })
		if n < 0 {
			if set.Kind == kinematics.Pair && id == set.Carrier {
				continue // the carrier of a pair is only listed
			}
			t.Errorf("%s, %s: no wheel has the number of %s", train.Name, set.Name, x.Name)
			continue
		}
		w, fixed := m.Members[id].Point()
		known := !m.Members[id].Empty
		speed := v.Marks[n].Orbit + v.Marks[n].Spin
		_, carried := m.Members[set.Carrier].Point()
		onIt := train.Members[id].Kind == kinematics.PinionMember
		switch {
		case onIt && !carried && v.Marks[n].Spin != 0:
			t.Errorf("%s, %s: %s spins in the picture on a carrier that is free", train.Name, set.Name, x.Name)
		case onIt && !carried:
		case known && fixed && math.Abs(speed-w.Float()) > 1e-9:
			t.Errorf("%s, %s: %s turns at %g in the picture, at %v in the train", train.Name, set.Name, x.Name, speed, w)
		case known && !fixed && (x.State != "free" || v.Marks[n].Spin != 0):
			t.Errorf("%s, %s: %s is free, and is drawn as %q turning at %g", train.Name, set.Name, x.Name, x.State, speed)
		case !known && x.State != "":
			t.Errorf("%s, %s: nothing is known of %s, and it is drawn as %q", train.Name, set.Name, x.Name, x.State)
		}
	}
	for _, w := range v.Wheels {
		for _, x := range []float64{w.X, w.Y, w.Orbit, w.Spin, w.Angle, w.RoundX} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Errorf("%s, %s: a wheel stands at %g", train.Name, set.Name, x)
			}
		}
	}
}

// Where two gears touch, teeth of the one stand in gaps of the other: along the
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
			if set.Kind == kinematics.Pair || set.Kind == kinematics.Bevel {
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
