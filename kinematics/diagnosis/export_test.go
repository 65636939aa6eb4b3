package diagnosis

// Several finds all sets of n faults that agree with everything seen, whether
// fewer do or not.
func (f *Finder) Several(c *Case, n int) []*Suspect { return f.several(c, n, 1, Options{}) }
