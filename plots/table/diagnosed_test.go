package table

import (
	"bytes"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
)

// The next test stands on the first screen, of 24 lines of 80 columns, with what it
// can show: for what every single fault of every train would first be complained of.
func TestNextTestOnTheFirstScreen(t *testing.T) {
	cases := 0
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		f := diagnosis.New(solve.Compile(train), diagnosis.Default())
		c := &diagnosis.Case{Train: train, Assume: diagnosis.Default()}
		all := f.Diagnose(c, diagnosis.Options{Faults: 1})
		done := map[string]bool{}
		for _, s := range all.Groups[0].Suspects {
			seen := all.FirstComplaint(s)
			if seen == nil || done[seen[0].Place(train)+seen[0].Value(train)] {
				continue
			}
			done[seen[0].Place(train)+seen[0].Value(train)] = true
			c := &diagnosis.Case{Train: train, Assume: diagnosis.Default(), Seen: seen}
			a := f.Diagnose(c, diagnosis.Options{})
			d := Diagnosed{Answer: a, Proposals: a.Next(3, nil)}
			if len(d.Proposals) == 0 {
				continue
			}
			cases++
			var b bytes.Buffer
			if err := d.Text(&b, 80); err != nil {
				t.Fatal(err)
			}
			lines := strings.Split(b.String(), "\n")
			at, next, end := 0, 0, 0
			for i, line := range lines {
				if strings.HasPrefix(line, "The next test") {
					next = i
				}
				if at > 0 && line == "" {
					end = i
					break
				}
				if next > 0 && at == 0 && strings.HasPrefix(line, "1. ") {
					at = i
				}
			}
			if at == 0 || end > 24 {
				t.Errorf("%s, %s: the next test ends in line %d\n%s", name, seen[0].Place(train)+"="+seen[0].Value(train), end, strings.Join(lines[:end], "\n"))
			}
		}
	}
	if cases < 60 {
		t.Errorf("only %d cases", cases)
	}
}
