package analysis

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
)

// An Interview asks for what a road test shows, always the question that tells most for
// its effort, and adds the answers to a case. One goroutine at a time may use it.
type Interview struct {
	Case *Case

	finder *diagnosis.Finder
	done   []diagnosis.Test // asked and answered or left open, for back
	added  []int            // parallel to done: observations that it brought
	open   []diagnosis.Test // left open: not asked again
	told   int              // 1 where done begins with what the complaint told
	shop   bool             // tests in the workshop are asked for, too
}

// Interview begins an interview about a case. It returns the error of a context that ends
// before, as all that takes long does.
func (a *Analysis) Interview(ctx context.Context, c *Case) (*Interview, error) {
	if err := a.of(c); err != nil {
		return nil, err
	}
	f, err := diagnosis.New(ctx, a.system, c.Assume)
	if err != nil {
		return nil, err
	}
	return &Interview{Case: c, finder: f}, nil
}

// An Asked question is one test with what can come out.
type Asked struct {
	Number   int
	Text     string
	Cautions []string // what can happen in it
	// Before is what must stand before it, BeforeShort the same for whoever has read it.
	Before, BeforeShort string
	Choices             []string
	Words               []Gloss // with which it can be answered
	Shift               bool    // it asks about a shift

	test   diagnosis.Test
	expect []diagnosis.Expectation
}

// An End is why there is no further question.
type End uint8

// The ends. RoadEnds may be followed by questions from the workshop, see
// [Interview.ToShop].
const (
	GoesOn   End = iota
	OneLeft      // one suspect is left in front
	RoadEnds     // no question about the road test is left
	NoneLeft     // no test is left
)

// Says is why there is no further question, "" if there is one.
func (e End) Says() string {
	return [...]string{
		OneLeft:  "One suspect is left in front.",
		RoadEnds: "No question about the road test is left that could tell those in front apart.",
		NoneLeft: "No test is left that could tell those in front apart.",
	}[e]
}

// Complain takes the complaint, and what is plain in it as seen, which it returns:
// "R = bind".
func (v *Interview) Complain(words string) (taken []string) {
	c := v.Case
	c.Complaint = words
	for _, o := range diagnosis.Complained(c.Train, words) {
		if c.Add(o) == nil {
			taken = append(taken, o.Place(c.Train)+" = "+o.Value(c.Train))
		}
	}
	if taken != nil {
		v.told = 1
		v.done, v.added = append(v.done, diagnosis.Test{}), append(v.added, len(taken))
	}
	return taken
}

func (v *Interview) diagnose(ctx context.Context) (*diagnosis.Answer, error) {
	return v.finder.Diagnose(ctx, v.Case, diagnosis.Options{})
}

// useful is the test that is worth most of those that may be asked for, if any is.
func (v *Interview) useful(ctx context.Context, a *diagnosis.Answer) ([]diagnosis.Proposal, error) {
	return a.Split(ctx, 1, func(x *diagnosis.Test) bool {
		return (v.shop || !x.Kind.InShop()) && !slices.ContainsFunc(v.open, x.Same)
	})
}

// Next is the question that is worth most, or why there is none.
func (v *Interview) Next(ctx context.Context) (*Asked, End, error) {
	a, err := v.diagnose(ctx)
	if err != nil {
		return nil, GoesOn, err
	}
	list, err := v.useful(ctx, a)
	switch {
	case err != nil:
		return nil, GoesOn, err
	case len(list) > 0:
	case len(a.Groups[0].Suspects) == 1:
		return nil, OneLeft, nil
	case !v.shop:
		return nil, RoadEnds, nil
	default:
		return nil, NoneLeft, nil
	}
	p := &list[0]
	t := v.Case.Train
	return &Asked{
		Number: len(v.done) - v.told + 1, Text: p.Test.Text(t), Cautions: a.TestCautions(list[:1]), Before: p.Before(t),
		BeforeShort: p.BeforeShort(), Words: p.Kind.Glossary(t), Shift: p.Kind == diagnosis.Shifting, test: p.Test,
		Choices: kinematics.Map(p.Expect, func(e diagnosis.Expectation) string { return e.Text }), expect: p.Expect,
	}, GoesOn, nil
}

