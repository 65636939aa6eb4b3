package cli

import (
	"cmp"
	"context"
	"io"

	"github.com/spf13/cobra"
)

// run runs a command as [Main] does, but for signals.
func run(root *cobra.Command, args []string, stderr io.Writer) int {
	ctx, w := withWatcher(cmp.Or(root.Context(), context.Background()), stderr)
	root.SetContext(ctx)
	return execute(root, args, stderr, w)
}
