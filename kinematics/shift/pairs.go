package shift

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Pair is two ranges with a shift from one to the other, as indices into
// Train.Ranges.
type Pair struct {
	From, To int
	// Selector says that the shift is made by moving the selector on to a
	// neighbouring position, and not within one.
	Selector bool
}

// A Predictor finds the shifts of one train. It reuses its kernel, so it must not
// be used by two goroutines at once.
type Predictor struct {
	sys     *solve.System
	kernel  *solve.Kernel
	reader  *reading.Reader
	healthy []solve.Outcome // parallel to Train.Ranges
	known   map[string]solve.Outcome
}

// mostKnown is how many outcomes are remembered.
const mostKnown = 1 << 14

// outcome is what a state does, worked out once.
func (f *Predictor) outcome(st kinematics.State) solve.Outcome {
	key := make([]byte, 0, len(st.Modes)+8)
	key = fmt.Append(key, st.Input, st.Output, " ")
	for _, mode := range st.Modes {
		key = append(key, byte(mode))
	}
	o, ok := f.known[string(key)]
	if !ok {
		if len(f.known) == mostKnown {
			clear(f.known)
		}
		o = f.kernel.Outcome(st)
		f.known[string(key)] = o
	}
	return o
}

// NewPredictor returns a finder for a compiled train.
func NewPredictor(sys *solve.System) *Predictor {
	f := &Predictor{sys: sys, kernel: sys.Kernel(), reader: reading.NewReader(sys), known: map[string]solve.Outcome{}}
	for i := range sys.Train.Ranges {
		f.healthy = append(f.healthy, f.kernel.Outcome(sys.Train.In(&sys.Train.Ranges[i])))
	}
	return f
}

// Pairs lists the shifts of the train, each once: between neighbouring ranges
// of a position, up and down, then by moving the selector to the next position
// and back. The selector leads from the n-th range of a position to the n-th of
// the other, or to its last where it has fewer: from D3 to L1. Where one of the
// positions does not drive, only the first ranges are paired: N and D1. A train
// without positions is taken as one position of all its ranges.
//
// Ranges that differ in their input or output shafts are not paired: they are
// different uses of a train, not its gears.
func (f *Predictor) Pairs() []Pair {
	t := f.sys.Train
	positions := t.Positions
	if len(positions) == 0 {
		positions = []kinematics.Position{{}}
		for i := range t.Ranges {
			positions[0].Ranges = append(positions[0].Ranges, i)
		}
	}
	var list []Pair
	seen := map[[2]int]bool{}
	add := func(from, to int, selector bool) {
		if !seen[[2]int{from, to}] && f.Comparable(from, to) {
			seen[[2]int{from, to}] = true
			list = append(list, Pair{from, to, selector})
		}
	}
	for _, p := range positions {
		for n := 1; n < len(p.Ranges); n++ {
			add(p.Ranges[n-1], p.Ranges[n], false)
			add(p.Ranges[n], p.Ranges[n-1], false)
		}
	}
	for n := 1; n < len(positions); n++ {
		f.selector(positions[n-1].Ranges, positions[n].Ranges, add)
		f.selector(positions[n].Ranges, positions[n-1].Ranges, add)
	}
	return list
}

// selector pairs the ranges of two positions.
func (f *Predictor) selector(from, to []int, add func(from, to int, selector bool)) {
	if len(from) == 0 || len(to) == 0 {
		return
	}
	if !f.healthy[from[0]].Drives() || !f.healthy[to[0]].Drives() {
		from = from[:1]
	}
	for n, r := range from {
		add(r, to[min(n, len(to)-1)], true)
	}
}

// Comparable says whether there is a shift between two ranges: they are not the
// same one and have the same input and output.
func (f *Predictor) Comparable(from, to int) bool {
	a, b := &f.sys.Train.Ranges[from], &f.sys.Train.Ranges[to]
	return from != to && a.Input == b.Input && a.Output == b.Output
}
