package gearsets

import (
	"bytes"

	"tieup/kinematics"
)

// Parse reads a train file. The name of the file is used in messages only.
//
// All that is wrong with the file is found at once, as far as one thing does
// not hide another: a file that is no YAML gets its first error; what needs the
// whole train (ways from input to output, solid gearsets, ranges that tie up)
// is looked at when everything is known that it is made of.
//
// The train is nil if any of the problems is an error ([Problems.Refuse]); with
// warnings only it is usable.
func Parse(file string, src []byte) (*kinematics.Train, Problems) {
	src = bytes.TrimPrefix(src, []byte("\ufeff")) // a byte order mark is no text
	r := newReport(file, src[:min(len(src), MaxSize)])
	t := r.parse(src)
	r.problems.sort()
	return t, r.problems
}

func (r *report) parse(src []byte) *kinematics.Train {
	root := r.document(src)
	if root == nil {
		return nil
	}
	f := r.decode(root)
	if f == nil {
		return nil
	}
	r.check(f)
	if r.problems.Refuse() {
		return nil
	}
	t, err := f.build(len(f.joints))
	if err != nil {
		// The checks above have missed something that the builder refuses.
		r.errorf(f.at, "", "%s", err)
		return nil
	}
	r.reach(f, t)
	if r.problems.Refuse() {
		return nil
	}
	r.moves(f, t)
	r.audit(f, t)
	if r.problems.Refuse() {
		return nil
	}
	return t
}
