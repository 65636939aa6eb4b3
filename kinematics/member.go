package kinematics

// MemberID numbers the members of a train: the index into [Train.Members].
type MemberID int

// Housing is the member that never turns. Every train has it, as member 0.
const Housing MemberID = 0

// HousingName is the name of the housing in train files and answers.
const HousingName = "housing"

// MemberKind says what sort of body a member is.
type MemberKind uint8

// The kinds of member.
const (
	HousingMember MemberKind = iota
	ShaftMember              // a shaft, shell, drum or race: no gear of its own
	SunMember
	RingMember
	CarrierMember
	PinionMember
	GearMember // a gear of a pair, or a side gear of a bevel set
	JointHub   // the common body of a joint, onto which its members are splined
)

// A Member is one rotating body.
type Member struct {
	Name    string // as in the train file: "turbine", "front.sun"
	Kind    MemberKind
	Gearset int // index into Train.Gearsets, -1 for shafts, hubs and the housing
	// Unknown marks a pinion whose speed no equation gives: its teeth are not
	// known, or it is the pinion of a bevel set, which has only a spin.
	Unknown bool
	Inertia float64 // about its axis, kg m²; of all pinions of that name together; 0 when not given
}
