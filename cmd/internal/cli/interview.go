package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/spf13/cobra"

	"tieup/gearsets/problem"
	"tieup/gearsets/roadtest"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

type interviewOptions struct {
	save  string
	force bool
}

func newInterviewCmd() *cobra.Command {
	opts := &interviewOptions{}
	cmd := &cobra.Command{
		Use: "interview TRAIN|SHEET",
		Long: `Ask for what the road test shows, one question after the other, always the one
that tells most for its effort, and show how the suspects become fewer. Every
question can be left open: not tested counts neither way. At the end the
answers are saved as a road-test sheet, which diagnose reads and interview goes
on from; comments of your own in it are kept. Ctrl-C ends it, too, and saves.

Answers are kept as they are given, in a file beside the sheet that ends in
.unfinished. An interview that was cut off, by a power cut or a closed window,
goes on from there when the same command is given again.`,
		Example: `  tieup interview depot-shuttle-three-speed
  tieup interview simpson-three-speed --save bus-14.yaml`,
		Args:              args(1, 1, "which train? See: tieup trains", "interview takes one train"),
		ValidArgsFunction: completeTrain,
		RunE:              opts.run,
	}
	flags := cmd.Flags()
	flags.StringVar(&opts.save, "save", "", "save the sheet in this `FILE` (the name of the train and -sheet.yaml)")
	flags.BoolVar(&opts.force, "force", false, "overwrite the file if it is there already")
	return cmd
}

func (opts *interviewOptions) run(cmd *cobra.Command, args []string) error {
	name := args[0]
	if name == "-" {
		return usagef(cmd, "the answers come from standard input: give the train by its name or file")
	}
	c, train, err := openCase(cmd, name)
	if err != nil {
		return err
	}
	if opts.save == "" {
		opts.save = c.Train.Name + "-sheet.yaml"
	}
	if err := canSave(opts.save, opts.force); err != nil {
		return err
	}
	if train, err = trainFrom(name, train, opts.save); err != nil {
		return err
	}
	a := analysis.Open(c.Train)
	old := sheetAt(opts.save, name)
	sheet := func() []byte { return roadtest.Update(old, train, c, a.ShiftPairs()) }
	log, err := openJournal(opts.save, sheet())
	if err != nil {
		return err
	}
	defer log.close()
	w := cmd.OutOrStdout()
	ctx := cmd.Context() // at its end what was answered is saved
	watcherOf(ctx).waitFor()
	asking, err := a.Interview(ctx, c)
	if err != nil {
		watcherOf(ctx).say("no question was asked, and nothing was saved")
		return err
	}
	v := &interview{Interview: asking, ctx: ctx, watcher: watcherOf(ctx), lines: readLines(cmd.InOrStdin()), journal: log,
		out: w, width: width(w)}
	v.talk()
	broken := ctx.Err() != nil // Ctrl-C ended the questions; a second one ends all
	if err := saveSheet(opts.save, old, sheet(), opts.force); err != nil {
		v.say("\nThe sheet could not be saved. This is what it holds:\n")
		_, _ = w.Write(sheet())
		if log.failed {
			return fmt.Errorf("%w; the sheet is printed above", err)
		}
		return fmt.Errorf("%w; the sheet is printed above, and the same command goes on with the answers, which are in %s",
			err, log.name)
	}
	log.remove()
	if !broken { // all is kept: Ctrl-C ends what follows
		v.watcher.kept()
		v.watcher.say("the sheet is saved")
	}
	v.say("\nSaved as %s. Go on with: tieup interview %s --save %s --force\n", opts.save, opts.save, opts.save)
	if v.cut {
		return v.err
	}
	v.watcher.begin()
	if broken {
		ctx = context.WithoutCancel(ctx)
	}
	d, err := v.Answer(ctx)
	if err != nil {
		return err
	}
	d.Cautions = slices.DeleteFunc(d.Cautions, func(line string) bool { return slices.Contains(v.said, line) })
	answer := table.Diagnosed{Diagnosed: d, Brief: true, AllBy: "tieup diagnose " + opts.save + " --all"}
	if err := table.Text(w, v.width, answer); err != nil {
		return err
	}
	v.say("\nWhat to look for, who is less likely, and what speaks for whom: tieup diagnose %s", opts.save)
	return v.err
}

