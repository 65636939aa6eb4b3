package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

type manOptions struct {
	dir   string
	force bool
}

func newManCmd() *cobra.Command {
	opts := &manOptions{}
	cmd := &cobra.Command{
		Use:     "man DIR",
		Short:   "Write the manual pages into a directory",
		GroupID: groupSetUp,
		Long: `Write a manual page for tieup and for each of its commands into a directory, for
man to find. Pages that are there already are kept unless --force is given.`,
		Example: `  tieup man ~/.local/share/man/man1
  tieup man . --force && man ./tieup-solve.1`,
		Args: args(1, 1, "which directory? Write: tieup man DIR", "man takes one directory"),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.dir = args[0]
			return runMan(cmd, opts)
		},
	}
	cmd.Flags().BoolVar(&opts.force, "force", false, "overwrite pages that are there already")
	return cmd
}

func runMan(cmd *cobra.Command, opts *manOptions) error {
	var pages []*cobra.Command
	collect(cmd.Root(), &pages)
	path := func(c *cobra.Command) string {
		return filepath.Join(opts.dir, strings.ReplaceAll(c.CommandPath(), " ", "-")+".1")
	}
	if !opts.force {
		for _, c := range pages {
			if _, err := os.Lstat(path(c)); err == nil {
				return fmt.Errorf("%s is there already: write --force to overwrite the pages", path(c))
			}
		}
	}
	date := built()
	for _, c := range pages {
		var page bytes.Buffer
		if err := doc.GenMan(c, &doc.GenManHeader{Section: "1", Source: "tieup", Manual: "tieup manual", Date: &date}, &page); err != nil {
			return err
		}
		if err := os.WriteFile(path(c), page.Bytes(), 0o644); err != nil {
			if errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("there is no directory %s: make it first", opts.dir)
			}
			return err
		}
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%d pages in %s; read one with: man %s\n", len(pages), opts.dir, path(cmd.Root()))
	return nil
}

// collect lists the commands that have a page: cmd and what is below it.
func collect(cmd *cobra.Command, pages *[]*cobra.Command) {
	cmd.DisableAutoGenTag = true
	*pages = append(*pages, cmd)
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() && !c.IsAdditionalHelpTopicCommand() {
			collect(c, pages)
		}
	}
}

// built is the date of the commit the binary was built from, so that the same
// source gives the same pages.
func built() time.Time {
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key != "vcs.time" {
				continue
			}
			if t, err := time.Parse(time.RFC3339, s.Value); err == nil {
				return t
			}
		}
	}
	return time.Now()
}
