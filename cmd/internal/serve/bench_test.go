package serve

import (
	"net/http"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/plots/page"
)

// BenchmarkChangedState measures the page of a changed state, without drawings,
// in each mode, on the trains with the most elements, ranges and gearsets: a range
// under a fault, a road test with something more seen, a lesson with its answers,
// and a range from which a shift is played. A browser asks for the drawings beside
// it: see BenchmarkDrawings.
func BenchmarkChangedState(b *testing.B) {
	for _, mode := range []struct {
		name  string
		state func(t *kinematics.Train, n int) page.State
	}{
		{"look", func(t *kinematics.Train, n int) page.State {
			return page.State{Range: t.Ranges[n%len(t.Ranges)].Name, Faults: nthFault(t, n/len(t.Ranges))}
		}},
		{"bench", func(t *kinematics.Train, n int) page.State {
			words := []string{"bind", "none", "ok"}
			k := len(t.Ranges)
			return page.State{Mode: page.Test, Range: t.Ranges[0].Name, Saw: []page.Observed{
				{Place: t.Ranges[n%k].Name, Seen: words[n/k%3]}, {Place: t.Ranges[(n+1+n/k/3%(k-1))%k].Name, Seen: words[n/k/9%3]},
			}}
		}},
		{"lesson", func(t *kinematics.Train, n int) page.State {
			return page.State{Mode: page.Lesson, Range: t.Ranges[0].Name, Faults: nthFault(t, n), Reveal: true}
		}},
		{"shift", func(t *kinematics.Train, n int) page.State {
			k := len(t.Ranges)
			return page.State{Range: t.Ranges[n%k].Name, To: t.Ranges[(n+1)%k].Name, Faults: nthFault(t, n/k)}
		}},
	} {
		for _, name := range []string{"simpson-three-speed", "four-carrier-eight-speed", "hub-fourteen-speed", "simpson-transaxle-three-speed"} {
			b.Run(mode.name+"/"+name, func(b *testing.B) {
				train, err := gearsets.Library(name)
				if err != nil {
					b.Fatal(err)
				}
				s := New(host)
				n := 0
				for b.Loop() {
					st := mode.state(train, n)
					st.Train, st.Pace = name, page.UsualPace
					n++
					answered(b, s, st.Link())
				}
			})
		}
	}
}

// BenchmarkDrawings measures the two drawings of a changed state, as SVG.
func BenchmarkDrawings(b *testing.B) {
	const name = "four-carrier-eight-speed"
	train, err := gearsets.Library(name)
	if err != nil {
		b.Fatal(err)
	}
	for _, p := range []string{"speeds", "path"} {
		b.Run(p, func(b *testing.B) {
			s := New(host)
			n := 0
			for b.Loop() {
				st := page.State{Train: name, Range: train.Ranges[n%len(train.Ranges)].Name, Faults: nthFault(train, n/len(train.Ranges)), Pace: page.UsualPace}
				n++
				answered(b, s, "/drawing/"+p+".svg"+st.Link()[1:])
			}
		})
	}
}

// nthFault is a single fault of a train: no two that follow each other are alike,
// so that nothing that was worked out serves again.
func nthFault(t *kinematics.Train, n int) []string {
	faults := t.SingleFaults()
	return []string{t.FaultText(faults[n%len(faults)])}
}

// answered asks for an address, and once more where it leads on.
func answered(b *testing.B, s *Server, address string) {
	b.Helper()
	w := get(b, s, address)
	if w.Code == http.StatusSeeOther {
		w = get(b, s, w.Header().Get("Location"))
	}
	if w.Code != http.StatusOK {
		b.Fatalf("%s: status %d", address, w.Code)
	}
}