// A line is one of an input, or why there is none.
type line struct {
	text string
	err  error
}

// readLines reads the lines of an input ahead, so that waiting for one can be
// broken off.
func readLines(r io.Reader) <-chan line {
	lines := make(chan line)
	go func() {
		defer close(lines)
		in := bufio.NewScanner(r)
		for in.Scan() {
			lines <- line{text: in.Text()}
		}
		if err := in.Err(); err != nil {
			lines <- line{err: err}
		}
	}()
	return lines
}

// escapes are control sequences, control strings and other escapes: ECMA-48, sections 5.3
// to 5.6, BEL, with which terminals end a string, too, and the letter behind a single
// shift, with which they send function keys.
var escapes = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`(\x1b\[|\x{9b})[0-?]*[ -/]*[@-~]?|` +
		`(\x1b[PX\]^_]|[\x{90}\x{98}\x{9d}\x{9e}\x{9f}])[^\x07\x1b\x{9c}]*(\x07|\x1b\\|\x{9c})?|\x1b[NO].?|\x1b[ -/]*[0-~]?`)
})

// clean takes out of an answer what a sheet cannot hold: escapes of the terminal,
// control characters, bytes that are not text.
func clean(text string) string {
	text = escapes().ReplaceAllString(strings.ToValidUTF8(text, "?"), "")
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || problem.Hidden(r) {
			return -1
		}
		return r
	}, text))
}

// An interview asks for what was seen.
type interview struct {
	*analysis.Interview
	ctx     context.Context
	watcher *watcher // rests while an answer is waited for
	lines   <-chan line
	journal *journal // of the answers; also gives those of an interview that was cut off
	err     error    // of the input
	out     io.Writer
	width   int
	said    []string // cautions, and what must stand before a test
	ended   bool
	cut     bool // interrupted while it worked
}

func (v *interview) say(format string, args ...any) {
	fmt.Fprintln(v.out, table.Wrap(problem.Plain(fmt.Sprintf(format, args...)), v.width))
}

// listen reads an answer; at the end of the input the conversation ends.
func (v *interview) listen() string {
	fmt.Fprint(v.out, "> ")
	defer v.watcher.begin()
	if text, ok := v.journal.next(); ok {
		fmt.Fprintln(v.out, text)
		return text
	}
	select {
	case l, ok := <-v.lines:
		if ok && l.err == nil {
			text := clean(l.text)
			if err := v.journal.add(text); err != nil {
				v.say("The answers are not kept as they are given: %s. They are saved at the end.", err)
			}
			return text
		}
		v.err = l.err
	case <-v.ctx.Done():
	}
	fmt.Fprintln(v.out)
	v.ended = true
	return ""
}

func (v *interview) talk() {
	if len(v.journal.answers) > 0 {
		v.say("This interview was cut off. What was answered is given again from %s; to begin anew, delete that file.\n",
			v.journal.name)
	}
	v.say("Answer with a number or with words, or with PLACE=SEEN (R=bind) for something else that was seen. An empty " +
		"line is \"not tested\"; ? explains the words; back takes the last answer away; stop ends.")
	if v.Case.Complaint == "" {
		v.say("\nWhat is the complaint, in the customer's words?")
		if told := v.Complain(v.words("Any words will do, or none: an empty line.")); told != nil {
			v.say("Taken as seen: %s. If that is not so: back at the first question.", strings.Join(told, ", "))
		}
	}
	if len(v.Case.Circumstances) == 0 && !v.ended {
		v.circumstances()
	}
	for !v.ended {
		if !v.question() {
			return
		}
	}
}

// words listens to an answer in free words: ? explains, stop ends.
func (v *interview) words(help string) string {
	for {
		switch text := v.listen(); text {
		case "?":
			v.say("%s", help)
		case "back":
			v.say("Nothing was answered yet.")
		case "stop":
			v.ended = true
			return ""
		default:
			return text
		}
	}
}