// ToShop lets tests in the workshop be asked for; it says whether any helps.
func (v *Interview) ToShop(ctx context.Context) (bool, error) {
	v.shop = true
	a, err := v.diagnose(ctx)
	if err != nil {
		return false, err
	}
	list, err := v.useful(ctx, a)
	return len(list) > 0, err
}

// Reply takes the answer to a question: the number or the words of a choice, other
// words, or PLACE=SEEN for something else that was seen. An empty one, "-" and "not
// tested" leave it open. It says whether something was noted; the error, what cannot be
// read or cannot be beside what was seen.
func (v *Interview) Reply(q *Asked, text string) (noted bool, err error) {
	if text == "" || text == "-" || text == NotTested {
		v.leave(q)
		return false, nil
	}
	seen, err := v.read(q, text)
	switch {
	case err != nil:
		return false, err
	case len(seen) == 0: // as was said already: it does not drive
		v.leave(q)
		return false, nil
	}
	if err := v.Case.Add(seen...); err != nil {
		return false, err
	}
	v.done, v.added = append(v.done, q.test), append(v.added, len(seen))
	return true, nil
}

// leave leaves a question open.
func (v *Interview) leave(q *Asked) {
	v.open = append(v.open, q.test)
	v.done, v.added = append(v.done, q.test), append(v.added, 0)
}

// NoChoice is the error of a number that no choice has.
type NoChoice struct{ Number, Choices int }

// Error says so in a sentence of its own.
func (e *NoChoice) Error() string {
	return fmt.Sprintf("There is no answer %d. Write a number from 1 to %d, or words; a ratio with its places: 2.00",
		e.Number, e.Choices)
}

// read reads the answer to a question.
func (v *Interview) read(q *Asked, text string) ([]Observation, error) {
	t := v.Case.Train
	n, err := strconv.Atoi(text)
	if i := slices.IndexFunc(q.Choices, func(c string) bool { return strings.EqualFold(c, text) }); i >= 0 {
		n, err = i+1, nil // the very words that stand there
	}
	switch at, words, elsewhere := strings.Cut(text, "="); {
	case err == nil && (n < 1 || n > len(q.expect)):
		return nil, &NoChoice{n, len(q.expect)}
	case err == nil:
		return q.expect[n-1].Seen, nil
	case elsewhere:
		return diagnosis.Parse(t, at, words)
	}
	place := Observation{Range: q.test.Range, To: -1}
	switch {
	case q.Shift:
		place.To = q.test.To
	case q.test.Kind.InShop():
		place = Observation{Range: -1, To: -1, Shop: &q.test}
	}
	return diagnosis.ParseSeen(t, place, q.test.Spoken(text))
}

// Back takes the last answer away, and says of what it was, "" if it was left open; ok
// is false if nothing was answered yet.
func (v *Interview) Back() (place string, ok bool) {
	n := len(v.done) - 1
	if n < 0 {
		return "", false
	}
	v.told = min(v.told, n)
	if k := v.added[n]; k > 0 {
		seen := v.Case.Seen
		place = seen[len(seen)-k].Place(v.Case.Train)
		v.Case.Seen = seen[:len(seen)-k]
	} else {
		v.open = v.open[:len(v.open)-1]
	}
	v.done, v.added = v.done[:n], v.added[:n]
	return place, true
}

// Front says who is suspected first, the first few by name, and how that agrees with what
// was seen.
func (v *Interview) Front(ctx context.Context) (string, error) {
	a, err := v.diagnose(ctx)
	if err != nil {
		return "", err
	}
	g := &a.Groups[0]
	names := kinematics.Map(g.Suspects, func(s *diagnosis.Suspect) string { return s.Text(v.Case.Train) })
	if n := len(names); n > 4 {
		names = append(names[:3:3], fmt.Sprintf("and %d more", n-3))
	}
	return fmt.Sprintf("%s in front (%s): %s", kinematics.Count(len(g.Suspects), "suspect"), a.Agreement(g),
		strings.Join(names, "; ")), nil
}

// Answer is what the interview comes to, with the next test.
func (v *Interview) Answer(ctx context.Context) (*Diagnosed, error) {
	a, err := v.diagnose(ctx)
	if err != nil {
		return nil, err
	}
	plan, err := a.Plan(ctx, 1, nil)
	if err != nil {
		return nil, err
	}
	x := &diagnosed{Answer: a, brief: true}
	return x.answer(plan.Proposals), nil
}
