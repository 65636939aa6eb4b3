package kinematics

// A Gearset is one named set of gears on one carrier.
type Gearset struct {
	Name    string
	Kind    Kind
	Gears   []Gear   // central gears, in the order of the table of kinds
	Pinions []Pinion // empty for a pair
	Carrier MemberID // the housing, or any member, for a pair
	Meshes  []int    // indices into Train.Meshes
	// PinionCount is the number of pinions spaced equally on the carrier (pairs
	// of pinions in a double-pinion set), 0 when not given.
	PinionCount int
	// RatioOnly says that the file gives a ratio in place of teeth; the Teeth
	// of the gears are then its fraction and no tooth count can be audited.
	RatioOnly bool
	// ProfileShifted says that the file excuses the set from the coaxial
	// condition for standard gears.
	ProfileShifted bool
	// Bevels says that the gears of a pair are bevels, whose axes cross: the kind of their
	// mesh says only which way the second turns.
	Bevels bool
}

// A Gear is a central gear of a gearset: sun, ring, side gear or gear of a pair.
type Gear struct {
	Part     string // the name behind the dot: "sun"
	Member   MemberID
	Teeth    int64
	Internal bool // a ring
	// Far says that it meshes the far side of a pinion that lies across: there the
	// pinion moves the other way.
	Far bool
	// Pinion is the index into Gearset.Pinions of the pinion it meshes, -1 for
	// a pair. PinionTeeth are the teeth of the step of that pinion which it
	// meshes, 0 when not known.
	Pinion      int
	PinionTeeth int64
}

// A Pinion is a planet pinion of a gearset.
type Pinion struct {
	Part   string // "pinion", "short-pinion"
	Member MemberID
	Teeth  int64 // 0 when not known, or when it has steps
	// Derived says that Teeth were not in the file but follow from the coaxial
	// condition (ring - sun) / 2.
	Derived bool
}

// Gear returns the central gear with the given part name, or nil.
func (g *Gearset) Gear(part string) *Gear {
	for i := range g.Gears {
		if g.Gears[i].Part == part {
			return &g.Gears[i]
		}
	}
	return nil
}

// TurnsAs says whether two central gears of a set turn the same way with the carrier
// at rest. Each external mesh on the way from one to the other turns the sense round
// once, and so does passing to the other side of a pinion that lies across.
func (g *Gear) TurnsAs(h *Gear) bool {
	turned := g.Internal != h.Internal
	if g.Pinion != h.Pinion {
		turned = !turned // the pinions mesh each other
	}
	if g.Far != h.Far {
		turned = !turned
	}
	return !turned
}

// MeshKind is how two gears engage, or are linked.
type MeshKind uint8

// The kinds of mesh. A chain turns both its wheels the same way, as an internal mesh.
const (
	External MeshKind = iota
	Internal
	Chain
)

// Sign is the sign between the two terms of the equation of the mesh: +1
// external, -1 internal or chain.
func (k MeshKind) Sign() int64 {
	if k == External {
		return 1
	}
	return -1
}

// A Mesh is one row of the kinematic equations (see the package comment):
//
//	ZA (wA - wC) + Kind.Sign() ZB (wB - wC) = 0
type Mesh struct {
	Gearset int // index into Train.Gearsets
	A, B    MemberID
	Carrier MemberID
	ZA, ZB  int64 // both above 0
	Kind    MeshKind
	// Path says that A and B do not touch: the row stands for a path over
	// pinions whose teeth are not known (or over a bevel pinion).
	Path bool
}
