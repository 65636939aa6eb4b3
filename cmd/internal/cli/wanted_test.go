package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
)

// A search for wanted ratios that is stopped prints the best so far and what is proved, and was
// answered; where nothing is found yet, that is a difference. It is stopped before it begins, and
// when its progress is noted.
func TestWantedStopped(t *testing.T) {
	listed := 0
	for _, c := range []struct {
		layout, wanted string
		running        bool
	}{
		{"simpson-three-speed", "2.5 1.5 1 -2.1", false},
		{"four-carrier-eight-speed", "4.7 3.13 2.1 1.67 1.28 1 0.84 0.67 -3.3", false},
		{"four-carrier-eight-speed", "4.7 3.13 2.1 1.67 1.28 1 0.84 0.67 -3.3", true},
	} {
		ctx, stop := context.WithCancel(context.Background())
		w := &watcher{terminal: io.Discard}
		if c.running {
			go w.stopWhenNoted(stop)
		} else {
			stop()
		}
		root, out := Command(), &bytes.Buffer{}
		root.SetOut(out)
		root.SetArgs([]string{"fit", "--layout", c.layout, "--wanted", c.wanted, "--within", "5%", "--teeth", "17..110"})
		err := root.ExecuteContext(context.WithValue(ctx, watcherKey{}, w))
		text := out.String()
		found := strings.Contains(text, "audit of standard teeth")
		says := "The search was cut, and nothing was found so far: nothing is nearer than"
		if found {
			listed++
			says = "The search was cut: nothing with a worst deviation below"
		}
		if !strings.Contains(text, says) {
			t.Errorf("%s: it does not say %q:\n%s", c.layout, says, text)
		}
		if found && err != nil || !found && !errors.Is(err, errDiffers) {
			t.Errorf("%s: teeth are listed %v, and it ends with %v", c.layout, found, err)
		}
	}
	if listed == 0 {
		t.Error("nothing is found before the end")
	}
}

// stopWhenNoted stops a command at its first step that is noted.
func (w *watcher) stopWhenNoted(stop func()) {
	for {
		w.mu.Lock()
		noted := len(w.works) > 0
		w.mu.Unlock()
		if noted {
			stop()
			return
		}
		time.Sleep(time.Millisecond)
	}
}
