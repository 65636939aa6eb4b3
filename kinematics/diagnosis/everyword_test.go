package diagnosis_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics/diagnosis"
)

// everyWord are all words that can be seen, by trains and places that they are of, with
// what some take behind them.
var everyWord = []struct {
	train, place string
	words        []string
}{
	{"depot-shuttle-three-speed", "D2",
		append(diagnosis.Words(false), "as D1", "2.45", "engine 2600/735", "coasts 2.45", "stall 2750 of 2100-2400")},
	{"depot-shuttle-three-speed", "N", []string{"ok", "forward", "none", "bind", "creeps", "creeps-forward", "rolls",
		"rolls-forward-only", "rolls-backward-only", "held"}},
	{"interlinked-four-speed", "N", []string{"reverse", "creeps-backward"}},
	{"depot-shuttle-three-speed", "R", []string{"stall-holds", "stall-runs", "stall-low", "reverse", "rolls-with-drag"}},
	{"depot-shuttle-three-speed", "P", []string{"ok", "lurch", "lurch-forward", "lurch-backward"}},
	{"depot-shuttle-three-speed", "D1-D2", diagnosis.Words(true)},
	{"depot-shuttle-three-speed", "R-D1", []string{"ok", "bind"}}, // between two ranges that drive, standing
	{"depot-shuttle-three-speed", "off:N", []string{"rolls", "held", "rolls-forward-only"}},
	{"depot-shuttle-three-speed", "bench:forward", []string{"locks", "turns 0.41", "held-turns", "held-locks", "back-turns", "back-locks"}},
	{"depot-shuttle-three-speed", "air:direct", []string{"good", "bad"}},
}

// doubtful are words that nothing contradicts more than partly: air can miss what is worn.
var doubtful = []string{"good"}

// Of every word some single fault agrees fully with what was seen, and some contradicts it.
func TestEveryWordAgreesAndContradicts(t *testing.T) {
	var words []string
	worst, best := map[string]diagnosis.Fit{}, map[string]diagnosis.Fit{}
	for _, row := range everyWord {
		train := library(t, row.train)
		b := newBench(train, diagnosis.Default())
		for _, word := range row.words {
			seen, err := diagnosis.Parse(train, row.place, word)
			if err != nil {
				continue // not of this range: it has no pawl, or drives no such way
			}
			name := string(seen[0].Word)
			if !slices.Contains(words, name) {
				words = append(words, name)
				best[name] = diagnosis.Not
			}
			for _, g := range b.diagnose(seen...).Groups {
				worst[name], best[name] = max(worst[name], g.Fits()[0]), min(best[name], g.Fits()[0])
			}
		}
	}
	for _, w := range words {
		want := diagnosis.Not
		if slices.Contains(doubtful, w) {
			want = diagnosis.Partly
		}
		if best[w] != diagnosis.Fully || worst[w] != want {
			t.Errorf("%s: what agrees most %s, what agrees least %s", w, best[w], worst[w])
		}
	}
	for _, w := range slices.Concat(diagnosis.Words(false), diagnosis.Words(true)) {
		if !slices.Contains(words, w) {
			t.Errorf("%s is in no row of the table", w)
		}
	}
}

