package solve

import "tieup/kinematics"

// A System is a compiled train. It is not changed after [Compile], so any
// number of goroutines may share it.
type System struct {
	Train *kinematics.Train
}

// Compile eliminates the meshes and joints of a train.
func Compile(t *kinematics.Train) *System { return &System{Train: t} }

// A Kernel evaluates states of one system, reusing its memory. It must not be
// used by two goroutines at once.
type Kernel struct{ s *System }

// Kernel returns a new kernel for the system.
func (s *System) Kernel() *Kernel { return &Kernel{s} }

// Outcome decides what the train does in state st.
func (k *Kernel) Outcome(st kinematics.State) Outcome { panic("todo") }

// Motion decides what the train does in state st and describes the motion.
func (s *System) Motion(st kinematics.State) *Motion { panic("todo") }

// A Given is the speed that a member is made to turn at; 0 holds it.
type Given struct {
	Member kinematics.MemberID
	Speed  Frac
}

// A Turned is the answer of [System.Turn].
type Turned struct {
	// Locks says that the given speeds and the state contradict each other.
	// Fight and FightCouplings are then a smallest set of what contradicts:
	// indices of given speeds and of couplings.
	Locks          bool
	Fight          []int
	FightCouplings []int
	Members        []Speed // parallel to Train.Members, as in Motion
	Slips          []Speed // parallel to Train.Couplings
	Residual       float64
}

// Turn gives the speeds of all members when some are turned or held, with the
// couplings in the given modes (parallel to Train.Couplings).
func (s *System) Turn(modes []kinematics.Mode, given []Given) *Turned { panic("todo") }
