package solve_test

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// The trains whose ways to share a load grow without end, all invented: n brakes on
// one ring; a clutch between every two of n shafts; n pairs of clutches in a row; n
// simple sets in a row, each turned by the one before. One range applies everything.
var families = []struct {
	name  string
	sizes []int
	build func(n int) *kinematics.Builder
}{
	{"Brakes", []int{20, 40, 60, 95}, func(n int) *kinematics.Builder {
		b := kinematics.NewBuilder("brakes")
		b.Shaft("in", "out")
		b.Simple("set", 30, 70, 20, false)
		b.Join("a", "in", "set.sun")
		b.Join("z", "out", "set.carrier")
		for i := range n {
			b.Element(fmt.Sprintf("e%d", i), kinematics.Brake, "set.ring", kinematics.HousingName)
		}
		return b
	}},
	{"Cliques", []int{4, 5, 6, 7, 8, 12}, func(n int) *kinematics.Builder {
		b := kinematics.NewBuilder("clique")
		shafts := []string{"in", "out"}
		for i := 2; i < n; i++ {
			shafts = append(shafts, fmt.Sprintf("s%d", i))
		}
		b.Shaft(shafts...)
		for i := range shafts {
			for j := range i {
				b.Element(fmt.Sprintf("e%d-%d", j, i), kinematics.Clutch, shafts[j], shafts[i])
			}
		}
		return b
	}},
	{"Ladders", []int{5, 10, 20, 40}, func(n int) *kinematics.Builder {
		b := kinematics.NewBuilder("ladder")
		last := "in"
		b.Shaft("in")
		for i := range n {
			next := fmt.Sprintf("s%d", i)
			if i == n-1 {
				next = "out"
			}
			b.Shaft(next)
			b.Element(fmt.Sprintf("e%da", i), kinematics.Clutch, last, next)
			b.Element(fmt.Sprintf("e%db", i), kinematics.Clutch, last, next)
			last = next
		}
		return b
	}},
	{"Series", []int{8, 12, 15, 30, 50}, func(n int) *kinematics.Builder {
		b := kinematics.NewBuilder("series")
		b.Shaft("in", "out")
		last := "in"
		for i := range n {
			set := fmt.Sprintf("g%d", i)
			b.Simple(set, 30, 70+int64(i%5)*2, 20+int64(i%5), false)
			b.Join("j"+set, last, set+".sun")
			b.Element("b"+set, kinematics.Brake, set+".ring", kinematics.HousingName)
			last = set + ".carrier"
		}
		b.Join("z", last, "out")
		return b
	}},
}

// grown returns a train of a family with one range that applies all elements.
func grown(tb testing.TB, build func(int) *kinematics.Builder, n int) *kinematics.Train {
	b := build(n)
	b.Ports("in", "out")
	b.Range("all", names(b.Train())...)
	b.Train().RatedTorque = 100
	train, err := b.Build()
	if err != nil {
		tb.Fatal(err)
	}
	return train
}

// Where the ways to share a load are too many, one is found through each coupling all the
// same. In a clique a way is a chain of clutches from the input to the output, each of which
// carries the input torque. All that turns the input against a held output then slips all
// clutches at the input, or at the output: n-1 of them, at 3/2 of it.
func TestCutSharing(t *testing.T) {
	for _, n := range []int{8, 12} {
		train := grown(t, families[1].build, n)
		s := solve.Compile(train)
		r := &train.Ranges[0]
		share := s.Sharing(t.Context(), s.Motion(train.In(r)), solve.Usual)
		if share.All {
			t.Errorf("clique of %d: %d ways and no more", n, share.Ways)
		}
		one := exact.Int(1)
		for i, x := range share.Torque[:train.ElementCount] {
			if x.Min.Frac.Neg().Cmp(one) > 0 || x.Max.Frac.Cmp(one) > 0 || x.Min.Frac.Abs().Add(x.Max.Frac.Abs()).Cmp(one) < 0 {
				t.Errorf("clique of %d: %s carries %v", n, train.Couplings[i].Name, x)
			}
		}
		ratings := s.Ratings(solve.Scale{Rated: one}, solve.DefaultReserve(), nil)
		g, err := s.Capacities(r, nil, ratings)
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range ratings[:train.ElementCount] {
			if !x.AtLeast || x.Torque.Cmp(exact.NewFrac(3, 2)) != 0 {
				t.Errorf("clique of %d: %s is rated %+v", n, train.Couplings[i].Name, x)
			}
		}
		chain := s.Stretches(g)
		last := chain[len(chain)-1]
		if !g.AtLeast() || chain[0].AtLeast || !last.AtLeast || last.Torque.Cmp(exact.NewFrac(int64(n-1)*3, 2)) != 0 {
			t.Errorf("clique of %d: %+v", n, last)
		}
		if _, err := s.Capacities(r, nil, solve.Certain(ratings)); err == nil {
			t.Errorf("clique of %d: all ratings are certain", n)
		}
	}
}

