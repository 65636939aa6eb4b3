package lesson

import (
	"context"
	"hash/fnv"
	"math/rand/v2"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Teacher makes the exercises about one train. It reuses its reader, so it
// must not be used by two goroutines at once.
type Teacher struct {
	train  *kinematics.Train
	reader *reading.Reader
	given  Given
	faults []kinematics.Fault       // worth an exercise, in the order of the train
	cells  [][]reading.RangeReading // by fault and range
	before []reading.RangeReading   // by range, with the given faults only
	// settled are the ranges that come to one thing: what is seen is told of them alone.
	settled []int
}

// NewTeacher returns a teacher for a train with what is given to be wrong, usually nothing. Its
// error is that of the context, if it ends before.
func NewTeacher(ctx context.Context, t *kinematics.Train, c *reading.Reader, given Given) (*Teacher, error) {
	teacher := &Teacher{train: t, reader: c, given: given, settled: given.settled(t)}
	teacher.before = teacher.read()
	faults := t.SingleFaults()
	err := solve.Each(ctx, "faults", len(faults), func(i int) {
		f := faults[i]
		if slices.ContainsFunc(given.Faults, func(g kinematics.Fault) bool { return g.Coupling == f.Coupling }) {
			return
		}
		cells := teacher.read(f)
		if !teacher.noticed(cells) {
			return
		}
		teacher.faults, teacher.cells = append(teacher.faults, f), append(teacher.cells, cells)
	})
	return teacher, err
}

// noticed says whether anything that is seen in the ranges that come to one thing is not what
// they do without the fault.
func (t *Teacher) noticed(cells []reading.RangeReading) bool {
	return slices.ContainsFunc(t.settled, func(i int) bool { return t.shows(i, cells[i]) })
}

// shows says whether what is seen in a range is not what it does without a fault.
func (t *Teacher) shows(i int, c reading.RangeReading) bool { return !t.sight(i, c).of(t.before[i]) }

// read reads every range with the given faults and some more.
func (t *Teacher) read(more ...kinematics.Fault) []reading.RangeReading {
	var cells []reading.RangeReading
	for i := range t.train.Ranges {
		cells = append(cells, t.reader.Read(&t.train.Ranges[i], append(slices.Clone(t.given.Faults), more...)...))
	}
	return cells
}

// Faults returns the single faults that are worth an exercise, those with which
// some range that comes to one thing does not do what it does without, shuffled by the seed.
func (t *Teacher) Faults(seed uint64) []kinematics.Fault {
	list := slices.Clone(t.faults)
	r := random(seed)
	r.Shuffle(len(list), func(i, k int) { list[i], list[k] = list[k], list[i] })
	return list
}

// random returns numbers that belong to the seed alone, on any machine.
func random(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0)) }

// After returns the fault that follows f in a list, the first one if f is not
// there; ok is false for an empty list.
func After(list []kinematics.Fault, f kinematics.Fault) (next kinematics.Fault, ok bool) {
	if len(list) == 0 {
		return kinematics.Fault{}, false
	}
	same := func(g kinematics.Fault) bool { return g.Coupling == f.Coupling && g.Kind == f.Kind }
	return list[(slices.IndexFunc(list, same)+1)%len(list)], true
}

// Seed is a seed that belongs to a train, so that the faults of different trains do
// not come in the same order.
func Seed(t *kinematics.Train) uint64 {
	h := fnv.New64a()
	h.Write([]byte(t.Name))
	return h.Sum64()
}