// circumstances asks until they can be read.
func (v *interview) circumstances() {
	names := strings.Join(circumstanceNames(), ", ")
	v.say("\nWhat is known of it? Any of: %s", names)
	for !v.ended {
		v.Case.Circumstances = nil
		var err error
		told := v.words("Write those that hold, or an empty line: " + names)
		for name := range strings.FieldsFuncSeq(told, func(r rune) bool { return r == ',' || r == ' ' }) {
			if err = v.Case.Know(name); err != nil {
				v.say("%s", err)
				break
			}
		}
		if err == nil {
			return
		}
	}
}

// question asks the most useful question that is left; it returns false if there
// is none.
func (v *interview) question() bool {
	q, end, err := v.Next(v.ctx)
	if end == analysis.RoadEnds {
		v.say("\n%s", end.Says())
		if !v.toShop() {
			return false
		}
		if q, end, err = v.Next(v.ctx); end == analysis.OneLeft {
			end = analysis.NoneLeft
		}
	}
	switch {
	case err != nil:
		v.interrupt()
		return false
	case end != analysis.GoesOn:
		v.say("\n%s", end.Says())
		return false
	}
	fmt.Fprintln(v.out)
	v.warn(q)
	v.say("%d. %s", q.Number, q.Text)
	for i, text := range q.Choices {
		fmt.Fprintf(v.out, "   %d  %s\n", i+1, text)
	}
	v.answer(q)
	return true
}

// interrupt ends the conversation while the next question is sought.
func (v *interview) interrupt() {
	fmt.Fprintln(v.out)
	v.ended, v.cut = true, true
}

// warn says what can happen in a test, and what must stand before it: in full once,
// and then only what is new.
func (v *interview) warn(q *analysis.Asked) {
	once := func(line, again string) {
		if !slices.Contains(v.said, line) {
			v.said = append(v.said, line)
			v.say("%s", line)
		} else if again != "" {
			v.say("%s", again)
		}
	}
	for _, line := range q.Cautions {
		once(line, "")
	}
	once("Before it: "+q.Before+".", "Before it: "+q.BeforeShort+".")
}

// toShop asks whether to go on with tests in the workshop, if any would help.
func (v *interview) toShop() bool {
	switch helps, err := v.ToShop(v.ctx); {
	case err != nil:
		v.interrupt()
		return false
	case !helps:
		return true
	}
	v.say("Tests in the workshop can: pressure at a tap, air, the train turned by hand, an element in hand. Go on " +
		"with them? yes or no")
	for !v.ended {
		switch v.listen() {
		case "yes", "y":
			return true
		case "no", "n", "", "stop":
			return false
		}
		if !v.ended {
			v.say("Write yes or no.")
		}
	}
	return false
}

// answer reads the answer to a question, asking again where it cannot be read.
func (v *interview) answer(q *analysis.Asked) {
	for {
		text := v.listen()
		switch text {
		case "stop":
			v.ended = true
		case "back":
			v.back()
			return
		case "?":
			v.explain(q)
			continue
		}
		if v.ended {
			text = ""
		}
		noted, err := v.Reply(q, text)
		var none *analysis.NoChoice
		switch {
		case err == nil && noted:
			v.shrink()
			return
		case err == nil:
			return
		case errors.As(err, &none):
			v.say("%s", err)
		default:
			v.say("%s", err)
			v.say("Or: an empty line, ?, back, stop")
		}
	}
}

// explain says what the words of a test mean.
func (v *interview) explain(q *analysis.Asked) {
	if q.Shift {
		v.say("ok, bind (the engine is pulled down or the wheels lock), flare (the engine runs up)")
		return
	}
	for _, g := range q.Words {
		fmt.Fprintf(v.out, "   %-19s %s\n", g.Word, g.Meaning)
	}
	v.say("All other words: tieup diagnose --help")
}

// back takes the last answer away, or asks again what was left open last.
func (v *interview) back() {
	switch place, ok := v.Back(); {
	case !ok:
		v.say("Nothing was answered yet.")
	case place == "":
		v.say("Back to what was left open.")
	default:
		v.say("Taken away: what was said of %s.", place)
	}
}

// shrink shows what is left of the suspects.
func (v *interview) shrink() {
	says, err := v.Front(v.ctx)
	if err != nil {
		v.interrupt()
		return
	}
	v.say("%s", says)
}
