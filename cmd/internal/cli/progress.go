package cli

import (
	"io"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// A progress shows on a terminal how far long work has come.
type progress struct {
	container *mpb.Progress
	bar       *mpb.Bar
}

// newBar starts a bar for total steps of what is counted.
func newBar(w io.Writer, what string, total int) *progress {
	p := &progress{container: mpb.New(mpb.WithOutput(w), mpb.WithWidth(60))}
	p.bar = p.container.AddBar(int64(total),
		mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(what+" ")),
		mpb.AppendDecorators(decor.CountersNoUnit("%d of %d")))
	return p
}

// newSpinner shows that there is work, and for how long, where its steps are not known.
func newSpinner(w io.Writer) *progress {
	p := &progress{container: mpb.New(mpb.WithOutput(w), mpb.WithWidth(60))}
	p.bar = p.container.New(0, mpb.SpinnerStyle().PositionLeft(),
		mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name("working "), decor.Elapsed(decor.ET_STYLE_GO), decor.Name(" ")))
	return p
}

// done removes the bar.
func (p *progress) done() {
	p.bar.Abort(true)
	p.container.Wait()
}
