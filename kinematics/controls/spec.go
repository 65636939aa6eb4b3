package controls

// A Spec is the controls as they are written in a train file: names and texts.
// [Compile] gives them a meaning for a train.
type Spec struct {
	Sources   []string   `json:"sources,omitempty"`
	Note      string     `json:"note,omitempty"`
	Solenoids []Solenoid `json:"solenoids,omitempty"`
	Circuits  []Circuit  `json:"circuits,omitempty"`
	Valves    []Valve    `json:"valves,omitempty"`
	Balls     []Ball     `json:"balls,omitempty"`
	Feeds     []Feed     `json:"feeds,omitempty"`
	// Neighbours are pairs of circuits between which a leak is possible.
	Neighbours [][2]string `json:"neighbours,omitempty"`
	Commands   []Command   `json:"commands,omitempty"`
	Table      []Row       `json:"table,omitempty"`
	FailSafe   []FailSafe  `json:"fail_safe,omitempty"`
	Expect     []Expect    `json:"expect,omitempty"`
}

// A Solenoid is on or off, as charts print it.
type Solenoid struct {
	Name string `json:"name,omitempty"`
	// Code is what a trouble code calls it: "shift A", "pressure control B"; ""
	// where the file does not say.
	Code string `json:"code,omitempty"`
	// Hydraulic says that it is no solenoid but a pressure that comes and goes by itself,
	// such as a governor's: it has no wires, and sticks at most.
	Hydraulic bool   `json:"hydraulic,omitempty"`
	Note      string `json:"note,omitempty"`
}

// A Circuit has the pressure of the line where From, its route, holds.
type Circuit struct {
	Name string `json:"name,omitempty"`
	From string `json:"from,omitempty"`
	Note string `json:"note,omitempty"`
}

// A Valve is up where pressure lifts it against its spring. Up and Down are
// expressions, "" for none; down wins.
type Valve struct {
	Name string `json:"name,omitempty"`
	Up   string `json:"up,omitempty"`
	Down string `json:"down,omitempty"`
	Note string `json:"note,omitempty"`
}

// A Ball lets either of its circuits through and keeps them apart.
type Ball struct {
	Name string   `json:"name,omitempty"`
	From []string `json:"from,omitempty"`
}

// A Feed says which circuits apply an element and which release it.
type Feed struct {
	Element string  `json:"element,omitempty"`
	Apply   []Area  `json:"apply,omitempty"` // the shares of those with pressure add up
	Release string  `json:"release,omitempty"`
	Fill    []Route `json:"fill,omitempty"` // the first that holds counts
	Exhaust []Route `json:"exhaust,omitempty"`
}

// An Area is one apply area: the circuit that acts on it, and its share of the
// capacity of the element, "" for all of it.
type Area struct {
	From  string `json:"from,omitempty"`
	Share string `json:"share,omitempty"`
}

// A Route is a way for the fluid in or out, and the time that takes.
type Route struct {
	When string  `json:"when,omitempty"` // "" always
	Take float64 `json:"take,omitempty"` // s
}

// A Command is what the control switches on in a range.
type Command struct {
	Position string    `json:"position,omitempty"` // "" in every position that offers the range
	Range    string    `json:"range,omitempty"`
	Patterns []Pattern `json:"patterns,omitempty"`
}

// A Pattern is a set of solenoids that are on; those of Either may be on or off.
type Pattern struct {
	On     []string `json:"on,omitempty"`
	Either []string `json:"either,omitempty"`
	// Apply is the set of elements of this pattern where it is not that of the
	// range; nil for that of the range.
	Apply []string `json:"apply,omitempty"`
}

// A Row is a line of a printed table: with these solenoids on and the lever there
// the unit is in that range.
type Row struct {
	Levers []string `json:"levers,omitempty"` // none: any
	Pattern
	Any   bool   `json:"any,omitempty"` // any pattern of solenoids
	Gives string `json:"gives,omitempty"`
}

// A FailSafe is what the control commands instead when it knows of a failure.
type FailSafe struct {
	Of        []string  `json:"of,omitempty"`        // solenoids and valves that have failed together, or "supply"
	When      []string  `json:"when,omitempty"`      // kinds of fault; none: every one that the control can know of
	Monitored bool      `json:"monitored,omitempty"` // the control sees mechanical faults, too
	Instead   []Command `json:"instead,omitempty"`
}

// An Expect is a printed failure result.
type Expect struct {
	Lever   string   `json:"lever,omitempty"`   // "" every position that offers the range
	Range   string   `json:"range,omitempty"`   // the range commanded, "" every one of the lever
	Faults  []string `json:"faults,omitempty"`  // as on the command line
	Gives   string   `json:"gives,omitempty"`   // the range that the unit is in
	Applies []string `json:"applies,omitempty"` // or the elements that are fed; nil where Gives says it
	Before  bool     `json:"before,omitempty"`  // before any fail-safe
	Source  string   `json:"source,omitempty"`
}

// Empty says that there are no controls.
func (s *Spec) Empty() bool {
	return s == nil || len(s.Solenoids) == 0 && len(s.Valves) == 0 && len(s.Circuits) == 0
}
