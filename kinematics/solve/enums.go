package solve

// The words of enumerated answers, as they stand in JSON and CSV. Package reading
// says the same in the words of the trade.
var (
	verdictWords = [...]string{"tie-up", "input-held", "output-held", "neutral", "forward", "reverse"}
	stateWords   = [...]string{"open", "locked", "holding", "idle", "overrunning", "free to overrun"}
	demandWords  = [...]string{"turn-input-forward", "turn-input-backward", "roll-forward", "roll-backward"}
	endWords     = [...]string{"moves", "jams", "runs-away"}
	originWords  = [...]string{"", "unloaded", "unscaled", "given", "file", "assumed"}
	lossWords    = [...]string{"", "self-locking", "ambiguous", "loose-speeds", "too-many-directions"}
	holdWords    = [...]string{"overruns", "idles", "may hold", "holds"}
)

// String returns the word of machine output.
func (v Verdict) String() string { return verdictWords[v] }

// MarshalText returns the word as text.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Holds says whether the coupling carries torque, or could.
func (s CouplingState) Holds() bool { return s == StateLocked || s == StateHolding }

// String returns the word of machine output.
func (s CouplingState) String() string { return stateWords[s] }

// MarshalText returns the word as text.
func (s CouplingState) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// String returns the word of machine output.
func (d Demand) String() string { return demandWords[d] }

// MarshalText returns the word as text.
func (d Demand) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// String returns the word of machine output.
func (e MechanismEnd) String() string { return endWords[e] }

// MarshalText returns the word as text.
func (e MechanismEnd) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// String returns the word of machine output; "" if the coupling does not slip.
func (o RatingOrigin) String() string { return originWords[o] }

// MarshalText returns the word as text.
func (o RatingOrigin) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// String returns the word of machine output; "" for none.
func (s LossStatus) String() string { return lossWords[s] }

// MarshalText returns the word as text.
func (s LossStatus) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// String returns the word of machine output.
func (h Hold) String() string { return holdWords[h] }

// MarshalText returns the word as text.
func (h Hold) MarshalText() ([]byte, error) { return []byte(h.String()), nil }
