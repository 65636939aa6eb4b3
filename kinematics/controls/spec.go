package controls

// A Spec is the controls as they are written in a train file: names and texts.
// [Compile] gives them a meaning for a train.
type Spec struct {
	Sources   []string `json:"sources"`
	Note      string   `json:"note,omitempty"`
	Solenoids []Solenoid
	Circuits  []Circuit
	Valves    []Valve
	Balls     []Ball
	Feeds     []Feed
	// Neighbours are pairs of circuits between which a leak is possible.
	Neighbours [][2]string
	Commands   []Command
	Table      []Row
	FailSafe   []FailSafe
	Expect     []Expect
}

// A Solenoid is on or off, as charts print it.
type Solenoid struct {
	Name string
	// Code is what a trouble code calls it: "shift A", "pressure control B"; ""
	// where the file does not say.
	Code string
	Note string
}

// A Circuit has the pressure of the line where From, its route, holds.
type Circuit struct{ Name, From, Note string }

// A Valve is up where pressure lifts it against its spring. Up and Down are
// expressions, "" for none; down wins.
type Valve struct{ Name, Up, Down, Note string }

// A Ball lets either of its circuits through and keeps them apart.
type Ball struct {
	Name string
	From []string
}

// A Feed says which circuits apply an element and which release it.
type Feed struct {
	Element string
	Apply   []Area // the greatest share that holds counts
	Release string
	Fill    []Route // the first that holds counts
	Exhaust []Route
}

// An Area is one apply area: the circuit that acts on it, and its share of the
// capacity of the element, "" for all of it.
type Area struct{ From, Share string }

// A Route is a way for the fluid in or out, and the time that takes.
type Route struct {
	When string  // "" always
	Take float64 // s
}

// A Command is what the control switches on in a range.
type Command struct {
	Position string // "" in every position that offers the range
	Range    string
	Patterns []Pattern
}

// A Pattern is a set of solenoids that are on; those of Either may be on or off.
type Pattern struct {
	On, Either []string
	// Apply is the set of elements of this pattern where it is not that of the
	// range; nil for that of the range.
	Apply []string
}

// A Row is a line of a printed table: with these solenoids on and the lever there
// the unit is in that range.
type Row struct {
	Levers []string // none: any
	Pattern
	Any   bool // any pattern of solenoids
	Gives string
}

// A FailSafe is what the control commands instead when it knows of a failure.
type FailSafe struct {
	Of        []string // solenoids and valves that have failed together, or "supply"
	When      []string // kinds of fault; none: every one that the control can know of
	Monitored bool     // the control sees mechanical faults, too
	Instead   []Command
}

// An Expect is a printed failure result.
type Expect struct {
	Lever   string   // "" every position that offers the range
	Range   string   // the range commanded, "" every one of the lever
	Faults  []string // as on the command line
	Gives   string   // the range that the unit is in
	Applies []string // or the elements that are fed; nil where Gives says it
	Before  bool     // before any fail-safe
	Source  string
}

// Empty says that there are no controls.
func (s *Spec) Empty() bool {
	return s == nil || len(s.Solenoids) == 0 && len(s.Valves) == 0 && len(s.Circuits) == 0
}
