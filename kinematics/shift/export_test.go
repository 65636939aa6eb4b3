package shift

// Name is "D2 to D3".
func (s *Shift) Name() string { return s.from() + " to " + s.to() }
