package kinematics

// The words of enumerations, as they stand in train files, JSON and CSV.
var (
	couplingWords = [...]string{"spline", "clutch", "brake", "band", "dog", "one-way", "pawl"}
	meshWords     = [...]string{"external", "internal", "chain"}
	modeWords     = [...]string{"open", "locked", "one-way", "one-way"}
	memberWords   = [...]string{"housing", "shaft", "sun", "ring", "carrier", "pinion", "gear", "joint"}
)

// String returns the word used in train files.
func (k CouplingKind) String() string { return couplingWords[k] }

// MarshalText returns the word as text.
func (k CouplingKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// String returns the word used in train files.
func (k MeshKind) String() string { return meshWords[k] }

// MarshalText returns the word as text.
func (k MeshKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// String returns the word used in answers.
func (m Mode) String() string { return modeWords[m] }

// MarshalText returns the word as text.
func (m Mode) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// String returns the word used in answers.
func (k MemberKind) String() string { return memberWords[k] }

// MarshalText returns the word as text.
func (k MemberKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }
