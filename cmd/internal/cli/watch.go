package cli

import (
	"context"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/term"

	"tieup/kinematics/analysis"
)

// silence is how long a command works before it says what it is at.
const silence = time.Second

// A watcher shows on a terminal what a command is at once it has worked for a while. What
// the command answers is written after the last step, when nothing is shown.
type watcher struct {
	terminal io.Writer
	mu       sync.Mutex
	late     bool
	work     string // the last that was told
	done     int
	all      int
	bar      *progress // of work, if it is shown
}

// withWatcher returns a context whose work is shown on stderr, if that is a terminal. What it
// returns beside ends that.
func withWatcher(ctx context.Context, stderr io.Writer) (context.Context, func()) {
	if f, ok := stderr.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		return ctx, func() {}
	}
	w := &watcher{terminal: stderr}
	timer := time.AfterFunc(silence, w.wake)
	return analysis.WithProgress(ctx, w.note), func() {
		timer.Stop()
		w.note("", 0, 0)
	}
}

// wake shows what is going on from now on.
func (w *watcher) wake() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.late = true
	w.show()
}

// note takes note of a step.
func (w *watcher) note(work string, done, all int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.bar != nil && (work != w.work || done >= all) {
		w.bar.done()
		w.bar = nil
	}
	w.work, w.done, w.all = work, done, all
	w.show()
}

func (w *watcher) show() {
	if !w.late || w.done >= w.all {
		return
	}
	if w.bar == nil {
		w.bar = newBar(w.terminal, w.work, w.all)
	}
	w.bar.bar.SetCurrent(int64(w.done))
}
