package controls

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
)

// A term is an expression of the random networks, evaluated here without the parser
// and the programs of the package: 0 none, 1 low, 2 full.
type term struct {
	word string // and, or, not, or the name of a leaf
	args []*term
}

func (t *term) String() string {
	switch t.word {
	case "and", "or":
		return "(" + t.args[0].String() + " " + t.word + " " + t.args[1].String() + ")"
	case "not":
		return "not " + t.args[0].String()
	}
	return t.word
}

func (t *term) level(of func(string) int) int {
	switch t.word {
	case "and":
		return min(t.args[0].level(of), t.args[1].level(of))
	case "or":
		return max(t.args[0].level(of), t.args[1].level(of))
	case "not":
		return 2 - t.args[0].level(of)
	}
	return of(t.word)
}

func randomTerm(r *rand.Rand, leaves []string, depth int) *term {
	if depth == 0 || r.IntN(4) == 0 {
		return &term{word: leaves[r.IntN(len(leaves))]}
	}
	word := []string{"and", "or", "not"}[r.IntN(3)]
	t := &term{word: word, args: []*term{randomTerm(r, leaves, depth-1)}}
	if word != "not" {
		t.args = append(t.args, randomTerm(r, leaves, depth-1))
	}
	return t
}

// A model is a random network as the brute force knows it.
type model struct {
	solenoids, valves, circuits, elements []string
	up, down, from, feed                  map[string]*term // down may lack a valve
	places                                []string         // "D/D1"
	on                                    map[string][]string
}

func randomModel(r *rand.Rand, t *kinematics.Train) *model {
	m := &model{up: map[string]*term{}, down: map[string]*term{}, from: map[string]*term{}, feed: map[string]*term{}, on: map[string][]string{}}
	for i := range 1 + r.IntN(3) {
		m.solenoids = append(m.solenoids, fmt.Sprint("S", i+1))
	}
	for i := range 1 + r.IntN(6) {
		m.valves = append(m.valves, fmt.Sprint("v", i+1))
	}
	leaves := slices.Concat(m.solenoids, m.valves, m.valves, []string{"lever(D)", "lever(R N)"})
	for i := range 3 {
		name := fmt.Sprint("c", i+1)
		m.from[name] = randomTerm(r, leaves, 2)
		leaves = append(leaves, name)
		m.circuits = append(m.circuits, name)
	}
	for _, v := range m.valves {
		m.up[v] = randomTerm(r, leaves, 2)
		if r.IntN(2) == 0 {
			m.down[v] = randomTerm(r, leaves, 1)
		}
	}
	m.elements = t.ElementNames()
	for _, e := range m.elements {
		m.feed[e] = randomTerm(r, slices.Concat(m.circuits, m.valves), 1)
	}
	for _, p := range t.Positions {
		for _, k := range p.Ranges {
			place := p.Name + "/" + t.Ranges[k].Name
			m.places = append(m.places, place)
			for _, s := range m.solenoids {
				if r.IntN(2) == 0 {
					m.on[place] = append(m.on[place], s)
				}
			}
		}
	}
	return m
}

func (m *model) spec() *Spec {
	s := &Spec{}
	for _, x := range m.solenoids {
		s.Solenoids = append(s.Solenoids, Solenoid{Name: x})
	}
	for _, x := range m.valves {
		v := Valve{Name: x, Up: m.up[x].String()}
		if m.down[x] != nil {
			v.Down = m.down[x].String()
		}
		s.Valves = append(s.Valves, v)
	}
	for _, x := range m.circuits {
		s.Circuits = append(s.Circuits, Circuit{Name: x, From: m.from[x].String()})
	}
	for _, x := range m.elements {
		s.Feeds = append(s.Feeds, Feed{Element: x, Apply: []Area{{From: m.feed[x].String()}}})
	}
	for _, x := range m.places {
		p, rng, _ := strings.Cut(x, "/")
		s.Commands = append(s.Commands, Command{Position: p, Range: rng, Patterns: []Pattern{{On: m.on[x]}}})
	}
	return s
}

// A trouble is a random fault as the brute force knows it.
type trouble struct{ part, kind string }

func randomTrouble(r *rand.Rand, m *model) trouble {
	switch r.IntN(6) {
	case 0:
		return trouble{m.solenoids[r.IntN(len(m.solenoids))], []string{"stuck-on", "stuck-off"}[r.IntN(2)]}
	case 1:
		return trouble{m.valves[r.IntN(len(m.valves))], []string{"stuck-up", "stuck-down"}[r.IntN(2)]}
	case 2:
		return trouble{m.valves[r.IntN(len(m.valves))], "spring-broken"}
	case 3:
		return trouble{m.circuits[r.IntN(len(m.circuits))], "blocked"}
	case 4:
		if len(m.valves) <= 3 { // the brute force tries what a low signal does to each valve
			return trouble{m.circuits[r.IntN(len(m.circuits))], "leaks"}
		}
	}
	return trouble{}
}

