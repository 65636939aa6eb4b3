package gearsets

import (
	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// MaxSize is the size in bytes above which a file is refused unread.
const MaxSize = yamlfile.MaxSize

// format is how messages speak of train files.
var format = yamlfile.Format{
	Noun:   "train file",
	Begin:  `begin with "tieup: 1"; "tieup show" prints trains to start from`,
	Second: "one file describes one train: put the second into a file of its own",
}

// A report reads a train file and collects its problems.
type report struct{ *yamlfile.Report }

type (
	object = yamlfile.Object
	scalar = yamlfile.Scalar
	field  = yamlfile.Field
)

// Parse reads a train file. The name of the file is used in messages only.
//
// All that is wrong with the file is found at once, as far as one thing does
// not hide another: a file that is no YAML gets its first error; what needs the
// whole train (ways from input to output, solid gearsets, ranges that tie up)
// is looked at when everything is known that it is made of.
//
// The train is nil if any of the problems is an error ([problem.List.Refuse]); with
// warnings only it is usable.
func Parse(file string, src []byte) (*kinematics.Train, problem.List) {
	y, src := yamlfile.New(&format, file, src)
	r := &report{y}
	t := r.parse(src)
	r.Problems.Sort()
	return t, r.Problems
}

func (r *report) parse(src []byte) *kinematics.Train {
	root := r.Document(src)
	if root == nil {
		return nil
	}
	f := r.decode(root)
	if f == nil {
		return nil
	}
	r.check(f)
	if r.Problems.Refuse() {
		return nil
	}
	t, err := f.build(len(f.joints))
	if err != nil {
		// The checks above have missed something that the builder refuses.
		r.Errorf(f.at, "", "%s", err)
		return nil
	}
	r.reach(f, t)
	if r.Problems.Refuse() {
		return nil
	}
	r.moves(f, t)
	if !r.Problems.Refuse() {
		r.compileControls(f, t)
	}
	r.audit(f, t)
	if r.Problems.Refuse() {
		return nil
	}
	return t
}
