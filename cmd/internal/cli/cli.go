// Package cli is the command line of tieup: a file for each command, in which an
// options struct holds what was asked, newXCmd declares arguments and flags, and
// runX reads the train, asks the engine and hands the answer to package table.
//
// Results go to standard output, remarks about a train file to standard error.
package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// The exit codes.
const (
	exitAnswered = 0 // the question was answered, whatever the answer
	exitDiffers  = 1 // a check found a difference
	exitWrong    = 2 // the command or the train file is wrong
)

// errDiffers ends a check that found a difference; the answer has been printed.
var errDiffers = errors.New("a difference was found")

// A usageError is a mistake in the command line itself; the usage of the
// command is printed after it.
type usageError struct {
	cmd *cobra.Command
	err error
}

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

func usagef(cmd *cobra.Command, format string, args ...any) error {
	return &usageError{cmd, fmt.Errorf(format, args...)}
}

// The groups of commands, by the user's work.
const (
	groupLook     = "look"
	groupDo       = "do"
	groupDiagnose = "diagnose"
	groupCheck    = "check"
	groupSetUp    = "set-up"
)

// Main runs the command line of the process and returns its exit code.
func Main() int {
	return run(rootFor(os.Args[1:]), os.Args[1:], os.Stderr)
}

// Command returns the whole tree of commands, for those who document it.
func Command() *cobra.Command { return newRootCmd() }

func run(root *cobra.Command, args []string, stderr io.Writer) int {
	root.SetArgs(args)
	err := root.Execute()
	var problems problem.List
	var usage *usageError
	switch {
	case err == nil:
		return exitAnswered
	case errors.Is(err, errDiffers):
		return exitDiffers
	case errors.As(err, &problems):
		fmt.Fprint(stderr, problems.Excerpts())
		fmt.Fprintf(stderr, "tieup: %s\n", refusal(problems))
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "tieup: %s\n\nusage: %s\nhelp:  %s --help\n", usage, usage.cmd.UseLine(), usage.cmd.CommandPath())
	default:
		fmt.Fprintf(stderr, "tieup: %s\n", err)
	}
	return exitWrong
}

// refusal sums up why a train file is refused.
func refusal(ps problem.List) string {
	errs := 0
	for _, p := range ps {
		if p.Severity == problem.Error {
			errs++
		}
	}
	if errs == 1 {
		return ps[0].File + " is refused for this error"
	}
	return fmt.Sprintf("%s is refused for these %d errors", ps[0].File, errs)
}

// A namedCommand makes a command.
type namedCommand struct {
	name string
	make func() *cobra.Command
}

// commands lists the commands in the order of the help.
func commands() []namedCommand {
	return []namedCommand{
		{"trains", newTrainsCmd}, {"show", newShowCmd},
		{"solve", newSolveCmd}, {"chart", newChartCmd}, {"why", newWhyCmd}, {"turn", newTurnCmd},
		{"load", newLoadCmd}, {"breakaway", newBreakawayCmd},
		{"shifts", newShiftsCmd}, {"transient", newTransientCmd}, {"states", newStatesCmd},
		{"diagnose", newDiagnoseCmd}, {"interview", newInterviewCmd}, {"identify", newIdentifyCmd}, {"sheet", newSheetCmd},
		{"plot", newPlotCmd}, {"page", newPageCmd}, {"worksheet", newWorksheetCmd},
		{"check", newCheckCmd}, {"batch", newBatchCmd},
		{"schema", newSchemaCmd}, {"version", newVersionCmd}, {"licenses", newLicensesCmd},
	}
}

// rootFor makes what these arguments need: where they begin with the name of a
// command, that one alone.
func rootFor(args []string) *cobra.Command {
	if len(args) > 0 {
		for _, c := range commands() {
			if c.name == args[0] {
				root := newRoot()
				root.AddCommand(c.make())
				return root
			}
		}
	}
	return newRootCmd()
}

