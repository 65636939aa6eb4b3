package cli

import (
	"io"
	"os"
	"sync"

	"github.com/spf13/cobra"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"
)

// A progress shows on standard error how far long work has come, if that is a
// terminal.
type progress struct {
	container *mpb.Progress
	bar       *mpb.Bar
}

// newProgress starts a bar for total steps of what is counted.
func newProgress(cmd *cobra.Command, what string, total int) *progress {
	w := cmd.ErrOrStderr()
	if f, ok := w.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		w = io.Discard
	}
	return newBar(w, what, total)
}

func newBar(w io.Writer, what string, total int) *progress {
	p := &progress{container: mpb.New(mpb.WithOutput(w), mpb.WithWidth(60))}
	p.bar = p.container.AddBar(int64(total),
		mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(what+" ")),
		mpb.AppendDecorators(decor.CountersNoUnit("%d of %d")))
	return p
}

// step says that one more step is done. It may be called by several goroutines.
func (p *progress) step() { p.bar.Increment() }

// done removes the bar.
func (p *progress) done() {
	p.bar.Abort(true)
	p.container.Wait()
}

// A lateProgress is a progress whose number of steps is known once the work begins.
type lateProgress struct {
	cmd   *cobra.Command
	what  string
	start sync.Once
	bar   *progress
}

// of returns the bar, with so many steps.
func (p *lateProgress) of(all int) *mpb.Bar {
	p.start.Do(func() { p.bar = newProgress(p.cmd, p.what, all) })
	return p.bar.bar
}

// at shows that so many steps of all are done.
func (p *lateProgress) at(done, all int) { p.of(all).SetCurrent(int64(done)) }

// more shows that so many more are done. It may be called by several goroutines.
func (p *lateProgress) more(more, all int) { p.of(all).IncrBy(more) }

// done removes the bar, if there is one.
func (p *lateProgress) done() {
	if p.bar != nil {
		p.bar.done()
	}
}
