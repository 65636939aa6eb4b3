package serve

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"tieup/gearsets"
	"tieup/plots/page"
)

// inSeries is a train file of n simple sets in a row, invented: each can be braked or
// locked, so that diagnosing it is long work.
func inSeries(n int) []byte {
	var sets, joints, elements, first, second strings.Builder
	last := "in"
	for i := range n {
		fmt.Fprintf(&sets, "  g%d: {kind: simple, sun: 30, ring: %d}\n", i, 70+i%5*2)
		fmt.Fprintf(&joints, "  j%d: [%s, g%d.sun]\n", i, last, i)
		fmt.Fprintf(&elements, "  b%d: {brake: g%d.ring}\n  c%d: {clutch: [g%d.sun, g%d.carrier]}\n", i, i, i, i, i)
		fmt.Fprintf(&first, "b%d, ", i)
		fmt.Fprintf(&second, "c%d, ", i)
		last = fmt.Sprintf("g%d.carrier", i)
	}
	return fmt.Appendf(nil, "tieup: 1\nname: row\ntitle: invented row\nsource: [invented]\nshafts: [in, out]\n"+
		"gearsets:\n%sjoined:\n%s  z: [%s, out]\ninput: in\noutput: out\nelements:\n%sranges:\n  D1: {apply: [%s]}\n  D2: {apply: [%s]}\n",
		&sets, &joints, last, &elements, strings.TrimSuffix(first.String(), ", "), strings.TrimSuffix(second.String(), ", "))
}

// heap is what is in use once all garbage is collected, in bytes.
func heap() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// abandoned leaves n requests for long work to a server, asks it for light pages
// meanwhile, and leaves. It returns the longest time that a light page took, and how long
// the last of the others went on.
func abandoned(tb testing.TB, s *Server, n int) (light, last time.Duration) {
	st := page.State{Pace: page.UsualPace, Mode: page.Test, Saw: []page.Observed{{Place: "D1", Seen: "bind"}}}
	if err := Put(&st, "row.yaml", inSeries(30)); err != nil {
		tb.Fatal(err)
	}
	address := get(tb, s, st.Link()).Header().Get("Location")
	if address == "" {
		tb.Fatal("the state is not led to its one address")
	}
	ctx, leave := context.WithCancel(tb.Context())
	var heavy sync.WaitGroup
	for range n {
		heavy.Go(func() {
			r := httptest.NewRequestWithContext(ctx, http.MethodGet, address, nil)
			r.Host = host
			w := httptest.NewRecorder()
			if s.ServeHTTP(w, r); w.Code != http.StatusOK || w.Body.Len() > 0 {
				tb.Errorf("it was answered before its client left: status %d", w.Code)
			}
		})
	}
	for i := range 10 {
		begun := time.Now()
		if w := get(tb, s, "/?range="+[]string{"R", "D1"}[i%2]+"&train=simpson-three-speed"); w.Code != http.StatusOK && w.Code != http.StatusSeeOther {
			tb.Errorf("a light page: status %d", w.Code)
		}
		light = max(light, time.Since(begun))
	}
	begun := time.Now()
	leave()
	heavy.Wait()
	return light, time.Since(begun)
}

// Requests for long work that are abandoned end, leave nothing behind, and do not keep
// others waiting.
func TestAbandoned(t *testing.T) {
	s := New(host)
	get(t, s, "/?range=R&train=simpson-three-speed")
	abandoned(t, s, 4)
	routines, before := runtime.NumGoroutine(), heap()
	light, last := abandoned(t, s, 50)
	t.Logf("a light page took %v at most; the last of 50 ended %v after its client had left", light, last)
	if os.Getenv("TIEUP_EXHAUSTIVE") == "1" && light > 200*time.Millisecond {
		t.Errorf("a light page took %v", light)
	}
	for range 100 {
		if runtime.NumGoroutine() <= routines {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	if n := runtime.NumGoroutine(); n > routines {
		t.Errorf("%d goroutines before, %d after", routines, n)
	}
	if after := heap(); after > before+4<<20 {
		t.Errorf("%d KiB in use before, %d after", before>>10, after>>10)
	}
	if len(s.busy)+len(s.foreign) > 0 {
		t.Errorf("%d answers never end", len(s.busy)+len(s.foreign))
	}
}

// BenchmarkAbandoned measures the longest time that a light page takes while 50 requests
// for long work are on, and how long the last of these goes on without its client.
func BenchmarkAbandoned(b *testing.B) {
	s := New(host)
	get(b, s, "/?range=R&train=simpson-three-speed")
	var light, last time.Duration
	for b.Loop() {
		x, y := abandoned(b, s, 50)
		light, last = max(light, x), max(last, y)
	}
	b.ReportMetric(float64(light.Microseconds())/1e3, "ms-light-page")
	b.ReportMetric(float64(last.Microseconds())/1e3, "ms-to-the-end")
}

// Answers leave nothing behind: what is in use after the second half of many is what was
// after the first.
func TestManyAnswers(t *testing.T) {
	const name = "depot-shuttle-three-speed"
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	many := 200
	switch os.Getenv("TIEUP_EXHAUSTIVE") {
	case "":
	case "1":
		many = 20_000
	default:
		many = 400
	}
	s := New(host)
	states := len(train.Ranges) * len(train.SingleFaults())
	half := func() uint64 {
		for n := range many / 2 {
			n %= min(states, many/2)
			st := page.State{Train: name, Range: train.Ranges[n%len(train.Ranges)].Name, Faults: nthFault(train, n/len(train.Ranges)),
				Pace: page.UsualPace}
			if w := get(t, s, st.Link()); w.Code != http.StatusOK && w.Code != http.StatusSeeOther {
				t.Fatalf("%s: status %d", st.Link(), w.Code)
			}
		}
		return heap()
	}
	first, second := half(), half()
	t.Logf("%d answers: %d KiB in use after the first half, %d after the second", many, first>>10, second>>10)
	if second > first+1<<20 {
		t.Errorf("%d KiB in use after %d answers, %d after %d", first>>10, many/2, second>>10, many)
	}
}
