package fit

import (
	"context"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// What the digits of a figure differ in.
func TestSlips(t *testing.T) {
	for _, c := range []struct {
		printed, meant string
		want           int
	}{{"1.76", "1.67", 1}, {"1.67", "1.67", 0}, {"1.57", "1.67", 1}, {"2.471", "2.741", 1}, {"0.98", "1.03", 3},
		{"10.2", "9.9", 4}, {"1.75", "1.57", 1}} {
		if got := slips(c.printed, c.meant); got != c.want {
			t.Errorf("%s for %s: %d, not %d", c.printed, c.meant, got, c.want)
		}
	}
}

// In charts of library trains one cell or one digit is wrong: what is called a misprint is that
// cell, or is among the figures of which one is. A train with much to spare is found again.
func TestOneSlip(t *testing.T) {
	layouts := Layouts(library(t))
	r := rand.New(rand.NewPCG(7, 11))
	names := []string{"four-carrier-eight-speed", "lepelletier-six-speed", "four-carrier-nine-speed"}
	if os.Getenv("TIEUP_EXHAUSTIVE") != "" {
		names = append(names, "four-carrier-ten-speed", "interlinked-six-speed", "lepelletier-eight-speed",
			"ravigneaux-four-speed", "hub-fourteen-speed", "cascaded-six-speed")
	}
	for _, l := range layouts {
		if l.Plain || !slices.Contains(names, l.base) {
			continue
		}
		for _, digits := range []bool{false, true} {
			c := chartOf(l, l.values(), 3, r)
			row, col := r.IntN(len(c.Rows)), r.IntN(len(c.Columns))
			for c.Rows[row].Marks[col] == Unknown || digits && c.Rows[row].Ratio.Value.Abs().Cmp(exact.Int(1)) == 0 {
				row, col = r.IntN(len(c.Rows)), r.IntN(len(c.Columns))
			}
			was := ""
			if digits {
				was = c.wrongDigit(row, r)
			} else {
				c.Rows[row].Marks[col] = On - c.Rows[row].Marks[col]
			}
			a, err := Fit(context.Background(), c, layouts)
			if err != nil || len(a.Fitted) == 0 {
				t.Errorf("%s, %s, column %s, %s: nothing fits, %v", l.base, c.Rows[row].Name, c.Columns[col].Name, was, err)
				continue
			}
			f := a.Fitted[0]
			named := slices.ContainsFunc(f.Suspects, func(s Suspect) bool { return s.Row == row })
			if !digits {
				named = slices.ContainsFunc(f.Differences, func(d Difference) bool { return d.Row == row && d.Column == col })
			}
			if f.Layout.base != l.base || !named {
				t.Errorf("%s, %s, column %s, %s: it fits %s with %+v and %+v", l.base, c.Rows[row].Name, c.Columns[col].Name,
					was, f.Layout.base, f.Suspects, f.Differences)
			}
		}
	}
}

// wrongDigit changes a digit of a figure, and returns the figure as it was.
func (c *Chart) wrongDigit(row int, r *rand.Rand) (was string) {
	p := c.Rows[row].Ratio
	text := []byte(p.Text)
	i := r.IntN(len(text) - 1) // the last can be right by chance
	for text[i] == '.' || text[i] == '-' || text[i] == '0' {
		i = r.IntN(len(text) - 1)
	}
	text[i] = '0' + (text[i]-'0'+1+byte(r.IntN(8)))%10
	v, err := exact.Parse(string(text))
	if err != nil || v.Sign() == 0 {
		return p.Text
	}
	c.Rows[row].Ratio = &Printed{string(text), v, p.Places}
	return p.Text + " as " + string(text)
}

// A Ravigneaux set with a = 2.741 and b = 2.428 has, by hand, a, (a + b)/(1 + b), 1, b/(1 + b) and
// -b. Where first is printed 2.471, it or second is wrong: second would be (2.471 + b)/(1 + b) = 1.429.
func TestOneOfTwo(t *testing.T) {
	trains := library(t)
	i := slices.IndexFunc(trains, func(t *kinematics.Train) bool { return t.Name == "ravigneaux-four-speed" })
	mark := func(text string) (list []Mark) {
		for _, c := range text {
			list = append(list, map[rune]Mark{'x': On, '.': Off}[c])
		}
		return list
	}
	c := &Chart{}
	for _, name := range []string{"C1", "C2", "C3", "B1", "B2"} {
		c.Columns = append(c.Columns, Column{Name: name})
	}
	for _, x := range []struct {
		name, marks string
		ratio       float64
	}{{"1", "x...x", 2.471}, {"2", "x..x.", 1.508}, {"3", "xx...", 1}, {"4", ".x.x.", 0.708}, {"R", "..x.x", -2.428}} {
		c.Rows = append(c.Rows, Row{Name: x.name, Marks: mark(x.marks), Ratio: printed(x.ratio, 3)})
	}
	a, err := Fit(context.Background(), c, Layouts(trains[i:i+1]))
	if err != nil || len(a.Fitted) == 0 {
		t.Fatal(a, err)
	}
	s := a.Fitted[0].Suspects
	if len(s) != 2 || s[0].Row != 0 || s[1].Row != 1 || a.Fitted[0].Misprint != 0 {
		t.Fatalf("%+v", s)
	}
	if s[0].Least > 2.741 || s[0].Most < 2.741 || c.Digits(1, s[1].Least) != "1.429" || c.Digits(1, s[1].Most) != "1.429" {
		t.Errorf("the others give %+v", s)
	}
}
