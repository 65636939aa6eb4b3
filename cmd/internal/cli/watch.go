package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tieup/kinematics/analysis"
)

// silence is how long a command works before it says what it is at.
const silence = time.Second

// A watcher knows what a command is at. On a terminal it shows that once the command has
// worked for a while, and that it works where nothing more is known. Nothing is shown once
// the command writes its answer.
type watcher struct {
	terminal io.Writer // nil where nothing is to be shown
	mu       sync.Mutex
	timer    *time.Timer // until the end of the silence; nil where nothing is done
	late     bool
	works    []work      // what is going on, each as a part of the one before
	patient  atomic.Bool // the command has something to keep when Ctrl-C comes
	says     string      // what is said then, "" for the usual
	shown    string      // the work whose bar is shown, "" for the spinner
	bar      *progress
}

// A work is something that takes long.
type work struct {
	name      string
	done, all int
}

type watcherKey struct{}

// withWatcher returns a context whose work is watched, and shown on stderr, if that is a
// terminal.
func withWatcher(ctx context.Context, stderr io.Writer) (context.Context, *watcher) {
	w := &watcher{}
	if f, ok := stderr.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		w.terminal = stderr
		w.begin()
	}
	return analysis.WithProgress(context.WithValue(ctx, watcherKey{}, w), w.note), w
}

// watcherOf is the watcher of a context, one that watches nothing where there is none.
func watcherOf(ctx context.Context) *watcher {
	if w, ok := ctx.Value(watcherKey{}).(*watcher); ok {
		return w
	}
	return &watcher{}
}

// at says how far the work has come, to go behind a word: " at 7 of 40 suspects"; "" where
// that is not known.
func (w *watcher) at() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	text := ""
	for _, x := range w.works {
		text += fmt.Sprintf(", %s %d of %d", x.name, x.done, x.all)
	}
	return strings.Replace(text, ",", " at", 1)
}

// begin begins a silence, at the end of which it is shown what is done.
func (w *watcher) begin() {
	if w.terminal == nil {
		return
	}
	w.rest()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.timer = time.AfterFunc(silence, w.wake)
}

// rest shows nothing any more: the command is done, or waits for somebody.
func (w *watcher) rest() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.timer != nil {
		w.timer.Stop()
	}
	w.timer, w.late, w.works = nil, false, nil
	w.hide()
}

func (w *watcher) hide() {
	if w.bar != nil {
		w.bar.done()
		w.bar = nil
	}
}

// wake shows what is going on from now on.
func (w *watcher) wake() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.timer == nil {
		return
	}
	w.late = true
	if len(w.works) > 0 {
		w.show()
	} else if w.bar == nil {
		w.bar, w.shown = newSpinner(w.terminal), ""
	}
}

// note takes note of a step.
func (w *watcher) note(name string, done, all int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	i := slices.IndexFunc(w.works, func(x work) bool { return x.name == name })
	if i < 0 {
		i = len(w.works)
	}
	w.works = w.works[:i]
	if done < all {
		w.works = append(w.works, work{name, done, all})
	}
	switch {
	case !w.late: // also where nothing is to be shown
	case len(w.works) > 0:
		w.show()
	default: // nothing is known of what comes now
		w.hide()
		w.timer.Reset(silence)
	}
}

// show shows the work that all else is part of.
func (w *watcher) show() {
	x := w.works[0]
	if w.bar != nil && w.shown != x.name {
		w.hide()
	}
	if w.bar == nil {
		w.bar, w.shown = newBar(w.terminal, x.name, x.all), x.name
	}
	w.bar.bar.SetCurrent(int64(x.done))
}

// waitFor says that the command has something to keep when Ctrl-C comes, so that its end is
// waited for.
func (w *watcher) waitFor() { w.patient.Store(true) }

// kept says that it has kept that: its end is not waited for any more.
func (w *watcher) kept() { w.patient.Store(false) }

// keeps says that the command has something to keep, an answer too, when Ctrl-C comes.
func (w *watcher) keeps() bool { return w.patient.Load() }

// say sets what is said of the command when Ctrl-C ends it.
func (w *watcher) say(text string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.says = text
}

// A speaker is an output before which the watcher falls silent.
type speaker struct {
	file *os.File
	w    *watcher
}

// Fd is the file that is written to.
func (s speaker) Fd() uintptr { return s.file.Fd() }

func (s speaker) Write(b []byte) (int, error) {
	s.w.rest()
	return s.file.Write(b)
}

// A listener is an input that the watcher is silent for.
type listener struct {
	io.Reader
	w *watcher
}

func (l listener) Read(b []byte) (int, error) {
	l.w.rest()
	defer l.w.begin()
	return l.Reader.Read(b)
}

// input is the standard input of a command.
func input(cmd *cobra.Command) io.Reader {
	in := cmd.InOrStdin()
	if f, ok := in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return listener{in, watcherOf(cmd.Context())}
	}
	return in
}

// openInput opens a file, or standard input for -.
func openInput(cmd *cobra.Command, name string) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(input(cmd)), nil
	}
	return os.Open(name)
}
