package cli

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/charmbracelet/x/ansi"
	"github.com/spf13/cobra"

	"tieup/gearsets/problem"
	"tieup/gearsets/roadtest"
	"tieup/kinematics/analysis"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
	"tieup/plots/table"
)

type interviewOptions struct {
	train string
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
on from; comments of your own in it are not kept. Ctrl-C ends it, too, and saves.

Answers are kept as they are given, in a file beside the sheet that ends in
.unfinished. An interview that was cut off, by a power cut or a closed window,
goes on from there when the same command is given again.`,
		Example: `  tieup interview depot-shuttle-three-speed
  tieup interview simpson-three-speed --save bus-14.yaml`,
		Args:              args(1, 1, "which train? See: tieup trains", "interview takes one train"),
		ValidArgsFunction: completeTrain,
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.train = args[0]
			if opts.train == "-" {
				return usagef(cmd, "the answers come from standard input: give the train by its name or file")
			}
			return runInterview(cmd, opts)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&opts.save, "save", "", "save the sheet in this `FILE` (the name of the train and -sheet.yaml)")
	flags.BoolVar(&opts.force, "force", false, "overwrite the file if it is there already")
	return cmd
}

func runInterview(cmd *cobra.Command, opts *interviewOptions) error {
	c, train, err := openCase(cmd, opts.train)
	if err != nil {
		return err
	}
	if opts.save == "" {
		opts.save = c.Train.Name + "-sheet.yaml"
	}
	if err := canSave(opts.save, opts.force); err != nil {
		return err
	}
	if train, err = trainFrom(opts.train, train, opts.save); err != nil {
		return err
	}
	finder := diagnosis.New(solve.Compile(c.Train), c.Assume)
	sheet := func() []byte { return roadtest.Format(train, c, finder.Shifts()) }
	log, err := openJournal(opts.save, sheet())
	if err != nil {
		return err
	}
	defer log.close()
	w := cmd.OutOrStdout()
	ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt) // what was answered is saved
	defer stop()
	v := &interview{ctx: ctx, lines: readLines(cmd.InOrStdin()), journal: log, out: w, width: width(w), c: c,
		finder: finder}
	v.talk()
	if err := saveFile(opts.save, sheet(), opts.force); err != nil {
		v.say("\nThe sheet could not be saved. This is what it holds:\n")
		_, _ = w.Write(sheet())
		if log.failed {
			return fmt.Errorf("%w; the sheet is printed above", err)
		}
		return fmt.Errorf("%w; the sheet is printed above, and the same command goes on with the answers, which are in %s",
			err, log.name)
	}
	log.remove()
	v.say("\nSaved as %s. Go on with: tieup interview %s --save %s --force\n", opts.save, opts.save, opts.save)
	a := v.diagnose()
	d := &analysis.Diagnosed{Answer: a, Proposals: a.Next(1, nil)}
	for _, line := range a.Cautions(d.Proposals) {
		if !slices.Contains(v.said, line) {
			d.Cautions = append(d.Cautions, line)
		}
	}
	answer := table.Diagnosed{Diagnosed: d, Brief: true, AllBy: "tieup diagnose " + opts.save + " --all"}
	if err := answer.Text(w, v.width); err != nil {
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

// clean takes out of an answer what a sheet cannot hold: escapes of the terminal,
// control characters, bytes that are no text.
func clean(text string) string {
	text = ansi.Strip(strings.ToValidUTF8(text, "?"))
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || problem.Hidden(r) {
			return -1
		}
		return r
	}, text))
}

// An interview asks for what was seen.
type interview struct {
	ctx     context.Context
	lines   <-chan line
	journal *journal // of the answers; also gives those of an interview that was cut off
	err     error    // of the input
	out     io.Writer
	width   int
	c       *diagnosis.Case
	finder  *diagnosis.Finder
	done    []diagnosis.Test // asked and answered or left open, for back
	added   []int            // parallel to done: observations that it brought
	open    []diagnosis.Test // left open: not asked again
	told    int              // 1 where done begins with what the complaint told
	said    []string         // cautions, and what must stand before a test
	shop    bool             // tests in the workshop are asked for, too
	ended   bool
}

func (v *interview) say(format string, args ...any) {
	fmt.Fprintln(v.out, table.Wrap(problem.Plain(fmt.Sprintf(format, args...)), v.width))
}

// listen reads an answer; at the end of the input the conversation ends.
func (v *interview) listen() string {
	fmt.Fprint(v.out, "> ")
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
	if v.c.Complaint == "" {
		v.say("\nWhat is the complaint, in the customer's words?")
		v.c.Complaint = v.words("Any words will do, or none: an empty line.")
		v.complained()
	}
	if len(v.c.Circumstances) == 0 && !v.ended {
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

// complained takes what is plain in the complaint as seen, so that it is not asked for.
func (v *interview) complained() {
	var told []string
	for _, o := range diagnosis.Complained(v.c.Train, v.c.Complaint) {
		if diagnosis.Compatible(v.c.Train, v.c.Seen, o) == nil {
			v.c.Seen = append(v.c.Seen, o)
			told = append(told, o.Place(v.c.Train)+" = "+o.Value(v.c.Train))
		}
	}
	if told == nil {
		return
	}
	v.told = 1
	v.done, v.added = append(v.done, diagnosis.Test{}), append(v.added, len(told))
	v.say("Taken as seen: %s. If that is not so: back at the first question.", strings.Join(told, ", "))
}

// circumstances asks until they can be read.
func (v *interview) circumstances() {
	var names []string
	for _, x := range diagnosis.Circumstances() {
		names = append(names, x.Name())
	}
	v.say("\nWhat is known of it? Any of: %s", strings.Join(names, ", "))
	for !v.ended {
		v.c.Circumstances = nil
		var err error
		for name := range strings.FieldsFuncSeq(v.words("Write those that hold, or an empty line: "+strings.Join(names,
			", ")), func(r rune) bool { return r == ',' || r == ' ' }) {
			var x diagnosis.Circumstance
			if x, err = diagnosis.ParseCircumstance(v.c.Circumstances, name); err != nil {
				v.say("%s", err)
				break
			}
			v.c.Circumstances = append(v.c.Circumstances, x)
		}
		if err == nil {
			return
		}
	}
}

func (v *interview) diagnose() *diagnosis.Answer {
	return v.finder.Diagnose(v.c, diagnosis.Options{})
}

// question asks the most useful question that is left; it returns false if there
// is none.
func (v *interview) question() bool {
	a := v.diagnose()
	list := v.useful(a)
	if len(list) == 0 && len(a.Groups[0].Suspects) == 1 {
		v.say("\nOne suspect is left in front.")
		return false
	}
	if len(list) == 0 && !v.shop {
		v.say("\nNo question about the road test is left that could tell those in front apart.")
		if !v.toShop(a) {
			return false
		}
		list = v.useful(a)
	}
	if len(list) == 0 {
		v.say("\nNo test is left that could tell those in front apart.")
		return false
	}
	p := list[0]
	fmt.Fprintln(v.out)
	v.warn(a, &p)
	v.say("%d. %s", len(v.done)-v.told+1, p.Test.Text(v.c.Train))
	for i, e := range p.Expect {
		fmt.Fprintf(v.out, "   %d  %s\n", i+1, e.Text)
	}
	seen, how := v.answer(&p)
	switch how {
	case leftOpen:
		v.open = append(v.open, p.Test)
		v.done, v.added = append(v.done, p.Test), append(v.added, 0)
	case takenBack:
		v.back()
	case seenNow:
		v.c.Seen = append(v.c.Seen, seen...)
		v.done, v.added = append(v.done, p.Test), append(v.added, len(seen))
		v.shrink()
	}
	return true
}

// warn says what can happen in a test, and what must stand before it: in full once,
// and then only what is new.
func (v *interview) warn(a *diagnosis.Answer, p *diagnosis.Proposal) {
	once := func(line, again string) {
		if !slices.Contains(v.said, line) {
			v.said = append(v.said, line)
			v.say("%s", line)
		} else if again != "" {
			v.say("%s", again)
		}
	}
	for _, line := range a.TestCautions([]diagnosis.Proposal{*p}) {
		once(line, "")
	}
	once("Before it: "+p.Before(v.c.Train)+".", "Before it: "+p.BeforeShort()+".")
}

// useful is the test that is worth most of those that may be asked for, if any is.
func (v *interview) useful(a *diagnosis.Answer) []diagnosis.Proposal {
	return a.Split(1, func(x *diagnosis.Test) bool {
		return (v.shop || !x.Kind.InShop()) && !slices.ContainsFunc(v.open, x.Same)
	})
}

// toShop asks whether to go on with tests in the workshop, if any would help.
func (v *interview) toShop(a *diagnosis.Answer) bool {
	v.shop = true
	if len(v.useful(a)) == 0 {
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

// How a question was answered.
type answered uint8

const (
	leftOpen answered = iota
	takenBack
	seenNow
)

// answer reads the answer to a question, asking again where it cannot be read.
func (v *interview) answer(p *diagnosis.Proposal) ([]diagnosis.Observation, answered) {
	t := v.c.Train
	place := diagnosis.Observation{Range: p.Range, To: -1}
	switch {
	case p.Kind == diagnosis.Shifting:
		place.To = p.To
	case p.Kind.InShop():
		place = diagnosis.Observation{Range: -1, To: -1, Shop: &p.Test}
	}
	for {
		text := v.listen()
		switch {
		case v.ended, text == "", text == "-", text == diagnosis.NotTested:
			return nil, leftOpen
		case text == "stop":
			v.ended = true
			return nil, leftOpen
		case text == "back":
			return nil, takenBack
		case text == "?":
			v.explain(&p.Test)
			continue
		}
		n, err := strconv.Atoi(text)
		if i := slices.IndexFunc(p.Expect,
			func(e diagnosis.Expectation) bool { return strings.EqualFold(e.Text, text) }); i >= 0 {
			n, err = i+1, nil // the very words that stand there
		}
		if err == nil && (n < 1 || n > len(p.Expect)) {
			v.say("There is no answer %d. Write a number from 1 to %d, or words; a ratio with its places: 2.00", n,
				len(p.Expect))
			continue
		}
		var seen []diagnosis.Observation
		if err == nil {
			seen = p.Expect[n-1].Seen
			if len(seen) == 0 {
				return nil, leftOpen // as was said already: it does not drive
			}
		} else if at, words, ok := strings.Cut(text, "="); ok { // of something else than was asked
			seen, err = diagnosis.Parse(t, at, words)
		} else {
			seen, err = diagnosis.ParseSeen(t, place, spoken(&p.Test, text))
		}
		if err == nil {
			err = v.fits(seen)
		}
		if err == nil {
			return seen, seenNow
		}
		v.say("%s", err)
		v.say("Or: an empty line, ?, back, stop")
	}
}

// fits refuses what contradicts what was said of the same place before.
func (v *interview) fits(seen []diagnosis.Observation) error {
	all := slices.Clone(v.c.Seen)
	for _, o := range seen {
		if err := diagnosis.Compatible(v.c.Train, all, o); err != nil {
			return err
		}
		all = append(all, o)
	}
	return nil
}

// spoken puts yes and no, and what the train does when it is turned by hand, into
// the words of a question.
func spoken(x *diagnosis.Test, text string) string {
	words := map[diagnosis.TestKind][2]diagnosis.Word{
		diagnosis.Coasting:   {diagnosis.EngineBraking, diagnosis.NoEngineBraking},
		diagnosis.Throttle:   {diagnosis.HoldsFull, diagnosis.SlipsFull},
		diagnosis.Stall:      {diagnosis.StallHolds, diagnosis.StallRuns},
		diagnosis.Shifting:   {"", diagnosis.ShiftOK},
		diagnosis.PressureAt: {diagnosis.Fed, diagnosis.NotFed}, diagnosis.Air: {diagnosis.Good, diagnosis.Bad},
		diagnosis.Element: {diagnosis.Good, diagnosis.Bad},
	}
	w, ok := words[x.Kind]
	if x.Kind == diagnosis.Bench {
		turned := map[diagnosis.Turning][2]diagnosis.Word{
			diagnosis.HeldOutput: {diagnosis.HeldTurns, diagnosis.HeldLocks}, diagnosis.BackInput: {diagnosis.BackTurns,
				diagnosis.BackLocks},
		}
		w, ok = turned[x.Turning]
		switch {
		case ok && text == string(diagnosis.Turns):
			return string(w[0])
		case ok && text == string(diagnosis.Locks):
			return string(w[1])
		case !ok && strings.IndexAny(text, "+-.0123456789") == 0:
			return string(diagnosis.Turns) + " " + text
		}
	}
	switch {
	case ok && w[0] != "" && (text == "yes" || text == "y"):
		return string(w[0])
	case ok && (text == "no" || text == "n"):
		return string(w[1])
	}
	return text
}

// explain says what the words of a test mean.
func (v *interview) explain(x *diagnosis.Test) {
	if x.Kind == diagnosis.Shifting {
		v.say("ok, bind (the engine is pulled down or the wheels lock), flare (the engine runs up)")
		return
	}
	for _, g := range x.Kind.Glossary() {
		fmt.Fprintf(v.out, "   %-19s %s\n", g.Word, g.Meaning)
	}
	v.say("All other words: tieup diagnose --help")
}

// back takes the last answer away, or asks again what was left open last.
func (v *interview) back() {
	n := len(v.done) - 1
	if n < 0 {
		v.say("Nothing was answered yet.")
		return
	}
	v.told = min(v.told, n)
	if k := v.added[n]; k > 0 {
		last := v.c.Seen[len(v.c.Seen)-k]
		v.c.Seen = v.c.Seen[:len(v.c.Seen)-k]
		v.say("Taken away: what was said of %s.", last.Place(v.c.Train))
	} else {
		v.open = v.open[:len(v.open)-1]
		v.say("Back to what was left open.")
	}
	v.done, v.added = v.done[:n], v.added[:n]
}

// shrink shows what is left of the suspects.
func (v *interview) shrink() {
	a := v.diagnose()
	g := &a.Groups[0]
	var names []string
	for i, s := range g.Suspects {
		if i == 3 && len(g.Suspects) > 4 {
			names = append(names, fmt.Sprintf("and %d more", len(g.Suspects)-3))
			break
		}
		names = append(names, s.Text(v.c.Train))
	}
	what := "1 suspect"
	if n := len(g.Suspects); n != 1 {
		what = fmt.Sprintf("%d suspects", n)
	}
	v.say("%s in front (%s): %s", what, a.Agreement(g), strings.Join(names, "; "))
}
