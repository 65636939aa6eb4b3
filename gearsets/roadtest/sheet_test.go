package roadtest_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/gearsets/roadtest"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

const goodSheet = `# what the depot's bus did
sheet: 1
train: depot-shuttle-three-speed
vehicle: "bus 14: 210,000 km"
complaint: >-
  binds in reverse,
  drives in neutral
circumstances: [sudden, clean]
seen:
  P: lurch-forward
  R: bind
  N: [forward, as D1, 2.45]
  D1: not tested
  D2:
shifts:
  D1-D2: ok
workshop:
  pressure:direct@R: fed
  air:direct: good
  element:shell:front.sun: good
  bench:forward+direct: [turns 1, held-locks]
  bench:-: back-turns
assume:
  error-rate: 10%
  tolerance: 0.03
  weak: 1/2
  dragging: 0.05
  light-throttle: 0.2
  full-throttle: 1.1
  classes: [joint, one-way]
  effort: {stall: 0, bench: 9}
`

func TestParse(t *testing.T) {
	s, problems, err := roadtest.Parse("bus.yaml", []byte(goodSheet))
	if err != nil || len(problems) != 0 {
		t.Fatalf("%v\n%s", err, problems.Excerpts())
	}
	c := s.Case
	if c.Train.Name != "depot-shuttle-three-speed" || s.TrainName != c.Train.Name || c.Vehicle != "bus 14: 210,000 km" ||
		c.Complaint != "binds in reverse, drives in neutral" {
		t.Errorf("train %q, vehicle %q, complaint %q", c.Train.Name, c.Vehicle, c.Complaint)
	}
	if got := seenIn(c); got != "P=lurch-forward R=bind N=forward N=as D1 N=2.45 D1-D2=ok pressure:direct@R=fed air:direct=good "+
		"element:shell:front.sun=good bench:forward+direct=turns 1 bench:forward+direct=held-locks bench:-=back-turns" {
		t.Errorf("seen %s", got)
	}
	if got := fmt.Sprint(c.Circumstances); got != "[it came suddenly fluid and pan clean]" {
		t.Errorf("circumstances %s", got)
	}
	a := c.Assume
	if a.ErrorRate != 0.1 || a.Tolerance.Cmp(exact.NewFrac(3, 100)) != 0 || a.Weak.String() != "0.5" || a.Dragging.String() != "0.05" ||
		a.Light.String() != "0.2" || a.Full.String() != "1.1" {
		t.Errorf("assumptions %+v", a)
	}
	if a.Classes[0] != diagnosis.Joint || a.Classes[1] != diagnosis.Freewheel || a.Classes[2] != diagnosis.Linkage || len(a.Classes) != 7 {
		t.Errorf("classes %v", a.Classes)
	}
	if a.Effort[diagnosis.Stall] != 0 || a.Effort[diagnosis.Bench] != 9 || a.Effort[diagnosis.Position] != 1 {
		t.Errorf("effort %v", a.Effort)
	}
}

func seenIn(c *diagnosis.Case) string {
	var list []string
	for i := range c.Seen {
		list = append(list, c.Seen[i].Place(c.Train)+"="+c.Seen[i].Value(c.Train))
	}
	return strings.Join(list, " ")
}