// bits of a guess: what a low signal does to each valve, and what both signals do to
// the one without spring.
type guess int

func (g guess) low(valve int) int { return 2 * (int(g) >> (valve + 1) & 1) }
func (g guess) both() int         { return int(g) & 1 }

// levels is the pressure of every part in one state.
func (m *model) levels(place string, x trouble, state int) func(string) int {
	memo := map[string]int{}
	var of func(string) int
	of = func(name string) int {
		if v, ok := memo[name]; ok {
			return v
		}
		v := 0
		p, _, _ := strings.Cut(place, "/")
		switch {
		case name == "lever(D)":
			v = 2 * b2i(p == "D")
		case name == "lever(R N)":
			v = 2 * b2i(p == "R" || p == "N")
		case slices.Contains(m.solenoids, name):
			v = 2 * b2i(slices.Contains(m.on[place], name))
			if x.part == name {
				v = map[string]int{"stuck-on": 2, "stuck-off": 0}[x.kind]
			}
		case slices.Contains(m.valves, name):
			v = 2 * (state >> slices.Index(m.valves, name) & 1)
		default:
			v = m.from[name].level(of)
			if x.part == name && x.kind == "blocked" {
				v = 0
			}
			if x.part == name && x.kind == "leaks" {
				v = min(v, 1)
			}
		}
		memo[name] = v
		return v
	}
	return of
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// to is where valve i goes from a state.
func (m *model) to(place string, x trouble, g guess, state, i int) int {
	name := m.valves[i]
	of := m.levels(place, x, state)
	side := func(t *term) int {
		if t == nil {
			return 0
		}
		if v := t.level(of); v != 1 {
			return v
		}
		return g.low(i)
	}
	up, down := side(m.up[name]), side(m.down[name])
	to := b2i(up == 2 && down == 0)
	if x.part == name {
		switch {
		case x.kind == "stuck-up":
			to = 1
		case x.kind == "stuck-down":
			to = 0
		case up == 0 && down == 0:
			to = state >> i & 1
		case up == 2 && down == 2:
			to = g.both()
		}
	}
	return to
}

// ends returns by state where all orders of movement can end: the closure of all
// single and joint moves, of which those states remain that can be come back to from
// wherever they lead.
func (m *model) ends(place string, x trouble, g guess) [][]int {
	size := 1 << len(m.valves)
	reach := make([][]bool, size)
	for s := range size {
		reach[s] = make([]bool, size)
		reach[s][s] = true
		unstable := 0
		for i := range m.valves {
			unstable |= (m.to(place, x, g, s, i) ^ s>>i&1) << i
		}
		for sub := 1; sub < size; sub++ {
			if sub&^unstable == 0 {
				reach[s][s^sub] = true
			}
		}
	}
	for k := range size {
		for i := range size {
			for j := range size {
				reach[i][j] = reach[i][j] || reach[i][k] && reach[k][j]
			}
		}
	}
	out := make([][]int, size)
	for s := range size {
		for e := range size {
			back := reach[s][e]
			for y := range size {
				back = back && (!reach[e][y] || reach[y][e])
			}
			if back {
				out[s] = append(out[s], e)
			}
		}
	}
	return out
}

// brute returns by place the feeds that some history leads to, as texts.
func (m *model) brute(x trouble) []map[string]bool {
	out := make([]map[string]bool, len(m.places))
	for i := range out {
		out[i] = map[string]bool{}
	}
	guesses := map[string]int{"spring-broken": 2, "leaks": 2 << len(m.valves)}[x.kind]
	guesses = max(1, guesses)
	for g := range guesses {
		ends := make([][][]int, len(m.places))
		for k, p := range m.places {
			ends[k] = m.ends(p, x, guess(g))
		}
		seen := map[[2]int]bool{} // place, state
		var todo []int
		arrive := func(k, from int) {
			for _, e := range ends[k][from] {
				if !seen[[2]int{k, e}] {
					seen[[2]int{k, e}] = true
					todo = append(todo, e)
				}
			}
		}
		for k, p := range m.places {
			if p[0] == 'P' || p[0] == 'N' {
				for _, s := range m.starts(x) {
					arrive(k, s)
				}
			}
		}
		for len(todo) > 0 {
			s := todo[0]
			todo = todo[1:]
			for k := range m.places {
				arrive(k, s)
			}
		}
		for at := range seen {
			out[at[0]][m.fed(m.places[at[0]], x, at[1])] = true
		}
	}
	return out
}

func (m *model) starts(x trouble) []int {
	i := slices.Index(m.valves, x.part)
	switch x.kind {
	case "stuck-up":
		return []int{1 << i}
	case "spring-broken":
		return []int{0, 1 << i}
	}
	return []int{0}
}

func (m *model) fed(place string, x trouble, state int) string {
	of := m.levels(place, x, state)
	text := ""
	for _, e := range m.elements {
		text += fmt.Sprint(m.feed[e].level(of))
	}
	return text
}

// toyTrain has six clutches and five ranges; what they do is of no matter here.
func toyTrain() *kinematics.Train {
	b := kinematics.NewBuilder("toy")
	b.Shaft("a", "b")
	for i := range 6 {
		b.Element(fmt.Sprint("e", i+1), kinematics.Clutch, "a", "b")
	}
	b.Ports("a", "b")
	for _, r := range []string{"P", "N", "D1", "D2", "D3"} {
		b.Range(r, "e1")
	}
	b.Position("P", "P")
	b.Position("N", "N")
	b.Position("D", "D1", "D2", "D3")
	b.Position("R", "D1")
	t, err := b.Build()
	if err != nil {
		panic(err)
	}
	return t
}

func wordText(n *Network, w word) string {
	text := ""
	for i := range n.feeds {
		text += map[Level]string{None: "0", Low: "1", Full: "2", Unknown: "?"}[(Set{n, w}).Level(n.feeds[i].element)]
	}
	return text
}

// networks is how many random networks are tried.
func networks() int {
	if os.Getenv("TIEUP_EXHAUSTIVE") != "" {
		return 20000
	}
	return 200
}

// TestRandomNetworks compares the exact search with a brute force over all orders and
// histories that shares nothing with it, and sees that three values contain both.
func TestRandomNetworks(t *testing.T) {
	train := toyTrain()
	latched, several, hunting := 0, 0, 0
	for seed := range networks() {
		r := rand.New(rand.NewPCG(uint64(seed), 15))
		m := randomModel(r, train)
		x := randomTrouble(r, m)
		n, problems := compileLoosely(train, m.spec())
		if n == nil {
			t.Fatalf("seed %d: %v", seed, problems)
		}
		var faults []Fault
		if x.part != "" {
			f, err := n.ParseFault(x.part + "=" + x.kind)
			if err != nil {
				t.Fatal(err)
			}
			faults = append(faults, f)
		}
		want := m.brute(x)
		got := n.Survey([][]Fault{faults})
		exact := n.newSearch(n.normal, faults).outcomes((*search).history)
		for k := range n.normal {
			words := map[string]bool{}
			for _, s := range got.Sets(0, k) {
				words[wordText(n, s.w)] = true
			}
			if !maps.Equal(words, want[k]) {
				t.Fatalf("seed %d, %s, %v: the search finds %v, brute force %v\n%v", seed, m.places[k], x, slices.Sorted(maps.Keys(words)), slices.Sorted(maps.Keys(want[k])), m.spec())
			}
			if len(words) > 1 {
				several++
			}
			contains(t, n, k, faults, exact[k])
			for _, o := range exact[k] {
				hunting += b2i(len(o.at) > 1)
			}
		}
		latched += b2i(slices.ContainsFunc(n.valves, func(v valve) bool { return v.feedback }))
	}
	t.Logf("%d networks with feedback, %d commands with several outcomes, %d cycles", latched, several, hunting)
	if latched == 0 || several == 0 || hunting == 0 {
		t.Error("the random networks try too little")
	}
}

// contains sees that what three values say holds in every exact outcome.
func contains(t *testing.T, n *Network, k int, faults []Fault, exact []result) {
	b := n.newBank()
	b.put(every, &n.normal[k], faults)
	b.settle()
	for _, o := range exact {
		for _, at := range o.at {
			for v := range n.valves {
				s := b.signals[n.valveAt(v)]
				if up := at>>v&1 != 0; up && s.full&1 == 0 || !up && s.none&1 == 0 {
					t.Fatalf("valve %s is %v by three values, and up: %v by the search", n.valves[v].name, s.in(0), up)
				}
			}
		}
		for _, w := range o.words {
			for i := range n.feeds {
				three := b.feed(i).in(0)
				if l := (Set{n, w}).Level(n.feeds[i].element); three&l == 0 {
					t.Fatalf("feed %d is %v by three values, %v by the search", i, three, l)
				}
			}
		}
	}
}

// compileLoosely compiles without asking whether all parts are of use.
func compileLoosely(t *kinematics.Train, s *Spec) (*Network, []Problem) {
	c := &compiler{n: &Network{Spec: s, Train: t}, refs: map[string]int{}, kinds: map[string]string{}, reads: map[string]bool{}}
	c.declare()
	c.connect()
	if c.refused() {
		return nil, c.problems
	}
	c.feedback()
	c.command()
	if c.refused() {
		return nil, c.problems
	}
	c.n.settleHealthy()
	return c.n, nil
}
