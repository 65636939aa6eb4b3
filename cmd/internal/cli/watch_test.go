package cli

import (
	"io"
	"os"
	"path/filepath"
	"testing"
)

// A watcher shows that there is work where nothing more is known, then the work that all
// else is part of, and nothing while the answer is written or somebody is waited for.
func TestWatcher(t *testing.T) {
	w := &watcher{terminal: io.Discard}
	shows := func(when, want string) {
		t.Helper()
		switch {
		case want == "nothing" && w.bar != nil:
			t.Errorf("%s: %q is shown", when, w.shown)
		case want != "nothing" && (w.bar == nil || w.shown != want):
			t.Errorf("%s: %q is not shown but %q", when, want, w.shown)
		}
	}
	w.note("early", 0, 2)
	w.note("early", 2, 2)
	shows("before the silence ends", "nothing")
	w.begin()
	w.wake()
	shows("nothing is known", "")
	w.note("outer", 0, 3)
	w.note("inner", 0, 5)
	shows("work in work", "outer")
	w.note("inner", 5, 5)
	w.note("outer", 1, 3)
	shows("the part is done", "outer")
	w.note("outer", 3, 3)
	shows("all is done", "nothing")
	w.wake()
	shows("what comes is not known", "")
	w.note("outer", 0, 3)
	shows("again", "outer")

	f, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := io.WriteString(speaker{f, w}, "answer"); err != nil {
		t.Fatal(err)
	}
	shows("the answer is written", "nothing")
	w.wake() // of a timer that had run out just then
	shows("after the answer", "nothing")
}
