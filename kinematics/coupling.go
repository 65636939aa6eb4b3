package kinematics

// CouplingKind is a kind of coupling.
type CouplingKind uint8

// The kinds of coupling.
const (
	Spline CouplingKind = iota // one member of a joint on the common body
	Clutch
	Brake
	Band
	Dog
	OneWay
	Pawl
)

// Friction says whether the coupling holds by friction: it can wear, be weak and drag.
func (k CouplingKind) Friction() bool { return k == Clutch || k == Brake || k == Band }

// A Coupling can join two members. Its slip is s = wA - wB; a brake or band is
// a clutch to the housing (B is [Housing]).
type Coupling struct {
	Name string // element name, or "joint:member" for a spline
	Kind CouplingKind
	A, B MemberID
	// For a one-way clutch the slip s >= 0 is free (A may turn faster than B in
	// the positive sense) and s < 0 is blocked. Switched ones act only in the
	// ranges that apply them, the others always.
	Switched bool
	Joint    int     // index into Train.Joints for a spline, else -1
	Capacity float64 // torque it can hold, N m; 0 when not given
	Area     float64 // friction area of all its plates or of its band, m²; 0 when not given
	// Release and Apply are how it lets go and takes hold in a shift; nil when
	// not given.
	Release, Apply *Ramp
	Also           string // other names, such as a source's own letter
	Note           string
}

// A Joint is a set of members that turn as one for good.
type Joint struct {
	Name    string
	Members []MemberID
	Hub     MemberID // the common body; Housing when the housing is among the members
	Splines []int    // indices into Train.Couplings, parallel to Members; -1 for the housing
}