// BenchmarkGrowth answers what each command asks of the engine about them. With
// TIEUP_GROWTH=1 it writes the table testdata/growth.txt anew: milliseconds, one run of
// the benchmark on the machine it names.
func BenchmarkGrowth(b *testing.B) {
	table := map[string]map[string]float64{}
	var trains, asked []string
	defer func() {
		if os.Getenv("TIEUP_GROWTH") != "" {
			writeGrowth(b, trains, asked, table)
		}
	}()
	for _, f := range families {
		for _, n := range f.sizes {
			train := grown(b, f.build, n)
			r := &train.Ranges[0]
			st := train.In(r)
			for _, ask := range []struct {
				name string
				do   func(s *solve.System)
			}{
				{"Motion", func(s *solve.System) { s.Motion(st) }},
				{"Sharing", func(s *solve.System) { s.Sharing(b.Context(), s.Motion(st), solve.Usual) }},
				{"Breakaway", func(s *solve.System) {
					g, err := s.Capacities(r, nil, s.Ratings(solve.ScaleOf(train), solve.DefaultReserve(), nil))
					if err != nil {
						b.Fatal(err)
					}
					s.Standing(g, exact.Int(1))
					s.Stretches(g)
				}},
				{"Conflicts", func(s *solve.System) { s.Conflicts(b.Context(), st, solve.InputForward, solve.Usual) }},
				{"Certificate", func(s *solve.System) {
					p := s.Prover(st)
					p.Outcome()
				}},
				{"Load", func(s *solve.System) { s.Pulling(b.Context(), st, solve.DefaultLosses(), solve.Usual) }},
			} {
				name := fmt.Sprintf("%s %d", f.name, n)
				if table[name] == nil {
					trains, table[name] = append(trains, name), map[string]float64{}
				}
				if !slices.Contains(asked, ask.name) {
					asked = append(asked, ask.name)
				}
				b.Run(fmt.Sprintf("%s/%s%d", ask.name, f.name, n), func(b *testing.B) {
					for b.Loop() {
						ask.do(solve.Compile(train))
					}
					table[name][ask.name] = b.Elapsed().Seconds() * 1000 / float64(b.N)
				})
			}
		}
	}
}

func names(t *kinematics.Train) (list []string) {
	for _, c := range t.Couplings {
		if c.Kind != kinematics.Spline {
			list = append(list, c.Name)
		}
	}
	return list
}

// writeGrowth writes the table of the benchmark.
func writeGrowth(b *testing.B, trains, asked []string, table map[string]map[string]float64) {
	var s strings.Builder
	fmt.Fprintf(&s, "milliseconds, %s/%s, %d CPUs; go test ./kinematics/solve -bench Growth -benchtime 1x\n\n%-12s",
		runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), "")
	for _, ask := range asked {
		fmt.Fprintf(&s, "%12s", ask)
	}
	for _, train := range trains {
		fmt.Fprintf(&s, "\n%-12s", train)
		for _, ask := range asked {
			fmt.Fprintf(&s, "%12.1f", table[train][ask])
		}
	}
	if err := os.WriteFile(filepath.Join("testdata", "growth.txt"), []byte(s.String()+"\n"), 0o644); err != nil {
		b.Fatal(err)
	}
}
