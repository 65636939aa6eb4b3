package diagnosis_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
)

// The tables of the package comment are what the function that fits observations
// says. Run the test with -update to write them anew.
func TestFitTablesInPackageComment(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range diagnosis.FitTables() {
		word := 0
		for _, r := range table.Rows {
			word = max(word, min(len(r.Word), 21))
		}
		want := "//\t" + table.Title + "\n"
		row := func(seen string, fully, partly []string) {
			cells := [][]string{lines(strings.Fields(seen), "", word), lines(fully, ",", 42), lines(partly, ",", 34)}
			for k := range max(len(cells[0]), len(cells[1]), len(cells[2])) {
				var at [3]string
				for i := range cells {
					if k < len(cells[i]) {
						at[i] = cells[i][k]
					}
				}
				want += "//\t" + strings.TrimRight(fmt.Sprintf("%-*s  %-42s  %s", word, at[0], at[1], at[2]), " ") + "\n"
			}
		}
		row("seen", []string{"fits fully"}, []string{"fits partly"})
		for _, r := range table.Rows {
			row(r.Word, table.That(&r, diagnosis.Fully), table.Less(&r))
		}
		from := strings.Index(string(src), "//\t"+table.Title+"\n")
		switch {
		case strings.Contains(string(src), want+"//\n"):
		case *update && from >= 0:
			end := from + strings.Index(string(src[from:]), "//\n")
			src = slices.Concat(src[:from:from], []byte(want), src[end:])
		default:
			t.Errorf("doc.go does not have this table: run this test with -update\n%s", want)
		}
	}
	if *update {
		if err := os.WriteFile("doc.go", src, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// lines sets words with something between them in lines of a width.
func lines(words []string, between string, width int) []string {
	var list []string
	for i, w := range words {
		if i < len(words)-1 {
			w += between
		}
		if n := len(list) - 1; n >= 0 && len(list[n])+1+len(w) <= width {
			list[n] += " " + w
		} else {
			list = append(list, w)
		}
	}
	return list
}

// The table of set-ups in the package comment is what the planner goes by.
func TestSetUpsInPackageComment(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range diagnosis.SetUps() {
		var names []string
		for _, h := range reading.AllHazards() {
			if s.Carries(h) {
				names = append(names, h.String())
			}
		}
		carries := strings.Join(lines(names, ",", 90), "\n//\t            ")
		want := "//\t" + strings.TrimRight(fmt.Sprintf("%-10s  %s", s, carries), " ") + "\n"
		if !strings.Contains(string(src), want) {
			t.Errorf("doc.go does not have the line\n%s", want)
		}
	}
}

// What the design of the table asks: none fits what does not drive fully and a
// tie-up partly, bind the reverse.
func TestFits(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	for _, c := range []struct {
		fault, place, seen string
		want               diagnosis.Fit
	}{
		{"forward=open", "D1", "none", diagnosis.Fully},         // neutral
		{"forward=open", "D1", "revs", diagnosis.Fully},         //
		{"forward=open", "D1", "bind", diagnosis.Not},           // nothing resists
		{"forward=stuck", "R", "none", diagnosis.Partly},        // a tie-up
		{"forward=stuck", "R", "bind", diagnosis.Fully},         //
		{"forward=stuck", "R", "loaded", diagnosis.Fully},       //
		{"forward=stuck", "P", "lurch", diagnosis.Fully},        //
		{"forward=stuck", "P", "lurch-backward", diagnosis.Not}, //
		{"forward=stuck", "N", "forward", diagnosis.Fully},
		{"forward=stuck", "N", "creeps", diagnosis.Fully},          // idling behind a converter, what drives creeps
		{"forward=stuck", "N", "creeps-forward", diagnosis.Partly}, // drives, which is more
		{"forward=stuck", "N", "as D1", diagnosis.Fully},
		{"forward=stuck", "N", "as D2", diagnosis.Not}, // 2.45 is nearer to D1
		{"forward=stuck", "N", "2.47", diagnosis.Fully},
		{"forward=stuck", "N", "2.53", diagnosis.Partly}, // 3.1 % off
		{"forward=stuck", "N", "2.60", diagnosis.Not},    // 5.9 % off
		{"forward=stuck", "N", "2700/1100", diagnosis.Fully},
		{"forward=dragging 0.1", "N", "creeps-forward", diagnosis.Fully},
		{"forward=dragging 0.1", "N", "forward", diagnosis.Partly},
		{"forward=dragging 0.1", "N", "ok", diagnosis.Not},
		{"direct=open", "D3", "slips", diagnosis.Fully}, // falls back to first on its roller
		{"direct=open", "D3", "as D1", diagnosis.Fully},
		{"direct=open", "D3", "ok", diagnosis.Not},
		{"direct=stuck", "D1", "slips", diagnosis.Not}, // pulls the engine down
		{"roller=reversed", "D1", "none", diagnosis.Fully},
		{"roller=reversed", "D1", "engine-braking", diagnosis.Fully}, // coasting turns the engine
		{"roller=slips", "D1", "no-engine-braking", diagnosis.Fully},
		{"roller=reversed", "D1", "coasts 2.45", diagnosis.Fully},
		{"intermediate=stuck", "N", "rolls-forward-only", diagnosis.Fully},
		{"intermediate=stuck", "N", "held", diagnosis.Partly},
		{"pawl=missing", "P", "rolls", diagnosis.Fully},
		{"pawl=missing", "P", "held", diagnosis.Not},
		{"pawl=missing", "P", "ok", diagnosis.Not},
		{"forward=weak 0.6", "D1", "slips-full", diagnosis.Fully},
		{"forward=weak 0.6", "D1", "forward", diagnosis.Fully},
		{"forward=weak 0.6", "D1", "holds-full", diagnosis.Not},
		{"forward=weak 0.6", "D1", "ok", diagnosis.Partly},
	} {
		a := b.diagnose(see(t, train, c.place, c.seen)...)
		claim := a.Claim(suspect(fault(t, train, c.fault)).Faults)
		if got := claim.Fits[0]; got != c.want {
			t.Errorf("%s: %s seen as %s %v, want %v", c.fault, c.place, c.seen, got, c.want)
		}
	}
}

func TestParse(t *testing.T) {
	train := library(t, "overdrive-simpson-four-speed")
	values := func(seen []diagnosis.Observation) string {
		var list []string
		for i := range seen {
			list = append(list, seen[i].Place(train)+"="+seen[i].Value(train))
		}
		return strings.Join(list, " ")
	}
	for _, c := range []struct{ place, seen, want, err string }{
		{place: "R", seen: "bind", want: "R=bind"},
		{place: " R ", seen: " bind ", want: "R=bind"},
		{place: "D1", seen: "forward, no-engine-braking", want: "D1=forward D1=no-engine-braking"},
		{place: "D2", seen: "as D1", want: "D2=as D1"},
		{place: "D2", seen: "as-D1", want: "D2=as D1"},
		{place: "D2", seen: "1800/735", want: "D2=1800/735"},
		{place: "D2", seen: "2.45,engine-braking,coasts 2.45", want: "D2=2.45 D2=engine-braking D2=coasts 2.45"},
		{place: "D2", seen: "ratio 2.45", want: "D2=2.45"},
		{place: "D2-D3", seen: "flare", want: "D2-D3=flare"},
		{place: "D2", seen: "not tested"},
		{place: "D2", seen: "not-tested"},
		{place: "L", seen: "none", want: "M1=none"}, // the position offers this range alone
		{place: "N", seen: "ok, rolls", want: "N=ok N=rolls"},
		{place: "N", seen: "ok, none", want: "N=ok N=none"},

		{place: "D", seen: "slips", want: "D=slips"},
		{place: "N-D", seen: "late, harsh", want: "N-D1=late N-D1=harsh"},
		{place: "D1-D2", seen: "no upshift", want: "D1-D2=no-shift"},
		{place: "D1-D2", seen: "shudders hot", want: "D1-D2=shudder hot"},
		{place: "R", seen: "backward", want: "R=reverse"},
		{place: "R", seen: "drives backward", want: "R=reverse"},
		{place: "R", seen: "no reverse", want: "R=none"},
		{place: "D3", seen: "no reverse", err: `D3 is not meant to drive that way, so "no reverse" says nothing of it: write R=none if R does not drive`},
		{place: "D2", seen: "slips 2.0", want: "D2=slips 2.0"},
		{place: "D2", seen: "2.0 pulling", want: "D2=2.0 pulling"},
		{place: "D2", seen: "engine 2600/900", want: "D2=engine 2600/900"},
		{place: "R", seen: "ok cold, none hot", want: "R=ok cold R=none hot"},
		{place: "R", seen: "slips 3 of 10", want: "R=slips 3 of 10"},
		{place: "R", seen: "slips 11 of 10", err: "so often of so many tries"},
		{place: "R", seen: "slips 0 of 10", err: "then it was not seen"},
		{place: "R", seen: "slips hot cold", err: "cannot both be: write them as two observations"},
		{place: "R", seen: "slips hot hot", err: "hot is given twice"},
		{place: "N", seen: "forward raced", want: "N=forward raced"},
		{place: "D1", seen: "ok on stands, slips loaded", want: "D1=ok stands D1=slips loaded"},
		{place: "D1", seen: "stall 2750 of 2100-2400", want: "D1=stall 2750 of 2100-2400"},
		{place: "D1", seen: "stall 2750", err: "write stall 2750 of 2100-2400"},
		{place: "D1", seen: "stall 2750 of 2400-2100", err: "the lower limit comes first"},
		{place: "D1", seen: "note whines, cold", err: "no such observation"},
		{place: "D1", seen: "note whines cold", want: "D1=note whines cold"},
		{place: "D1", seen: "note", err: "which note?"},
		{place: "N", seen: "rolls with drag", want: "N=rolls-with-drag"},
		{place: "X", seen: "none", err: `has no range "X"`},
		{place: "D2-D9", seen: "flare", err: `shift D2-D9: overdrive-simpson-four-speed has no range "D9"`},
		{place: "D2-D2", seen: "flare", err: "leads to the range that it leaves"},
		{place: "R", seen: "bimd", err: `no such observation "bimd": did you mean bind?`},
		{place: "R", seen: "green", err: `no such observation "green": write ok, forward`},
		{place: "R", seen: "", err: "what was seen?"},
		{place: "R", seen: "bind,", err: "what was seen?"},
		{place: "D2-D3", seen: "forward", err: `no such observation "forward": write ok, bind, flare`},
		{place: "D2", seen: "as", err: "as which range?"},
		{place: "D2", seen: "as D9", err: `has no range "D9"`},
		{place: "D2", seen: "ratio", err: "no such observation"},
		{place: "D2", seen: "ratio x", err: `"x" is no ratio`},
		{place: "D2", seen: "1800/0", err: "the output stands"},
		{place: "D2", seen: "0", err: "a ratio is above 0"},
		{place: "D2", seen: "coasts", err: "is no ratio"},
		{place: "D1", seen: "forward, reverse", err: "forward and reverse cannot both be seen in one range"},
		{place: "D1", seen: "bind, none", err: "cannot both be seen"},
		{place: "D1", seen: "bind, bind", err: "bind is given twice"},
		{place: "D1", seen: "ok, slips", err: "cannot both be seen"},
		{place: "D1", seen: "engine-braking, no-engine-braking", err: "cannot both be seen"},
		{place: "D1-D2", seen: "ok, flare", err: "cannot both be"},
	} {
		seen, err := diagnosis.Parse(train, c.place, c.seen)
		switch {
		case c.err != "" && (err == nil || !strings.Contains(err.Error(), c.err)):
			t.Errorf("%s=%s: error %v, want %q", c.place, c.seen, err, c.err)
		case c.err == "" && err != nil:
			t.Errorf("%s=%s: %v", c.place, c.seen, err)
		default:
			if diff := cmp.Diff(c.want, values(seen)); c.err == "" && diff != "" {
				t.Errorf("%s=%s: %s", c.place, c.seen, diff)
			}
		}
	}
}

// What is written of an observation is read back as the same.
func TestWordsReadBack(t *testing.T) {
	for _, train := range withFriction(t) {
		b := newBench(train, diagnosis.Default())
		for _, s := range b.singles() {
			for _, o := range b.all.RoadTest(s) {
				again, err := diagnosis.Parse(train, o.Place(train), o.Value(train))
				if err != nil || len(again) != 1 || again[0].Word != o.Word || again[0].Range != o.Range {
					t.Fatalf("%s: %s=%s is read as %v, %v", train.Name, o.Place(train), o.Value(train), again, err)
				}
			}
		}
	}
}

// Shift names are found also where range names have hyphens of their own.
func TestShiftOfHyphenatedRanges(t *testing.T) {
	train := library(t, "power-split-hybrid")
	o, err := diagnosis.ParsePlace(train, "N-generator-held")
	if err != nil {
		t.Fatal(err)
	}
	if got := train.Ranges[o.Range].Name + " to " + train.Ranges[o.To].Name; got != "N to generator-held" {
		t.Error(got)
	}
}

// What is no vehicle with an engine has a glossary without either, and without what cannot
// be seen of it; a vehicle has the whole of it.
func TestGlossaryByUse(t *testing.T) {
	for _, name := range []string{"hub-three-speed", "stepped-pinion-winch", "simple-planetary"} {
		train := library(t, name)
		if train.Use == kinematics.InVehicle {
			continue
		}
		for _, g := range slices.Concat(diagnosis.GlossaryOf(train), diagnosis.ShopGlossaryOf(train)) {
			for _, word := range []string{"engine", "throttle", "vehicle", "wheels", "pushed", "pressure"} {
				if strings.Contains(strings.ReplaceAll(g.Meaning, "no-engine-braking", ""), word) {
					t.Errorf("%s: %s: %s", name, g.Word, g.Meaning)
				}
			}
			if len(g.Meaning) > 72 {
				t.Errorf("%s: %s: %s: too long for a form", name, g.Word, g.Meaning)
			}
		}
	}
	if got := diagnosis.GlossaryOf(library(t, "depot-shuttle-three-speed")); !slices.Equal(got, diagnosis.Glossary()) {
		t.Errorf("of a vehicle: %v", got)
	}
}

// A train of whose controls nothing is known has no tests of them.
func TestGlossaryWithoutControls(t *testing.T) {
	for _, g := range diagnosis.ShopGlossaryOf(library(t, "simpson-three-speed")) {
		for _, word := range []string{"solenoid", "circuit"} {
			if strings.Contains(g.Meaning, word) {
				t.Errorf("%s: %s", g.Word, g.Meaning)
			}
		}
	}
}
