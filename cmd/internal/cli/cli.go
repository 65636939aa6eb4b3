// Package cli is the command line of tieup: a file for each command, in which an
// options struct holds its flags, newXCmd declares arguments and flags, and
// runX reads the train, asks the engine and hands the answer to package table.
//
// Results go to standard output, remarks about a train file to standard error.
package cli

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// The exit codes.
const (
	exitAnswered    = 0   // the question was answered, whatever the answer
	exitDiffers     = 1   // a check found a difference
	exitWrong       = 2   // the command or the train file is wrong
	exitInterrupted = 130 // Ctrl-C came before the answer: what shells report, too
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

// The groups of commands, by the question that a user comes with.
const (
	groupLook     = "look"
	groupDo       = "do"
	groupForce    = "force"
	groupShift    = "shift"
	groupDiagnose = "diagnose"
	groupTell     = "tell"
	groupCheck    = "check"
	groupSetUp    = "set-up"
)

// Main runs the command line of the process and returns its exit code.
func Main() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	ctx, w := withWatcher(ctx, os.Stderr)
	root := rootFor(os.Args[1:])
	root.SetContext(ctx)
	ended := make(chan int, 1)
	go func() { ended <- execute(root, os.Args[1:], os.Stderr, w) }()
	code := 0
	select {
	case code = <-ended:
	case <-ctx.Done():
		stop() // a second Ctrl-C ends it at once
		code = w.last(ended, os.Stderr)
	}
	if code == exitInterrupted {
		dieOfInterrupt()
	}
	return code
}

// grace is how long a command may take to end of itself after Ctrl-C.
const grace = time.Second

// last is the exit code of a command after Ctrl-C. It ends of itself, at the latest after a
// grace, but one that has something to keep is waited for.
func (w *watcher) last(ended <-chan int, stderr io.Writer) int {
	late := time.After(grace)
	if w.patient.Load() {
		late = nil
	}
	select {
	case code := <-ended:
		return code
	case <-late:
		at := w.at()
		w.rest()
		w.interrupted(stderr, at)
		return exitInterrupted
	}
}

// interrupted says that a command was ended before its answer.
func (w *watcher) interrupted(stderr io.Writer, at string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	fmt.Fprintf(stderr, "tieup: interrupted%s: %s\n", at, cmp.Or(w.says, "there is no answer yet"))
}

// dieOfInterrupt ends the process as Ctrl-C does that is not caught, so that a script that
// runs tieup in a loop ends, too. It returns where there is no such end.
func dieOfInterrupt() {
	if p, err := os.FindProcess(os.Getpid()); err == nil && p.Signal(os.Interrupt) == nil {
		time.Sleep(time.Second)
	}
}

// execute runs a command that is watched.
func execute(root *cobra.Command, args []string, stderr io.Writer, w *watcher) int {
	root.SetArgs(args)
	unwritten := checkHelp(root)
	if w.terminal != nil && root.OutOrStdout() == os.Stdout {
		root.SetOut(speaker{os.Stdout, w})
	}
	err := root.Execute()
	at := w.at()
	w.rest()
	if err == nil {
		err = unwritten()
	}
	var problems problem.List
	var usage *usageError
	switch {
	case err == nil:
		return exitAnswered
	case errors.Is(err, errDiffers):
		return exitDiffers
	case errors.Is(err, context.Canceled):
		w.interrupted(stderr, at)
		return exitInterrupted
	case errors.As(err, &problems):
		fmt.Fprint(stderr, problems.Excerpts())
		fmt.Fprintf(stderr, "tieup: %s\n", problems.Refusal())
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "tieup: %s\n\nusage: %s\nhelp:  %s --help\n", problem.Plain(usage.Error()), usage.cmd.UseLine(),
			usage.cmd.CommandPath())
	default:
		fmt.Fprintf(stderr, "tieup: %s\n", problem.Plain(err.Error()))
	}
	return exitWrong
}

