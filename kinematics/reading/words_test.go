package reading_test

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// oneSet builds the train S of the package comment,
//
//	   ring ──▷ brake "low", roller "ring-roller" (free forward)
//	  ┌─┴─┐
//	pinion carrier ── output, brake "hold", roller "back-roller", pawl
//	  └─┬─┘
//	   sun ── input, brake "input-brake", clutch "direct" to the carrier
//
// with only the elements named, and a range that applies those in apply. With
// ringOut the ring is the output and the carrier is what "low" and the rollers act on.
func oneSet(t *testing.T, ringOut bool, elements, apply []string) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder("S")
	b.Simple("s", 30, 66, 0, false)
	out, held := "s.carrier", "s.ring"
	if ringOut {
		out, held = held, out
	}
	b.Ports("s.sun", out)
	add := map[string]func(){
		"low":         func() { b.Element("low", kinematics.Brake, held, "housing") },
		"hold":        func() { b.Element("hold", kinematics.Brake, out, "housing") },
		"input-brake": func() { b.Element("input-brake", kinematics.Brake, "s.sun", "housing") },
		"direct":      func() { b.Element("direct", kinematics.Clutch, "s.sun", "s.carrier") },
		"pawl":        func() { b.Element("pawl", kinematics.Pawl, out, "housing") },
		// Under drive the ring pushes backward, with the carrier held forward.
		"roller":      func() { b.Element("roller", kinematics.OneWay, held, "housing") },
		"back-roller": func() { b.Element("back-roller", kinematics.OneWay, out, "housing") },
	}
	for _, e := range elements {
		add[e]()
	}
	b.Range("X", apply...)
	if strings.Contains(strings.Join(elements, " "), "direct") {
		b.Range("Y", "direct")
		b.Position("D", "X", "Y")
	}
	if strings.Contains(strings.Join(elements, " "), "low") {
		b.Range("R", "low") // a rating for it
	}
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// TestWords reaches every word by the smallest state of the package comment.
func TestWords(t *testing.T) {
	type state struct {
		ringOut         bool
		elements, apply []string
		fault           string // NAME=KIND
	}
	s := func(words ...string) []string { return words }
	cases := []struct {
		word reading.Word
		state
	}{
		{reading.DrivesForward, state{elements: s("low"), apply: s("low")}},
		{reading.DrivesBackward, state{ringOut: true, elements: s("low"), apply: s("low")}},
		{reading.NoDrive, state{elements: s("low")}},
		{reading.OutputHeld, state{elements: s("low", "hold"), apply: s("hold")}},
		{reading.InputHeld, state{elements: s("low", "input-brake"), apply: s("input-brake")}},
		{reading.TiesUp, state{elements: s("low", "input-brake"), apply: s("low", "input-brake")}},
		{reading.EngineBraking, state{elements: s("low"), apply: s("low")}},
		{reading.Freewheels, state{elements: s("low", "roller")}},
		{reading.HoldsAgainstRoll, state{elements: s("low", "back-roller"), apply: s("low")}},
		{reading.RollsFreely, state{elements: s("low")}},
		{reading.RollsForwardOnly, state{elements: s("low", "back-roller")}},
		{reading.RollsBackwardOnly, state{elements: s("low", "back-roller"), fault: "back-roller=reversed"}},
		{reading.DoesNotRoll, state{elements: s("low", "hold"), apply: s("hold")}},
		{reading.CoastTurnsEngine, state{elements: s("low", "roller"), fault: "roller=reversed"}},
		{reading.CoastTurnsBackward, state{elements: s("low", "back-roller"), apply: s("low"), fault: "back-roller=reversed"}},
		{reading.LurchesForward, state{elements: s("low", "pawl"), apply: s("low", "pawl")}},
		{reading.LurchesBackward, state{ringOut: true, elements: s("low", "pawl"), apply: s("low", "pawl")}},
		{reading.StartsIn, state{elements: s("low", "direct"), fault: "direct=stuck"}},
		{reading.As, state{elements: s("low", "direct"), fault: "direct=stuck"}},
		{reading.HoldsAtLight, state{elements: s("low"), apply: s("low"), fault: "low=weak 0.6"}},
		{reading.FlaresAbove, state{elements: s("low"), apply: s("low"), fault: "low=weak 0.6"}},
		{reading.HoldsUpTo, state{elements: s("low"), apply: s("low"), fault: "low=weak 0.9"}},
		{reading.CreepsForward, state{elements: s("low"), fault: "low=dragging 0.1"}},
		{reading.CreepsBackward, state{ringOut: true, elements: s("low"), fault: "low=dragging 0.1"}},
		{reading.PushesWith, state{elements: s("low"), fault: "low=dragging 0.1"}},
		{reading.Drags, state{elements: s("low", "direct"), apply: s("low"), fault: "direct=dragging 0.1"}},
		{reading.DrawnTo, state{elements: s("low", "roller", "direct"), fault: "direct=dragging 0.1"}},
		{reading.HoldsInput, state{elements: s("low", "direct"), apply: s("low"), fault: "direct=dragging 1"}},
		{reading.GivesWay, state{elements: s("low", "direct"), apply: s("low"), fault: "direct=stuck 0.5"}},
	}
	reached := map[reading.Word]bool{}
	for _, c := range cases {
		train := oneSet(t, c.ringOut, c.elements, c.apply)
		var faults []kinematics.Fault
		if c.fault != "" {
			f, err := kinematics.ParseFault(train, c.fault)
			if err != nil {
				t.Fatal(err)
			}
			faults = append(faults, f)
		}
		reader := reading.NewReader(solve.Compile(train))
		chart := reader.Chart(faults...)
		cell := chart.Rows[0].Faulty
		said := cell.Reading.Has(c.word) || cell.Lurch == c.word || c.word == reading.As && cell.As != "" ||
			c.word == reading.StartsIn && len(chart.Positions) == 1 ||
			cell.Friction != nil && strings.Contains(cell.Friction.Text(), string(c.word))
		if cell.Friction != nil {
			t.Logf("%s: %s", c.fault, cell.Text())
		}
		if !said {
			t.Errorf("%q is not said of %+v, but %q, %q, %q", c.word, c.state, cell.Text(), cell.Reading.Coast, chart.Positions)
		}
		reached[c.word] = true
	}
	for _, w := range declaredWords(t) {
		if !reached[w] {
			t.Errorf("no state of the test reaches %q", w)
		}
	}
}

// declaredWords reads the constants of type Word in the package's source, and
// checks that each has a line in the table of the package comment.
func declaredWords(t *testing.T) []reading.Word {
	t.Helper()
	doc, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	constant := regexp.MustCompile(`(?m)^\t[A-Z]\w*\s+Word\s+= "([^"]+)"`)
	var words []reading.Word
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		src, err := os.ReadFile(f.Name())
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range constant.FindAllStringSubmatch(string(src), -1) {
			words = append(words, reading.Word(m[1]))
			if !strings.Contains(string(doc), "//\t"+m[1]) {
				t.Errorf("%q has no line in the table of the package comment", m[1])
			}
		}
	}
	if len(words) < 19 {
		t.Fatalf("found only %d words: has their form changed?", len(words))
	}
	return words
}
