package kinematics

import (
	"slices"
	"strings"
)

// Drive says what turns the input.
type Drive string

// The drives. Behind a converter a held input loads the engine as in a stall test.
const (
	Converter Drive = "converter"
	Direct    Drive = "direct"
)

// A Use says what a train is built into, and so what it can do to people.
type Use string

// The uses.
const (
	InVehicle Use = "vehicle" // a road vehicle, driven by an engine
	InCycle   Use = "cycle"   // a cycle, driven by its rider
	InHoist   Use = "hoist"   // a hoist or winch: a load hangs on, or pulls at, the output
	InMachine Use = "machine" // anything else, fixed in its place
)

// Uses lists all uses.
func Uses() []Use { return []Use{InVehicle, InCycle, InHoist, InMachine} }

// A Train is a whole gear train. It is made by a [Builder] and not changed
// afterwards, so it may be shared by any number of goroutines.
type Train struct {
	Name    string
	Title   string
	Sources []string // where its figures come from, or "invented for demonstration"
	Note    string

	Members      []Member // Members[0] is the housing
	Gearsets     []Gearset
	Meshes       []Mesh
	Joints       []Joint
	Couplings    []Coupling // elements in the order of the file, then splines
	ElementCount int        // Couplings[:ElementCount] are the elements

	Input, Output MemberID
	Drive         Drive
	Use           Use
	// Forward is +1 when the vehicle moves forward as the output turns in the
	// positive sense, -1 when it moves backward.
	Forward int

	// RatedTorque is the input torque, N m, that torques are multiples of; 0 when
	// not given.
	RatedTorque float64
	Vehicle     *Vehicle // nil when not given

	Ranges    []Range
	Positions []Position

	// Taps are the elements whose pressure can be measured at a tap of their own.
	// Line pressure can always be where pressure applies elements. TapsKnown says
	// that the list is given, be it empty.
	Taps      []int
	TapsKnown bool

	// Controls feed the elements, nil when not given: package controls makes them,
	// and controls.Of returns them as what they are.
	Controls Controls
}

// Controls are what feeds the elements of a train. Package controls makes them and
// answers what they do.
type Controls interface {
	// Parts returns the names of all parts that can have a fault.
	Parts() []string
}

// A Range is one line of the application chart.
type Range struct {
	Name          string
	Apply         []int // indices of elements, in the order of the file
	Input, Output MemberID
	Published     *Published // nil when no ratio is published
	Intended      bool       // a tie-up of this range is meant
	Gear          string     // what trouble codes call it: "1" to "10", "R", "" if not given
	Note          string
	// Parts are shares of their capacity that elements have in this range, by element,
	// where the controls do not press all their apply areas; nil for none.
	Parts map[int]Share
}

// Published is a ratio as a source prints it.
type Published struct {
	Text      string // as printed: "2.40" has two places
	OutIn     bool   // printed as output speed / input speed
	Truncated bool   // the source cuts places off instead of rounding
	Source    string
}

// A Position is a place of the selector with the ranges it offers, lowest first.
type Position struct {
	Name   string
	Ranges []int // indices into Train.Ranges
}

// MarshalText writes the name of the train.
func (t *Train) MarshalText() ([]byte, error) { return []byte(t.Name), nil }

// Invented says whether the train is made up for demonstration.
func (t *Train) Invented() bool {
	return len(t.Sources) > 0 && strings.HasPrefix(strings.ToLower(t.Sources[0]), "invented")
}

// Member returns the member of that name.
func (t *Train) Member(name string) (MemberID, bool) {
	i := slices.IndexFunc(t.Members, func(m Member) bool { return m.Name == name && m.Kind != JointHub })
	return MemberID(i), i >= 0
}

// Element returns the index of the element of that name.
func (t *Train) Element(name string) (int, bool) {
	i := slices.IndexFunc(t.Couplings[:t.ElementCount], func(c Coupling) bool { return c.Name == name })
	return i, i >= 0
}

// Coupling returns the index of the element or spline of that name. A spline
// is named by its joint and member, "shell:front.sun".
func (t *Train) Coupling(name string) (int, bool) {
	i := slices.IndexFunc(t.Couplings, func(c Coupling) bool { return c.Name == name })
	return i, i >= 0
}

// Set returns the elements that the range applies in the order of the couplings,
// as sets of elements are written everywhere but in the range itself.
func (r *Range) Set() []int { return slices.Sorted(slices.Values(r.Apply)) }

// Applies says whether the range applies coupling i.
func (r *Range) Applies(i int) bool { return slices.Contains(r.Apply, i) }

// Range returns the index of the range of that name.
func (t *Train) Range(name string) (int, bool) {
	i := slices.IndexFunc(t.Ranges, func(r Range) bool { return r.Name == name })
	return i, i >= 0
}

// MemberNames returns the names of all bodies a user can name: every member
// but the hubs of joints, the housing first.
func (t *Train) MemberNames() []string {
	var names []string
	for _, m := range t.Members {
		if m.Kind != JointHub {
			names = append(names, m.Name)
		}
	}
	return names
}

// ElementNames returns the names of the elements in the order of the file.
func (t *Train) ElementNames() []string {
	names := make([]string, t.ElementCount)
	for i := range names {
		names[i] = t.Couplings[i].Name
	}
	return names
}

// Spline names the joint and the member of a coupling that is a spline.
func (t *Train) Spline(coupling int) (joint, member string) {
	c := &t.Couplings[coupling]
	return t.Joints[c.Joint].Name, t.Members[c.A].Name
}

// names lists what things are called: a list of JSON, so not nil where there are none.
func names[T any](list []T, name func(T) string) []string {
	return append([]string{}, Map(list, name)...)
}

// RangeNames returns the names of the ranges in the order of the file.
func (t *Train) RangeNames() []string {
	return names(t.Ranges, func(r Range) string { return r.Name })
}

// NamesOfRanges returns the names of some ranges, in their order.
func (t *Train) NamesOfRanges(ranges []int) []string {
	return names(ranges, func(r int) string { return t.Ranges[r].Name })
}

// AppliedIn returns the ranges that apply an element, and those that do not.
func (t *Train) AppliedIn(element int) (on, off []int) {
	for r := range t.Ranges {
		if t.Ranges[r].Applies(element) {
			on = append(on, r)
		} else {
			off = append(off, r)
		}
	}
	return on, off
}

// CouplingNames returns the names of some couplings, in their order.
func (t *Train) CouplingNames(couplings []int) []string {
	return names(couplings, func(i int) string { return t.Couplings[i].Name })
}

// NamesOf returns the names of some members, in their order.
func (t *Train) NamesOf(members []MemberID) []string {
	return names(members, func(m MemberID) string { return t.Members[m].Name })
}

// GearsetNames returns the names of some gearsets, in their order.
func (t *Train) GearsetNames(sets []int) []string {
	return names(sets, func(g int) string { return t.Gearsets[g].Name })
}