// checkHelp makes the help of a command an answer like any other: the function that
// it returns says why it could not be written.
func checkHelp(root *cobra.Command) func() error {
	var failed error
	help := root.HelpFunc()
	root.SetHelpFunc(func(cmd *cobra.Command, args []string) {
		out := cmd.OutOrStdout()
		var b bytes.Buffer
		cmd.SetOut(&b)
		help(cmd, args)
		cmd.SetOut(out)
		if _, err := out.Write(b.Bytes()); err != nil {
			failed = fmt.Errorf("the help could not be written: %w", err)
		}
	})
	return func() error { return failed }
}

// A namedCommand is a command as the help lists it, and what makes it.
type namedCommand struct {
	name, group, short string
	make               func() *cobra.Command
}

// commands lists the commands in the order of the help.
func commands() []namedCommand {
	return []namedCommand{
		{"trains", groupLook, "List the trains that come with tieup", newTrainsCmd},
		{"show", groupLook, "Show a train: gearsets, elements, application chart, ratios", newShowCmd},
		{"fit", groupLook, "Find the train that has an application chart and its ratios", newFitCmd},
		{"solve", groupDo, "Say what each range does, healthy or with faults", newSolveCmd},
		{"chart", groupDo, "Chart all ranges, healthy beside faulty", newChartCmd},
		{"why", groupDo, "Give the reasons for what a range does", newWhyCmd},
		{"turn", groupDo, "Turn some members, hold others, read all the rest", newTurnCmd},
		{"controls", groupDo, "Say what feeds the elements: solenoids, valves and circuits", newControlsCmd},
		{"states", groupDo, "Group all combinations of elements by what they do", newStatesCmd},
		{"load", groupForce, "Say what carries the load, how much of it, and what is lost", newLoadCmd},
		{"breakaway", groupForce, "Say what gives first when a range is forced, and at what torque", newBreakawayCmd},
		{"shifts", groupShift, "Say what each shift risks when its timing is off", newShiftsCmd},
		{"transient", groupShift, "Play a shift in time: bind, flare, torque hole and heat", newTransientCmd},
		{"diagnose", groupDiagnose, "Rank the suspects after a road test, and name the next test", newDiagnoseCmd},
		{"interview", groupDiagnose, "Diagnose in a conversation: the cheapest useful question first", newInterviewCmd},
		{"identify", groupDiagnose, "Say which elements hold, by measured speeds", newIdentifyCmd},
		{"sheet", groupDiagnose, "Write a road-test sheet to fill in", newSheetCmd},
		{"wear", groupDiagnose, "Say what else a fault harms, and in which motion", newWearCmd},
		{"plan", groupDiagnose, "Plan the turns by hand, with air, that prove an assembly", newPlanCmd},
		{"case", groupDiagnose, "Go on with a case: found, replaced, proved; reports of one page", newCaseCmd},
		{"plot", groupTell, "Draw speed plans, levers, charts, half-sections", newPlotCmd},
		{"page", groupTell, "Serve the live page: selector, faults, and the train in motion", newPageCmd},
		{"worksheet", groupTell, "Make a worksheet for learners, and its answer key", newWorksheetCmd},
		{"check", groupCheck, "Compare ratios with published ones, and audit tooth counts", newCheckCmd},
		{"verify", groupCheck, "Check the proofs that an answer carries, by multiplication alone", newVerifyCmd},
		{"batch", groupCheck, "Answer questions that come as JSON lines", newBatchCmd},
		{"schema", groupSetUp, "Print the JSON Schema of train files or road-test sheets", newSchemaCmd},
		{"version", groupSetUp, "Say which tieup this is: version, commit, Go", newVersionCmd},
		{"licenses", groupSetUp, "Print the licences of what is linked into tieup", newLicensesCmd},
	}
}

// whole makes the command.
func (c namedCommand) whole() *cobra.Command {
	cmd := c.make()
	cmd.GroupID, cmd.Short = c.group, c.short
	return cmd
}

