package serve

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots"
	"tieup/plots/page"
)

// A loaded is a train with what was compiled for it.
type loaded struct {
	file    *gearsets.File
	train   *kinematics.Train
	answers *analysis.Analysis

	layouts plots.Layouts
	figures figures
}

// mostTrains is how many trains are kept compiled.
const mostTrains = 12

// A shelf keeps the trains that were used last.
type shelf struct {
	mu      sync.Mutex
	trains  []*shelved    // the last used in front
	foreign chan struct{} // of the server
}

// A shelved train may still be being read.
type shelved struct {
	key   string
	read  chan struct{} // closed when it is
	train *loaded       // nil if it is refused
	err   error         // why
}

// get returns the train of a state, compiled. A file that is refused gives its
// problems as the error. Reading one delays nobody who asks for another.
func (s *shelf) get(ctx context.Context, st page.State) (*loaded, error) {
	for {
		t, first := s.reserve(st.Train + "\n" + st.FileName + "\n" + st.File)
		if first {
			go s.fill(ctx, t, st)
		}
		select {
		case <-t.read:
			if !errors.Is(t.err, errLeft) {
				return t.train, t.err
			}
			// Another client asked for it first, and left before its turn.
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

// reserve returns the place of a train and puts it in front; first says that it is
// still to be read.
func (s *shelf) reserve(key string) (t *shelved, first bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if i := slices.IndexFunc(s.trains, func(t *shelved) bool { return t.key == key }); i >= 0 {
		t := s.trains[i]
		s.trains = append([]*shelved{t}, slices.Delete(s.trains, i, i+1)...)
		return t, false
	}
	t = &shelved{key: key, read: make(chan struct{})}
	s.trains = append([]*shelved{t}, s.trains[:min(len(s.trains), mostTrains-1)]...)
	return t, true
}

// fill reads a train into its place. A file that is refused, or that nobody waits
// for any more when its turn comes, leaves the shelf.
func (s *shelf) fill(ctx context.Context, t *shelved, st page.State) {
	defer close(t.read)
	if st.File != "" {
		if !enter(ctx, s.foreign) {
			t.err = errLeft
		} else {
			defer func() { <-s.foreign }()
		}
	}
	if t.err == nil {
		var f *gearsets.File
		if f, t.err = fileOf(st); t.err == nil {
			t.train = &loaded{file: f, train: f.Train, answers: analysis.Open(f.Train)}
			return
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.trains = slices.DeleteFunc(s.trains, func(x *shelved) bool { return x == t })
}

// errLeft is why a file was not read: whoever asked for it has left.
var errLeft = errors.New("nobody waits for the file")

// fileOf reads the train file of a state: one of the library, or the one that
// the state holds. A path is never opened.
func fileOf(st page.State) (*gearsets.File, error) {
	if st.File == "" {
		src := gearsets.Source(st.Train)
		if src == nil {
			return nil, noTrain(st.Train)
		}
		return gearsets.Read(st.Train+".yaml", src)
	}
	src, err := unpack(st.File, gearsets.MaxSize)
	if err != nil {
		return nil, err
	}
	return gearsets.Read(st.FileName, src)
}

// noTrain is the error for a name that the library does not have.
func noTrain(name string) error {
	if near := gearsets.Meant(name); len(near) > 0 {
		return fmt.Errorf("there is no train %s: did you mean %s?", kinematics.Quote(name), kinematics.Or(near))
	}
	return fmt.Errorf("there is no train %s: choose one from the list", kinematics.Quote(name))
}
