package cli

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"tieup/cmd/internal/notices"
)

func newVersionCmd() *cobra.Command {
	return &cobra.Command{
		Use: "version",
		Long: `Say which tieup this is: its version, the commit that it was built from, and the
Go that built it. A build of files that were changed after the commit says so.`,
		Example: `  tieup version
  tieup version | head -n 1`,
		Args: args(0, 0, "", "version takes nothing"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			info, _ := debug.ReadBuildInfo()
			_, err := io.WriteString(cmd.OutOrStdout(), versionText(info))
			return err
		},
	}
}

// versionText says what a build is; info may be nil.
func versionText(info *debug.BuildInfo) string {
	version, commit, day, changed := "(unknown)", "", "", ""
	if info != nil {
		version = info.Main.Version
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				commit = s.Value
			case s.Key == "vcs.time" && len(s.Value) >= len("2006-01-02"):
				day = s.Value[:len("2006-01-02")]
			case s.Key == "vcs.modified" && s.Value == "true":
				changed = ", changed after it"
			}
		}
	}
	text := "tieup " + version + "\n"
	if commit != "" {
		text += fmt.Sprintf("commit %s of %s%s\n", commit, day, changed)
	}
	return text + fmt.Sprintf("%s, %s/%s\n", runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

func newLicensesCmd() *cobra.Command {
	return &cobra.Command{
		Use: "licenses",
		Long: `Print what is linked into tieup, Go's library, modules and fonts, with the
licence of each, and then the texts of all these licences.`,
		Example: `  tieup licenses
  tieup licenses | head -n 30`,
		Args: args(0, 0, "", "licenses takes nothing"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := io.WriteString(cmd.OutOrStdout(), notices.Text())
			return err
		},
	}
}