// listed makes as much of the command as a list of commands shows.
func (c namedCommand) listed() *cobra.Command {
	return &cobra.Command{Use: c.name, GroupID: c.group, Short: c.short, Run: func(*cobra.Command, []string) {}}
}

// rootFor makes what these arguments need: of the command that they begin with the
// whole, of no other one; where they ask for help alone, a list.
func rootFor(args []string) *cobra.Command {
	if len(args) == 0 || len(args) == 1 && (args[0] == "--help" || args[0] == "-h") {
		return newRootWith(namedCommand.listed)
	}
	for _, c := range commands() {
		if c.name == args[0] {
			root := newRoot()
			root.CompletionOptions.DisableDefaultCmd = true
			root.AddCommand(c.whole())
			return root
		}
	}
	return Command()
}

// Command makes the whole tree of commands.
func Command() *cobra.Command { return newRootWith(namedCommand.whole) }

// newRootWith makes the tree of commands that are made in one way.
func newRootWith(how func(namedCommand) *cobra.Command) *cobra.Command {
	root := newRoot()
	for _, c := range commands() {
		root.AddCommand(how(c))
	}
	root.SetHelpCommandGroupID(groupSetUp)
	root.SetCompletionCommandGroupID(groupSetUp)
	root.InitDefaultCompletionCmd()
	if c, _, err := root.Find([]string{"completion"}); err == nil {
		c.Short = "Write the completion script of your shell"
	}
	return root
}

// greeting is what tieup says when it is asked nothing.
const greeting = `tieup tells what a planetary gear train does with these elements applied, these
released and these stuck.

A unit misbehaves. Which element is it, and what is the next test?
  tieup interview depot-shuttle-three-speed
  tieup diagnose depot-shuttle-three-speed --saw N=forward --saw R=bind
What would this fault do in each range?
  tieup solve depot-shuttle-three-speed --stuck forward
Why does it drive in neutral, or bind in reverse? What gives first?
  tieup why depot-shuttle-three-speed R --stuck forward
  tieup breakaway depot-shuttle-three-speed R --stuck forward
How do I show it to a class?
  tieup page depot-shuttle-three-speed
Do ratios and teeth agree with what is printed?
  tieup check simpson-three-speed
Which trains are here, and how is one of my own written?
  tieup trains
  tieup show depot-shuttle-three-speed --format yaml > mine.yaml

All commands: tieup --help       One of them: tieup why --help
`

// The help keeps the order of the table. Set once: batch makes commands on several
// goroutines.
func init() { cobra.EnableCommandSorting = false }

// newRoot makes the root without its commands.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "tieup COMMAND",
		Short: "What a planetary gear train does with these elements applied, these released and these stuck",
		Long: `tieup answers one question from the mechanics alone: with these elements
applied, these released and these stuck, what does this planetary gear train do?

TRAIN is the name of a train that comes with tieup (see: tieup trains), a train
file, or - for a train file on standard input.

Exit status: 0 answered, 1 a check found a difference, 2 the command or the
train file is wrong, 130 interrupted by Ctrl-C before there was an answer.`,
		Example: `  tieup solve depot-shuttle-three-speed --stuck forward
  tieup diagnose depot-shuttle-three-speed --saw N=forward --saw R=bind`,
		SilenceErrors:         true,
		SilenceUsage:          true,
		DisableAutoGenTag:     true,
		DisableFlagsInUseLine: true,
		Args:                  subcommand,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := io.WriteString(cmd.OutOrStdout(), greeting)
			return err
		},
	}
	root.AddGroup(
		&cobra.Group{ID: groupLook, Title: "Which train is it, and what is in it?"},
		&cobra.Group{ID: groupDo, Title: "What does it do, and why?"},
		&cobra.Group{ID: groupForce, Title: "What carries the load, and what gives first?"},
		&cobra.Group{ID: groupShift, Title: "What happens in a shift?"},
		&cobra.Group{ID: groupDiagnose, Title: "What is wrong with it?"},
		&cobra.Group{ID: groupTell, Title: "How can others be shown?"},
		&cobra.Group{ID: groupCheck, Title: "Do the figures agree, over thousands of states, too?"},
		&cobra.Group{ID: groupSetUp, Title: "Set up tieup:"},
	)
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		// A command that is none has no flags, either.
		if words := cmd.Flags().Args(); cmd == root && len(words) > 0 {
			return subcommand(cmd, words)
		}
		return &usageError{cmd, flagError(cmd, err)}
	})
	root.SetUsageFunc(writeUsage)
	return root
}

