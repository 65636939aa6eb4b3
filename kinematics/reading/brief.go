package reading

// Brief gives the reason in a sentence or two, those of the explanation that
// tell most: what holds a range that drives, what contradicts itself in one that
// is held, and what would make one drive that does not.
func (w *Why) Brief() []string {
	if w.Motion.Drives() {
		lines := []string{w.reaction(&w.Paths[0])}
		if fault := w.broughtBy(&w.Paths[0]); fault != "" {
			lines = append(lines, fault)
		}
		return lines
	}
	if len(w.Conflicts) > 0 {
		return []string{w.conflictSentence(&w.Conflicts[0])}
	}
	if len(w.Changes) > 0 {
		c := w.Changes[0]
		return []string{"It would drive with this change: " + w.change(c) + "; it then " + c.Reading.Pull + "."}
	}
	return nil
}