// besideEachOther lists for each word those that cannot be seen in the same place at the
// same time, itself among them, as that is given twice. It was read through row by row: a
// range drives or does not, one way or the other, slips or holds, and rolls one way, both
// or none.
var besideEachOther = []struct{ place, pairs string }{
	{"D2", `
ok: ok none revs loaded bind creeps creeps-forward creeps-backward slips slips-light slips-full
forward: forward none revs loaded bind creeps creeps-forward creeps-backward
none: ok forward none bind slips-full holds-full
revs: ok forward revs loaded bind slips-full holds-full
loaded: ok forward revs loaded bind slips-full holds-full
bind: ok forward none revs loaded bind slips-full holds-full
creeps: ok forward creeps slips-full holds-full
creeps-forward: ok forward creeps-forward creeps-backward slips-full holds-full
creeps-backward: ok forward creeps-forward creeps-backward slips-full holds-full
slips: ok slips holds-full
slips-light: ok slips-light slips-full holds-full
slips-full: ok none revs loaded bind creeps creeps-forward creeps-backward slips-light slips-full holds-full
holds-full: none revs loaded bind creeps creeps-forward creeps-backward slips slips-light slips-full holds-full
stall-holds: stall-holds stall-runs stall-low
stall-runs: stall-holds stall-runs stall-low
stall-low: stall-holds stall-runs stall-low
engine-braking: engine-braking no-engine-braking locks
no-engine-braking: engine-braking no-engine-braking locks
held: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
rolls: held rolls rolls-with-drag rolls-forward-only rolls-backward-only locks
rolls-with-drag: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
rolls-forward-only: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
rolls-backward-only: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
locks: engine-braking no-engine-braking rolls locks
`},
	{"P", `
ok: ok loaded bind lurch lurch-forward lurch-backward creeps creeps-forward creeps-backward slips slips-light slips-full
forward: forward reverse none revs loaded bind lurch lurch-forward lurch-backward creeps creeps-forward creeps-backward
reverse: forward reverse none revs loaded bind lurch lurch-forward lurch-backward creeps creeps-forward creeps-backward
none: forward reverse none bind slips-full holds-full
revs: forward reverse revs loaded bind slips-full holds-full
loaded: ok forward reverse revs loaded bind slips-full holds-full
bind: ok forward reverse none revs loaded bind slips-full holds-full
lurch: ok forward reverse lurch slips-full holds-full
lurch-forward: ok forward reverse lurch-forward lurch-backward slips-full holds-full
lurch-backward: ok forward reverse lurch-forward lurch-backward slips-full holds-full
creeps: ok forward reverse creeps slips-full holds-full
creeps-forward: ok forward reverse creeps-forward creeps-backward slips-full holds-full
creeps-backward: ok forward reverse creeps-forward creeps-backward slips-full holds-full
slips: ok slips holds-full
slips-light: ok slips-light slips-full holds-full
slips-full: ok none revs loaded bind lurch lurch-forward lurch-backward creeps creeps-forward creeps-backward slips-light slips-full holds-full
holds-full: none revs loaded bind lurch lurch-forward lurch-backward creeps creeps-forward creeps-backward slips slips-light slips-full holds-full
stall-holds: stall-holds stall-runs stall-low
stall-runs: stall-holds stall-runs stall-low
stall-low: stall-holds stall-runs stall-low
engine-braking: engine-braking no-engine-braking locks
no-engine-braking: engine-braking no-engine-braking locks
held: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
rolls: held rolls rolls-with-drag rolls-forward-only rolls-backward-only locks
rolls-with-drag: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
rolls-forward-only: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
rolls-backward-only: held rolls rolls-with-drag rolls-forward-only rolls-backward-only
locks: engine-braking no-engine-braking rolls locks
`},
	{"D1-D2", `
ok: ok bind flare late harsh shudder no-shift
bind: ok bind no-shift
flare: ok flare no-shift
late: ok late no-shift
harsh: ok harsh no-shift
shudder: ok shudder no-shift
no-shift: ok bind flare late harsh shudder no-shift
`},
}

// Every pair of words of a range and of a shift is allowed or refused as the table says,
// whichever comes first.
func TestPairsOfWords(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	for _, row := range besideEachOther {
		var words []string
		refused := map[string][]string{}
		for line := range strings.Lines(strings.TrimSpace(row.pairs)) {
			word, list, _ := strings.Cut(strings.TrimSpace(line), ": ")
			words, refused[word] = append(words, word), strings.Fields(list)
		}
		for _, x := range words {
			for _, y := range words {
				err := diagnosis.Compatible(train, see(t, train, row.place, x), see(t, train, row.place, y)[0])
				if want := slices.Contains(refused[x], y); (err != nil) != want {
					t.Errorf("%s: %s beside %s: %v, want it refused: %v", row.place, y, x, err, want)
				}
			}
		}
	}
	for _, w := range diagnosis.Words(true) {
		if !strings.Contains(besideEachOther[2].pairs, "\n"+w+": ") {
			t.Errorf("%s is in no row of the pairs of a shift", w)
		}
	}
}

// What is no word of a place is refused with those that are, and what each takes.
func TestRefusalNamesTheWords(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	for _, c := range []struct{ place, want string }{
		{"bench:forward", `no such observation "green": write turns and how far, locks, held-turns, held-locks, back-turns, back-locks`},
		{"air:direct", `no such observation "green": write good, bad`},
		{"element:roller", `no such observation "green": write good, bad, slips, seized, reversed`},
		{"D1-D2", `no such observation "green": write ok, bind, flare, late, harsh, shudder, no-shift, note and what else was seen`},
	} {
		if _, err := diagnosis.Parse(train, c.place, "green"); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.place, err, c.want)
		}
	}
}