// Each line is a sheet with one thing wrong in it, put below a good beginning,
// and the message with its place.
func TestBrokenSheets(t *testing.T) {
	const head = "sheet: 1\ntrain: depot-shuttle-three-speed\n"
	for _, c := range []struct{ name, src, want, hint string }{
		{"empty", "", `s.yaml:1:1: the file is empty`, `begin with "sheet: 1"; "tieup sheet TRAIN" prints one to fill in`},
		{"a train file", "tieup: 1\n", "s.yaml:1:1: the key sheet is missing: is this a road-test sheet?", `write "sheet: 1"`},
		{"other version", "sheet: 2\n", `s.yaml:1:8: format version "2" is not known: this program reads version 1`, ""},
		{"no train", "sheet: 1\n", "s.yaml:1:1: train is missing", "write train: and the name of a train, or the path of its file"},
		{"misspelt train", "sheet: 1\ntrain: depot-shutle-three-speed\n", `s.yaml:2:8: there is no train "depot-shutle-three-speed": did you mean "depot-shuttle-three-speed"?`, ""},
		{"no such file", "sheet: 1\ntrain: ./mine.yaml\n", `s.yaml:2:8: mine.yaml: no such file or directory`, ""},
		{"train on standard input", "sheet: 1\ntrain: \"-\"\n", `s.yaml:2:8: a sheet cannot take its train from standard input`, ""},
		{"misspelt key", head + "sen: {}\n", `s.yaml:3:1: unknown key "sen"`, `did you mean "seen"?`},
		{"twice", head + "seen: {R: bind}\nseen: {N: ok}\n", `s.yaml:4:1: seen is given twice`, "keep one"},
		{"no such range", head + "seen:\n  D5: none\n", `s.yaml:4:3: depot-shuttle-three-speed has no range "D5": did you mean D1? It has P, R, N, D1, D2, D3, L1`, ""},
		{"a position's reading twice", head + "seen:\n  D: [slips, slips]\n", `s.yaml:4:14: D: slips is given twice`, ""},
		{"misspelt word", head + "seen:\n  R: bimd\n", `s.yaml:4:6: R: no such observation "bimd": did you mean bind?`, ""},
		{"second word of a list", head + "seen:\n  R: [bind, hold]\n", `s.yaml:4:13: R: no such observation "hold": did you mean held?`, ""},
		{"two that cannot be", head + "seen:\n  R: [bind, reverse]\n", `s.yaml:4:13: R: bind and reverse cannot both be seen in one range`, ""},
		{"seen is a list", head + "seen: [R]\n", `s.yaml:3:7: seen: a list where keys with values belong`, "R: bind"},
		{"the workshop among ranges", head + "seen:\n  air:direct: good\n", `s.yaml:4:3: air:direct is a test in the workshop, not a range`, "put it under workshop:"},
		{"a range in the workshop", head + "workshop:\n  R: bind\n", `s.yaml:4:3: R is a range, not a test in the workshop`, "put it under seen:"},
		{"no such element", head + "workshop: {air:dirct: good}\n", `s.yaml:3:12: depot-shuttle-three-speed has no element "dirct": did you mean direct?`, ""},
		{"a test twice", head + "workshop:\n  bench:forward+direct: locks\n  bench:direct+forward: back-locks\n", `s.yaml:5:3: bench:direct+forward is given twice`, "in one list"},
		{"a shift among ranges", head + "seen:\n  D1-D2: ok\n", `s.yaml:4:3: D1-D2 is a shift, not a range`, "put it under shifts:"},
		{"a range among shifts", head + "shifts:\n  D1: ok\n", `s.yaml:4:3: D1 is a range, not a shift`, "put it under seen:"},
		{"no such circumstance", head + "circumstances: [suden]\n", `s.yaml:3:17: no such circumstance "suden": did you mean sudden?`, "sudden, gradual"},
		{"circumstances that exclude", head + "circumstances: [hot, cold]\n", `s.yaml:3:22: hot and cold cannot both be`, ""},
		{"error rate", head + "assume: {error-rate: 60%}\n", `s.yaml:3:22: assume: error-rate cannot be "60%"`, "from 1% to 49%"},
		{"tolerance", head + "assume: {tolerance: some}\n", `s.yaml:3:21: assume: tolerance cannot be "some"`, ""},
		{"weak", head + "assume: {weak: 1.5}\n", `s.yaml:3:16: assume: weak: it must be below 1`, ""},
		{"throttles", head + "assume: {light-throttle: 0.5, full-throttle: 0.4}\n", `s.yaml:3:10: assume: light-throttle must be less than full-throttle`, ""},
		{"class", head + "assume: {classes: [joints]}\n", `s.yaml:3:20: assume: no such class of causes "joints": did you mean joint?`, ""},
		{"class twice", head + "assume: {classes: [joint, joint]}\n", `s.yaml:3:27: assume: joint is named twice`, ""},
		{"kind of test", head + "assume: {effort: {stal: 0}}\n", `s.yaml:3:19: effort: no such kind of test "stal": did you mean stall?`, "position"},
		{"effort", head + "assume: {effort: {stall: low}}\n", `s.yaml:3:26: effort: stall is "low", not a whole number of effort`, ""},
		{"anchors", head + "vehicle: &v bus\n", `s.yaml:3:10: anchors (&v) are not used in road-test sheets`, ""},
		{"two sheets", head + "---\nsheet: 1\n", `s.yaml:3:1: a second document begins here`, "one file is one sheet"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, problems, err := roadtest.Parse("s.yaml", []byte(c.src))
			if s != nil || err == nil || len(problems) != 1 {
				t.Fatalf("sheet %v, error %v, problems:\n%s", s != nil, err, problems.Excerpts())
			}
			if got := problems[0].Error(); got != c.want {
				t.Errorf("message %q, want %q", got, c.want)
			}
			if !strings.Contains(problems[0].Hint, c.hint) {
				t.Errorf("hint %q, want %q", problems[0].Hint, c.hint)
			}
		})
	}
}

// All that is wrong is said at once.
func TestSheetProblemsAtOnce(t *testing.T) {
	_, problems, err := roadtest.Parse("s.yaml", []byte("sheet: 1\ntrain: depot-shuttle-three-speed\ncircumstances: [x]\nseen:\n  R: bimd\n  D9: ok\nassume: {weak: 2}\n"))
	if err == nil || len(problems) != 4 {
		t.Errorf("%d problems, want 4:\n%s", len(problems), problems.Excerpts())
	}
}

// A train that the sheet names by a path is found from the folder of the sheet;
// what is wrong with it is said of its own file.
func TestSheetNamesTrainFile(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, src []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, src, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	write("mine.yaml", gearsets.Source("depot-shuttle-three-speed"))
	sheet := []byte("sheet: 1\ntrain: ./mine.yaml\nseen: {R: bind}\n")
	path := write("s.yaml", sheet)
	s, problems, err := roadtest.Parse(path, sheet)
	if err != nil || s.Case.Train == nil {
		t.Fatalf("%v\n%s", err, problems.Excerpts())
	}
	bad := write("mine.yaml", []byte("tieup: 1\n"))
	_, _, err = roadtest.Parse(path, sheet)
	if err == nil || !strings.Contains(err.Error(), bad+":1:1: name is missing") {
		t.Errorf("error %v", err)
	}
}

