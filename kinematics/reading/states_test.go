package reading_test

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

func libraryTrain(t testing.TB, name string) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// evaluated evaluates all combinations.
func evaluated(t testing.TB, c *reading.Combinations) *reading.States {
	t.Helper()
	s, err := c.States(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// lines writes the groups as "verdict ratio, coasting [ranges]: combinations".
func lines(s *reading.States) []string {
	var all []string
	for _, g := range s.Groups {
		for _, w := range g.Ways {
			line := g.Verdict.String()
			if g.Drives() {
				line += " " + g.Ratio.String()
			}
			line += ", " + w.Reading.Coast + " " + fmt.Sprint(w.Ranges) + ":"
			for _, c := range w.Combinations {
				line += " " + strings.Join(applied(s, c), "+")
			}
			all = append(all, strings.TrimSpace(line))
		}
	}
	return all
}

func applied(s *reading.States, c reading.Combination) []string {
	var names []string
	for _, e := range s.Apply(c) {
		names = append(names, s.Train.Couplings[e].Name)
	}
	if names == nil {
		return []string{"nothing"}
	}
	return names
}

// TestStatesOfDepot holds all sixteen combinations of a Simpson set with suns of
// 30 and rings of 66 teeth, by hand: first 2 + 30/66 = 27/11, second
// 1 + 30/66 = 16/11, reverse 66/30.
func TestStatesOfDepot(t *testing.T) {
	train := libraryTrain(t, "depot-shuttle-three-speed")
	s := evaluated(t, reading.CombinationsOf(solve.Compile(train)))
	want := []string{
		"forward 27/11, freewheels [D1]: forward",
		"forward 27/11, engine braking [L1]: forward+low-reverse",
		"forward 16/11, engine braking, does not roll back [D2]: forward+intermediate",
		"forward 1, engine braking, does not roll back [D3]: forward+direct",
		"reverse -11/5, engine braking [R]: direct+low-reverse",
		"neutral, rolls freely [N]: nothing low-reverse",
		// Rolling backward, the roller holds the carrier and the rear set turns the
		// sun forward at 66/30.
		"neutral, coasting backward turns the engine at 2.20 []: direct",
		"neutral, rolls forward only []: intermediate",
		"output-held, does not roll []: intermediate+low-reverse",
		"input-held, rolls forward only []: direct+intermediate",
		"tie-up, does not roll []: forward+direct+intermediate forward+direct+low-reverse forward+intermediate+low-reverse" +
			" direct+intermediate+low-reverse forward+direct+intermediate+low-reverse",
	}
	if d := cmp.Diff(want, lines(s)); d != "" {
		t.Errorf("-want +got:\n%s", d)
	}
	s = evaluated(t, reading.CombinationsOf(solve.Compile(train), fault(t, train, "forward", kinematics.Stuck), fault(t, train, "direct", kinematics.OpenF)))
	want = []string{
		"forward 27/11, freewheels [N D1 D3]: nothing",
		"forward 27/11, engine braking [R L1]: low-reverse",
		"forward 16/11, engine braking, does not roll back [D2]: intermediate",
		"tie-up, does not roll []: intermediate+low-reverse",
	}
	if d := cmp.Diff(want, lines(s)); d != "" {
		t.Errorf("forward stuck, direct open (-want +got):\n%s", d)
	}
	if len(s.Fixed) != 2 {
		t.Errorf("fixed %v, want forward and direct", s.Fixed)
	}
}

func fault(t testing.TB, train *kinematics.Train, name string, kind kinematics.FaultKind) kinematics.Fault {
	t.Helper()
	i, ok := train.Coupling(name)
	if !ok {
		t.Fatalf("no coupling %s", name)
	}
	return kinematics.Fault{Coupling: i, Kind: kind}
}

// TestStatesOfEightSpeed: of the ten ways to apply three of five elements nine
// are the published ratios (Wikipedia, ZF 8HP transmission); the tenth is none.
func TestStatesOfEightSpeed(t *testing.T) {
	train := libraryTrain(t, "four-carrier-eight-speed")
	s := evaluated(t, reading.CombinationsOf(solve.Compile(train)))
	published := map[string]bool{"4.6957": true, "3.1304": true, "2.1039": true, "1.6667": true, "1.2845": true, "1.0000": true,
		"0.8392": true, "0.6667": true, "-3.2968": true}
	three := 0
	for _, g := range s.Groups {
		for _, w := range g.Ways {
			for _, c := range w.Combinations {
				if c.Size() != 3 {
					if g.Drives() {
						t.Errorf("%v drives with %d elements", applied(s, c), c.Size())
					}
					continue
				}
				three++
				if !g.Drives() {
					if got := strings.Join(applied(s, c), " "); got != "sun-brake input-clutch lock-clutch" || g.Verdict != solve.InputHeld {
						t.Errorf("%s: %v", got, g.Verdict)
					}
					continue
				}
				if ratio := g.Ratio.Rat().FloatString(4); !published[ratio] {
					t.Errorf("%v: %s is not published", applied(s, c), ratio)
				} else {
					delete(published, ratio)
				}
				if !g.Used() {
					t.Errorf("no range uses %s", g.Ratio)
				}
			}
		}
	}
	if three != 10 || len(published) > 0 {
		t.Errorf("%d combinations of three; published ratios not found: %v", three, published)
	}
}

// TestStatesAgainstEnumeration compares the groups of every library train with
// a plain loop, and holds what LeastTieUps promises.
func TestStatesAgainstEnumeration(t *testing.T) {
	for _, name := range gearsets.Names() {
		train := libraryTrain(t, name)
		sys := solve.Compile(train)
		cases := [][]kinematics.Fault{nil}
		for i, f := range train.SingleFaults() {
			if i%3 == 0 {
				cases = append(cases, []kinematics.Fault{f})
			}
		}
		for _, faults := range cases {
			c := reading.CombinationsOf(sys, faults...)
			if len(c.Elements) > 10 {
				t.Fatalf("%s has %d elements: too many for this test", name, len(c.Elements))
			}
			s := evaluated(t, c)
			kernel := sys.Kernel()
			seen := map[reading.Combination]string{}
			for _, g := range s.Groups {
				for _, w := range g.Ways {
					if len(w.Combinations) == 0 {
						t.Errorf("%s %s: a way without combinations, ranges %v", name, reading.FaultsIn(train, faults), w.Ranges)
					}
					if !slices.IsSortedFunc(w.Combinations, func(a, b reading.Combination) int { return a.Size() - b.Size() }) {
						t.Errorf("%s: %v not the smallest first", name, w.Combinations)
					}
					for _, x := range w.Combinations {
						if _, twice := seen[x]; twice {
							t.Errorf("%s: %v is in two groups", name, x)
						}
						seen[x] = g.Verdict.String() + w.Reading.Coast
						if g.Drives() {
							seen[x] += g.Ratio.String()
						}
					}
				}
			}
			ties := map[reading.Combination]bool{}
			for x := range reading.Combination(1) << len(c.Elements) {
				r := kinematics.Range{Apply: c.Apply(x), Input: train.Input, Output: train.Output}
				o := kernel.Outcome(train.In(&r, faults...))
				want := o.Verdict.String() + reading.Passing(train, o).Reading.Coast
				if ratio, drives := o.Ratio(); drives {
					want += ratio.String()
				}
				if seen[x] != want {
					t.Errorf("%s %s: %v is grouped as %q, want %q", name, reading.FaultsIn(train, faults), applied(s, x), seen[x], want)
				}
				ties[x] = o.Verdict == solve.TieUp
			}
			least := s.LeastTieUps()
			for x, tie := range ties {
				contains := slices.ContainsFunc(least, func(l reading.Combination) bool { return x&l == l })
				if contains != tie {
					t.Errorf("%s: %v ties up: %v, but contains a least tie-up: %v", name, applied(s, x), tie, contains)
				}
			}
			for _, a := range least {
				for _, b := range least {
					if a != b && a&b == b {
						t.Errorf("%s: of the least tie-ups %v contains %v", name, applied(s, a), applied(s, b))
					}
				}
			}
		}
	}
}

// chain is n simple sets in series, each held or locked (invented): its ratio is
// the product of 1 + sun/ring over those held.
func chain(t testing.TB, n int) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder("chain")
	for i := range n {
		set := fmt.Sprintf("s%d", i)
		b.Simple(set, 24, 60, 0, true)
		if i > 0 {
			b.Join("j"+set, fmt.Sprintf("s%d.carrier", i-1), set+".ring")
		}
		b.Element("brake"+set, kinematics.Brake, set+".sun", kinematics.HousingName)
		b.Element("lock"+set, kinematics.Clutch, set+".sun", set+".ring")
	}
	b.Ports("s0.ring", fmt.Sprintf("s%d.carrier", n-1))
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// TestStatesOfChain: with k of n sets held and the others locked there are C(n, k)
// combinations of ratio (7/5)^k; one set with neither leaves no drive.
func TestStatesOfChain(t *testing.T) {
	const n = 7
	done := map[string]int{}
	ctx := solve.WithProgress(t.Context(), func(work string, n, _ int) { done[work] = n })
	s, err := reading.CombinationsOf(solve.Compile(chain(t, n))).States(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if k := done["combinations"]; k != 1<<(2*n) {
		t.Errorf("%d combinations done, want %d", k, 1<<(2*n))
	}
	choose := int64(1)
	ratio := big.NewRat(1, 1)
	for k := range n + 1 {
		g := s.Groups[n-k]
		if g.Verdict != solve.Forward || g.Ratio.Rat().Cmp(ratio) != 0 || int64(g.Count()) != choose {
			t.Errorf("%d held: %v %s with %d combinations, want %s with %d", k, g.Verdict, g.Ratio, g.Count(), ratio.RatString(), choose)
		}
		choose = choose * int64(n-k) / int64(k+1)
		ratio.Mul(ratio, big.NewRat(7, 5))
	}
	if least := s.LeastTieUps(); len(least) == 0 {
		t.Error("no tie-ups")
	}
}

func BenchmarkStatesEightSpeed(b *testing.B) {
	sys := solve.Compile(libraryTrain(b, "four-carrier-eight-speed"))
	for b.Loop() {
		evaluated(b, reading.CombinationsOf(sys))
	}
	b.ReportMetric(32, "combinations/op")
}

func BenchmarkStatesChainOf16Elements(b *testing.B) {
	sys := solve.Compile(chain(b, 8))
	for b.Loop() {
		evaluated(b, reading.CombinationsOf(sys))
	}
	b.ReportMetric(1<<16, "combinations/op")
}
