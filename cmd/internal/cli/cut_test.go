package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// cutOff is a context that ends when it is asked for the n-th time.
type cutOff struct {
	context.Context
	left *int
	over chan struct{}
}

func (c cutOff) ends() bool {
	*c.left--
	return *c.left < 0
}

func (c cutOff) Err() error {
	if c.ends() {
		return context.Canceled
	}
	return nil
}

func (c cutOff) Done() <-chan struct{} {
	if c.ends() {
		return c.over
	}
	return nil
}

// Wherever the work of a command is cut off, it panics nowhere, and prints an answer or
// that it was interrupted.
func TestCutAnywhere(t *testing.T) {
	over := make(chan struct{})
	close(over)
	all := heavies(5, 9, 4, 4, 3, 3)
	if !thorough() {
		all = all[:2]
	}
	for _, h := range all {
		file := filepath.Join(t.TempDir(), h.name+".yaml")
		if err := os.WriteFile(file, []byte(h.source()), 0o600); err != nil {
			t.Fatal(err)
		}
		for _, command := range []string{
			"solve T --format json", "load T", "load T D1 --format json", "breakaway T D1", "breakaway T D1 --format json",
			"why T D1", "why T D2 --format json", "chart T", "shifts T",
		} {
			args := strings.Fields(strings.Replace(command, "T", file, 1))
			for asks := 0; ; asks += 1 + asks/3 {
				left := asks
				var out, errs bytes.Buffer
				root := Command()
				root.SetOut(&out)
				root.SetErr(&errs)
				ctx, w := withWatcher(cutOff{t.Context(), &left, over}, &errs)
				root.SetContext(ctx)
				code := execute(root, args, &errs, w)
				if code == exitInterrupted && out.Len() > 0 || code != exitInterrupted && out.Len() == 0 {
					t.Errorf("%s: %s, cut at ask %d: exit %d and %d bytes: %s", h.name, command, asks, code, out.Len(), &errs)
				}
				if left >= 0 || asks > 100_000 {
					break
				}
			}
		}
	}
}