// sorted puts what was seen into an order of its own: a sheet has that of its parts.
func sorted(seen string) string {
	list := strings.Split(seen, " ")
	slices.Sort(list)
	return strings.Join(list, " ")
}

// What is written of a case is read back as the same, whatever was seen: of one
// train, and of every train of the library with TIEUP_EXHAUSTIVE=1.
func TestSheetReadsBack(t *testing.T) {
	names := []string{"depot-shuttle-three-speed"}
	if os.Getenv("TIEUP_EXHAUSTIVE") != "" {
		names = gearsets.Names()
	}
	for _, name := range names {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := diagnosis.New(t.Context(), solve.Compile(train), diagnosis.Default())
		if err != nil {
			t.Fatal(err)
		}
		empty := &diagnosis.Case{Train: train, Assume: diagnosis.Default()}
		all, err := f.Diagnose(t.Context(), empty, diagnosis.Options{Faults: 1})
		if err != nil {
			t.Fatal(err)
		}
		cases := []*diagnosis.Case{empty}
		tests, err := all.Split(t.Context(), 100000, nil)
		if err != nil {
			t.Fatal(err)
		}
		var shifts [][2]int
		for _, x := range tests {
			if x.Kind == diagnosis.Shifting {
				shifts = append(shifts, [2]int{x.Range, x.To})
			}
		}
		for i, s := range all.Groups[0].Suspects {
			if i%5 == 0 {
				var seen []diagnosis.Observation
				for k, x := range tests {
					if x.Kind.OnTheRoad() && x.Kind != diagnosis.Shifting ||
						x.Kind.InShop() && k%7 == 0 && (x.Kind != diagnosis.Bench || x.Turning == diagnosis.FreeOutput) {
						seen = append(seen, all.Reply(&tests[k].Test, s).Seen...)
					}
				}
				shop := func(o diagnosis.Observation) int { // a sheet has them behind what was seen on the road
					return map[bool]int{true: 1, false: 0}[o.Shop != nil]
				}
				slices.SortStableFunc(seen, func(a, b diagnosis.Observation) int { return shop(a) - shop(b) })
				cases = append(cases, &diagnosis.Case{Train: train, Assume: diagnosis.Default(), Seen: seen,
					Vehicle: `a "quoted" \ vehicle: 1`, Complaint: "no", Circumstances: []diagnosis.Circumstance{diagnosis.Hot, diagnosis.Rebuilt}})
			}
		}
		for _, c := range cases {
			src := roadtest.Format(name, c, shifts)
			s, problems, err := roadtest.Parse("s.yaml", src)
			if err != nil {
				t.Fatalf("%v\n%s\n%s", err, problems.Excerpts(), src)
			}
			again := roadtest.Format(name, s.Case, shifts)
			if diff := cmp.Diff(string(src), string(again)); diff != "" {
				t.Fatalf("%s: %s", name, diff)
			}
			if got, want := sorted(seenIn(s.Case)), sorted(seenIn(c)); got != want {
				t.Fatalf("%s: seen %s, want %s", name, got, want)
			}
		}
	}
}

func TestIsSheet(t *testing.T) {
	for src, want := range map[string]bool{
		goodSheet: true, "sheet : 1": true, "train: x\nsheet: 1\n": true,
		"train: x\nseen: {R: bind}\n": true, "tieup: 1\nsheet: 1\n": false, "tieup: 1\nname: sheet\n": false, "tieup: 1\nshafts:\n  sheet: 1\n": false, "": false, "# sheet: 1\n": false,
	} {
		if got := roadtest.IsSheet([]byte(src)); got != want {
			t.Errorf("%q: %v", src, got)
		}
	}
	for _, name := range gearsets.Names() {
		if roadtest.IsSheet(gearsets.Source(name)) {
			t.Errorf("%s is taken for a sheet", name)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(goodSheet))
	f.Add([]byte("sheet: 1\ntrain: simpson-three-speed\nseen: {D2: [1800/735, coasts 2.4], R: as R}\nshifts: {D1-D2: flare}\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		s, problems, err := roadtest.Parse("s.yaml", src)
		if (s == nil) != (err != nil || problems.Refuse()) && s != nil {
			t.Fatalf("a sheet with %v", problems)
		}
		if s == nil || s.Case.Train == nil {
			return
		}
		once := roadtest.Format(s.TrainName, s.Case, nil)
		again, problems, err := roadtest.Parse("s.yaml", once)
		if err != nil {
			t.Fatalf("cannot be read back: %v\n%s\n%s", err, problems.Excerpts(), once)
		}
		if twice := roadtest.Format(again.TrainName, again.Case, nil); string(twice) != string(once) {
			t.Fatalf("%s\n%s", once, twice)
		}
	})
}
