package solve

import "context"

// A Progress is told what long work is at, and how far it has come: once before its
// first step, with done = 0, and last with done = all. It must not take long.
type Progress func(work string, done, all int)

type progressKey struct{}

// WithProgress returns a context whose work is told to p.
func WithProgress(ctx context.Context, p Progress) context.Context {
	return context.WithValue(ctx, progressKey{}, p)
}

// Report tells the progress of a context, if it has one.
func Report(ctx context.Context, work string, done, all int) {
	if p, ok := ctx.Value(progressKey{}).(Progress); ok {
		p(work, done, all)
	}
}

// Each calls f with 0 to n-1 and reports each as a step of some work. It ends early with
// the context, and returns its error.
func Each(ctx context.Context, work string, n int, f func(int)) error {
	for i := range n {
		if err := ctx.Err(); err != nil {
			return err
		}
		Report(ctx, work, i, n)
		f(i)
	}
	if err := ctx.Err(); err != nil { // the last step may have been cut
		return err
	}
	Report(ctx, work, n, n)
	return nil
}