// newRootCmd makes the whole tree.
func newRootCmd() *cobra.Command {
	root := newRoot()
	for _, c := range commands() {
		root.AddCommand(c.make())
	}
	root.SetHelpCommandGroupID(groupSetUp)
	root.SetCompletionCommandGroupID(groupSetUp)
	root.InitDefaultCompletionCmd()
	if c, _, err := root.Find([]string{"completion"}); err == nil {
		c.Short = "Write the completion script of your shell"
	}
	return root
}

// newRoot makes the root without its commands.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "tieup COMMAND",
		Short: "What a planetary gear train does with these elements applied, these released and these stuck",
		Long: `tieup answers one question from the mechanics alone: with these elements applied,
these released and these stuck, what does this planetary gear train do?

TRAIN is the name of a train that comes with tieup (see: tieup trains), a train
file, or - for a train file on standard input.

Exit status: 0 answered, 1 a check found a difference, 2 the command or the
train file is wrong.`,
		Example: `  tieup solve depot-shuttle-three-speed --stuck forward
  tieup show depot-shuttle-three-speed`,
		SilenceErrors:         true,
		SilenceUsage:          true,
		DisableAutoGenTag:     true,
		DisableFlagsInUseLine: true,
		Args:                  subcommand,
		RunE:                  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.AddGroup(
		&cobra.Group{ID: groupLook, Title: "Look at a train:"},
		&cobra.Group{ID: groupDo, Title: "See what it does:"},
		&cobra.Group{ID: groupDiagnose, Title: "Find what is wrong with it:"},
		&cobra.Group{ID: groupCheck, Title: "Check it:"},
		&cobra.Group{ID: groupSetUp, Title: "Set up tieup:"},
	)
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error { return &usageError{cmd, flagError(cmd, err)} })
	root.SetUsageTemplate(usageTemplate(root.UsageTemplate()))
	return root
}

// usageTemplate leaves out that tieup runs without a command, which only prints
// help, and keeps the flags within 80 columns.
func usageTemplate(t string) string {
	return strings.NewReplacer(
		"{{if .Runnable}}", "{{if and .Runnable (not .HasAvailableSubCommands)}}",
		".FlagUsages ", ".FlagUsagesWrapped 80 ",
	).Replace(t)
}

// subcommand refuses an argument that is no command.
func subcommand(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, c := range cmd.Commands() {
		names = append(names, c.Name())
	}
	return usagef(cmd, "unknown command %s%s", quote(args[0]), didYouMean(args[0], names))
}

// flagError names the flag that a misspelt one most likely means, and puts
// what is wrong with a value behind the flag and the value.
func flagError(cmd *cobra.Command, err error) error {
	text := err.Error()
	if name, ok := strings.CutPrefix(text, "unknown flag: --"); ok {
		var names []string
		for _, word := range strings.Fields(cmd.Flags().FlagUsages()) {
			if flag, ok := strings.CutPrefix(word, "--"); ok {
				names = append(names, flag)
			}
		}
		return fmt.Errorf("unknown flag --%s%s", name, prefixed(didYouMean(name, names), "--"))
	}
	if rest, ok := strings.CutPrefix(text, "invalid argument "); ok {
		value, rest, _ := strings.Cut(rest, ` for "`)
		flag, why, _ := strings.Cut(rest, `" flag: `)
		switch {
		case strings.HasPrefix(why, "strconv.ParseUint"):
			why = "write a whole number, 0 or greater"
		case strings.HasPrefix(why, "strconv.ParseInt"):
			why = "write a whole number"
		}
		return fmt.Errorf("%s %s: %s", flag, value, why)
	}
	return err
}

// args wraps a check of the number of arguments as a usage error that says
// what is missing.
func args(least, most int, missing, tooMany string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return usagef(cmd, "%s", missing)
		case most >= 0 && len(args) > most:
			return usagef(cmd, "%s: %s", tooMany, quote(args[most]))
		}
		return nil
	}
}

// didYouMean returns ": did you mean x?" for the name that is nearest, or "".
func didYouMean(misspelt string, names []string) string {
	return kinematics.DidYouMean(misspelt, names)
}

func prefixed(suggestion, prefix string) string {
	return strings.Replace(suggestion, "did you mean ", "did you mean "+prefix, 1)
}

// quote shows a word of the user's, cut short where it is long.
func quote(word string) string { return kinematics.Quote(word) }
