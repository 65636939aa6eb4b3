package serve

import (
	"net/http"
	"testing"

	"tieup/gearsets"
	"tieup/plots/page"
)

// The whole answer to a changed state, page and both drawings, on the trains
// with the most elements, ranges and gearsets.
func BenchmarkChangedState(b *testing.B) {
	for _, name := range []string{"simpson-three-speed", "four-carrier-eight-speed", "hub-fourteen-speed", "simpson-transaxle-three-speed"} {
		b.Run(name, func(b *testing.B) {
			train, err := gearsets.Library(name)
			if err != nil {
				b.Fatal(err)
			}
			s := New(host)
			faults := train.SingleFaults()
			n := 0
			for b.Loop() {
				// No two states in a row are alike, so nothing that was drawn serves again.
				st := page.State{Train: name, Range: train.Ranges[n%len(train.Ranges)].Name, Pace: page.UsualPace}
				st.Faults = []string{train.FaultText(faults[n/len(train.Ranges)%len(faults)])}
				n++
				if w := get(b, s, st.Link()); w.Code != http.StatusOK {
					b.Fatalf("%s: status %d", st.Link(), w.Code)
				}
			}
		})
	}
}