// helpWidth is the columns that a help takes at most.
const helpWidth = 80

// writeUsage writes how a command is used as cobra does, but keeps the flags within
// helpWidth, and leaves out that tieup runs without a command, which only greets.
func writeUsage(cmd *cobra.Command) error {
	var b strings.Builder
	b.WriteString("Usage:")
	if cmd.HasAvailableSubCommands() {
		fmt.Fprintf(&b, "\n  %s [command]", cmd.CommandPath())
	} else {
		b.WriteString("\n  " + cmd.UseLine())
	}
	if cmd.HasExample() {
		b.WriteString("\n\nExamples:\n" + cmd.Example)
	}
	if cmd.HasAvailableSubCommands() {
		listCommands(&b, cmd)
	}
	if cmd.HasAvailableLocalFlags() {
		writeFlags(&b, "Flags", cmd.LocalFlags())
	}
	if cmd.HasAvailableInheritedFlags() {
		writeFlags(&b, "Global Flags", cmd.InheritedFlags())
	}
	if cmd.HasAvailableSubCommands() {
		fmt.Fprintf(&b, "\n\nUse \"%s [command] --help\" for more information about a command.", cmd.CommandPath())
	}
	_, err := io.WriteString(cmd.OutOrStderr(), b.String()+"\n")
	return err
}

// listCommands lists the commands below one by their groups, if there are any.
func listCommands(b *strings.Builder, cmd *cobra.Command) {
	list := func(title string, listed func(*cobra.Command) bool) {
		b.WriteString("\n\n" + title)
		for _, c := range cmd.Commands() {
			if listed(c) && (c.IsAvailableCommand() || c.Name() == "help") {
				fmt.Fprintf(b, "\n  %-*s %s", c.NamePadding(), c.Name(), c.Short)
			}
		}
	}
	if len(cmd.Groups()) == 0 {
		list("Available Commands:", func(*cobra.Command) bool { return true })
		return
	}
	for _, g := range cmd.Groups() {
		list(g.Title, func(c *cobra.Command) bool { return c.GroupID == g.ID })
	}
	if !cmd.AllChildCommandsHaveGroup() {
		list("Additional Commands:", func(c *cobra.Command) bool { return c.GroupID == "" })
	}
}

func writeFlags(b *strings.Builder, title string, flags interface{ FlagUsagesWrapped(columns int) string }) {
	b.WriteString("\n\n" + title + ":\n" + strings.TrimRight(flags.FlagUsagesWrapped(helpWidth), " \t\n"))
}

// subcommand refuses an argument that is no command.
func subcommand(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return usagef(cmd, "unknown command %s%s", quote(args[0]), kinematics.DidYouMean(args[0], commandNames(cmd)))
}

// commandNames are the names of the commands below one.
func commandNames(cmd *cobra.Command) []string {
	return kinematics.Map(cmd.Commands(), (*cobra.Command).Name)
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
		suggestion := strings.Replace(kinematics.DidYouMean(name, names), "did you mean ", "did you mean --", 1)
		return fmt.Errorf("unknown flag --%s%s", name, suggestion)
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

// oneOfThese returns ": did you mean x?" for the name that is nearest, or lists them all.
func oneOfThese(misspelt string, names []string) string {
	return cmp.Or(kinematics.DidYouMean(misspelt, names), ": write "+strings.Join(names, ", "))
}

// quote shows a word of the user's, cut short where it is long.
func quote(word string) string { return kinematics.Quote(word) }
