package lesson_test

import (
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/lesson"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

func teacher(t *testing.T, name string, given ...string) (*lesson.Teacher, *kinematics.Train, *reading.Reader) {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	var faults []kinematics.Fault
	for _, text := range given {
		f, err := kinematics.ParseFault(train, text)
		if err != nil {
			t.Fatal(err)
		}
		faults = append(faults, f)
	}
	c := reading.NewReader(solve.Compile(train))
	school, err := lesson.NewTeacher(t.Context(), train, c, lesson.Given{Faults: faults})
	if err != nil {
		t.Fatal(err)
	}
	return school, train, c
}

func sheet(t *testing.T, school *lesson.Teacher, seed uint64, count int) lesson.Worksheet {
	t.Helper()
	s, err := school.Sheet(t.Context(), seed, count)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The answers of every exercise hold against a train that is compiled anew and
// asked about one range at a time, for every train of the library.
func TestAnswersHold(t *testing.T) {
	kinds := map[lesson.Kind]int{}
	for _, name := range gearsets.Names() {
		school, train, _ := teacher(t, name)
		reader := reading.NewReader(solve.Compile(train))
		does := func(r *kinematics.Range, faults ...kinematics.Fault) string {
			i, _ := train.Range(r.Name)
			return reader.Read(&train.Ranges[i], faults...).Text()
		}
		for _, e := range sheet(t, school, 7, 10).Exercises {
			kinds[e.Kind]++
			for _, row := range e.Rows {
				if got := does(row.Range, e.Faults...); got != row.Cell.Text() {
					t.Errorf("%s: %s is said to do %q and does %q", name, row.Range.Name, row.Cell.Text(), got)
				}
			}
			if len(e.Seen) == 0 {
				continue
			}
			checkTests(t, name, &e, func(x *lesson.Test, f kinematics.Fault) string {
				i, _ := train.Range(x.Range.Name)
				c := reader.Read(&train.Ranges[i], f)
				if x.Coasting {
					return c.Reading.Coast
				}
				return c.Pulling()
			})
		}
	}
	for _, k := range []lesson.Kind{lesson.FillChart, lesson.Predict, lesson.Suspects, lesson.NextTest} {
		if kinds[k] < 10 {
			t.Errorf("only %d exercises of the kind %s", kinds[k], k)
		}
	}
}

// checkTests checks the tests of an exercise: every suspect stands under what
// it does, and no test tells more apart than the best ones.
func checkTests(t *testing.T, name string, e *lesson.Exercise, does func(*lesson.Test, kinematics.Fault) string) {
	t.Helper()
	most := 1
	for _, test := range e.Tests {
		most = max(most, len(test.Results))
		n := 0
		for _, r := range test.Results {
			for _, f := range r.Suspects {
				n++
				if got := does(&test, f); got != r.Seen {
					t.Errorf("%s: in %s a suspect is said to do %q and does %q", name, test.Range.Name, r.Seen, got)
				}
			}
		}
		if n != len(e.Suspects) {
			t.Errorf("%s: %s lists %d of %d suspects", name, test.Range.Name, n, len(e.Suspects))
		}
	}
	if most > 1 && len(e.Best) == 0 {
		t.Errorf("%s: a range tells suspects apart, and none is proposed", name)
	}
	for _, i := range e.Best {
		if len(e.Tests[i].Results) != most {
			t.Errorf("%s: %s is proposed with %d results where one has %d", name, e.Tests[i].Range.Name, len(e.Tests[i].Results), most)
		}
	}
}

// The classic of the trade, common practice, no source: drives in neutral and
// binds in reverse is a forward clutch that does not let go.
func TestForwardStuckIsSuspected(t *testing.T) {
	school, train, _ := teacher(t, "depot-shuttle-three-speed")
	found := false
	for seed := uint64(1); seed <= 12; seed++ {
		for _, e := range sheet(t, school, seed, 100).Exercises {
			sees := func(rng, text string) bool {
				return slices.ContainsFunc(e.Seen, func(s lesson.Sight) bool { return s.Range.Name == rng && s.Text() == text })
			}
			if !sees("N", "drives forward at 2.45 (as D1)") || !sees("R", "ties up") {
				continue
			}
			found = true
			if len(e.Suspects) != 1 || train.FaultText(e.Suspects[0]) != "forward=stuck" {
				t.Errorf("seed %d suspects %v", seed, e.Suspects)
			}
		}
	}
	if !found {
		t.Error("no sheet has this complaint")
	}
}

func TestSameSeedSameSheet(t *testing.T) {
	tasks := func(seed uint64) []string {
		school, train, _ := teacher(t, "simpson-three-speed")
		var list []string
		for _, e := range sheet(t, school, seed, 12).Exercises {
			text := string(e.Kind)
			for _, f := range append(slices.Clone(e.Faults), e.Suspects...) {
				text += " " + train.FaultText(f)
			}
			list = append(list, text)
		}
		return list
	}
	if a, b := tasks(7), tasks(7); !slices.Equal(a, b) || len(a) != 12 {
		t.Errorf("%q and %q", a, b)
	}
	if slices.Equal(tasks(7), tasks(8)) {
		t.Error("two seeds make one sheet")
	}
}

// Faults that are given are in every exercise, and are not asked for again.
func TestGivenFaults(t *testing.T) {
	school, train, reader := teacher(t, "depot-shuttle-three-speed", "forward=stuck")
	forward, _ := train.Element("forward")
	for _, f := range school.Faults(3) {
		if f.Coupling == forward {
			t.Errorf("asks for %s beside the given fault", train.FaultText(f))
		}
	}
	given, _ := kinematics.ParseFault(train, "forward=stuck")
	for _, e := range sheet(t, school, 3, 9).Exercises {
		for _, s := range e.Seen {
			i, _ := train.Range(s.Range.Name)
			if len(e.Suspects) > 0 && reader.Read(&train.Ranges[i], given, e.Suspects[0]).Text() != s.Cell.Text() {
				t.Errorf("%s does not do %q with the given fault", s.Range.Name, s.Cell.Text())
			}
		}
	}
}

func TestRightAnswers(t *testing.T) {
	_, train, reader := teacher(t, "depot-shuttle-three-speed")
	stuck, _ := kinematics.ParseFault(train, "forward=stuck")
	for rng, want := range map[string]string{"P": "lurches against the pawl", "R": "ties up", "N": "drives forward", "D2": "drives forward"} {
		i, _ := train.Range(rng)
		right := lesson.Right(reader.Read(&train.Ranges[i], stuck))
		if right.String() != want {
			t.Errorf("%s: the right answer is %q, want %q", rng, right, want)
		}
		if !slices.Contains(lesson.Answers(train, &train.Ranges[i]), right) {
			t.Errorf("%s: the right answer cannot be chosen", rng)
		}
	}
	r, _ := train.Range("R")
	if slices.ContainsFunc(lesson.Answers(train, &train.Ranges[r]), func(a lesson.Answer) bool { return a.Code() == "lurch" }) {
		t.Error("a range without a pawl can lurch")
	}
}

// Where a drag decides, the right answer is what breakaway says of the standing
// vehicle with free wheels and the rated torque at the input.
func TestRightAnswersByTorque(t *testing.T) {
	held, turns := 0, 0
	for _, name := range gearsets.Names() {
		_, train, reader := teacher(t, name)
		sys := solve.Compile(train)
		scale := solve.ScaleOf(train)
		query := reading.BreakawayQuery{Scale: scale, Reserve: solve.DefaultReserve(), Available: scale.Rated, Resistance: exact.NewFrac(0, 1)}
		for i, c := range train.Couplings[:train.ElementCount] {
			for _, share := range []int64{1, 4, 20} {
				f := kinematics.Fault{Coupling: i, Kind: kinematics.Dragging, Share: kinematics.Share{Num: share, Den: 10}}
				for r := range train.Ranges {
					cell := reader.Read(&train.Ranges[r], f)
					if !c.Kind.Friction() || cell.Friction == nil || cell.Friction.Missing != nil || !cell.Outcome.Drives() {
						continue
					}
					b, err := reading.BreakawayOf(t.Context(), sys, &train.Ranges[r], []kinematics.Fault{f}, query)
					if err != nil {
						t.Fatal(err)
					}
					way, _ := b.Goes()
					want := map[reading.Direction]string{reading.GoesForward: "drives forward", reading.GoesBackward: "drives backward"}[way]
					if turns++; !b.Turns() {
						want = "input held"
						held++
					}
					if got := lesson.Right(cell).String(); got != want && want != "" {
						t.Errorf("%s %s, %s: right is %q, breakaway says %q: %s", name, train.Ranges[r].Name, train.FaultText(f), got, want, cell.Text())
					}
				}
			}
		}
	}
	if held < 20 || turns < 5*held/4 {
		t.Errorf("of %d ranges %d are held", turns, held)
	}
}
