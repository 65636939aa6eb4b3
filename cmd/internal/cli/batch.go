package cli

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

func newBatchCmd() *cobra.Command {
	return &cobra.Command{
		Use: "batch [FILE]",
		Long: `Read questions from a file or standard input, one JSON object a line, and write
an answer for each, one line each and in the same order. One process serves
thousands of them.

A question has these fields; all but train may be left out:

  id       anything; it comes back with the answer
  ask      verdict if left out, or a command that has --format json
  train    as on the command line
  ranges   a list of names; verdict takes one
  faults   a list, each as for --fault
  options  an object: other flags of the command with their values

An answer is {"line": N, "id": ID, "answer": ANSWER}, where ANSWER is what the
command writes with --format json; a question that is refused gives
{"line": N, "id": ID, "error": TEXT}, and the exit status is then 2.

A sweep over many machines is a matter of splitting the lines. Give each
question an id: "line" counts anew in each part. With split and xargs, then with
GNU parallel, whose --sshlogin names other machines:

  split -n l/8 questions.jsonl part.
  ls part.* | xargs -P 8 -I PART sh -c 'tieup batch PART > answers.PART'
  cat answers.part.* > answers.jsonl

  parallel --pipe --keep-order tieup batch < questions.jsonl > answers.jsonl`,
		Example: `  echo '{"train": "simpson-three-speed", "ranges": ["R"]}' | tieup batch
  tieup batch questions.jsonl > answers.jsonl`,
		Args: args(0, 1, "", "batch reads one file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			in, err := openInput(cmd, append(args, "-")[0])
			if err != nil {
				return err
			}
			defer in.Close()
			return runBatch(cmd, in)
		},
	}
}

// mostLine is the longest line that is read.
const mostLine = 1 << 20

// A batchQuestion is a line of input.
type batchQuestion struct {
	ID      json.RawMessage            `json:"id"`
	Ask     string                     `json:"ask"`
	Train   string                     `json:"train"`
	Ranges  []string                   `json:"ranges"`
	Faults  []string                   `json:"faults"`
	Options map[string]json.RawMessage `json:"options"`
}

// A batchAnswer is a line of output: an answer or an error.
type batchAnswer struct {
	Line   int             `json:"line"`
	ID     json.RawMessage `json:"id,omitempty"`
	Answer any             `json:"answer,omitempty"`
	Error  string          `json:"error,omitempty"`
}

// A batch answers questions, several at a time.
type batch struct {
	ctx    context.Context
	trains sync.Map // of the name, to *opened
}

// opened is a train that is read once.
type opened struct {
	once     sync.Once
	analysis *analysis.Analysis
	err      error
}

// lines is how many lines one worker takes at once.
const lines = 64

// A stretch is some lines of input in a row, and the answers to them.
type stretch struct {
	first    int // number of the first line
	lines    [][]byte
	answers  bytes.Buffer
	asked    int
	refused  int
	finished chan struct{}
}

func runBatch(cmd *cobra.Command, in io.Reader) error {
	b := &batch{ctx: cmd.Context()}
	watcherOf(b.ctx).say("the answers so far stand above")
	workers := runtime.GOMAXPROCS(0)
	work, order := make(chan *stretch), make(chan *stretch, 4*workers)
	for range workers {
		go func() {
			for s := range work {
				b.answer(s)
				close(s.finished)
			}
		}()
	}
	var readErr error
	go func() {
		defer close(order)
		defer close(work)
		readErr = b.read(in, func(s *stretch) { order <- s; work <- s })
	}()
	asked, refused := 0, 0
	var writeErr error
	for s := range order {
		<-s.finished
		asked, refused = asked+s.asked, refused+s.refused
		if writeErr == nil {
			_, writeErr = cmd.OutOrStdout().Write(s.answers.Bytes())
		}
	}
	switch err := errors.Join(readErr, writeErr, b.ctx.Err()); {
	case err != nil:
		return err
	case refused > 0:
		return fmt.Errorf("%d of %d questions %s refused: see the lines with \"error\"", refused, asked,
			kinematics.Plural(refused, "was", "were"))
	}
	return nil
}

// read cuts the input into stretches.
func (b *batch) read(in io.Reader, give func(*stretch)) error {
	r := bufio.NewReaderSize(in, 1<<16)
	s := &stretch{first: 1, finished: make(chan struct{})}
	for n := 1; ; n++ {
		line, err := readLine(r)
		if len(line) > 0 || err == nil {
			s.lines = append(s.lines, line)
		}
		// What is there is answered before more is waited for.
		if len(s.lines) == lines || r.Buffered() == 0 || err != nil {
			if len(s.lines) > 0 {
				give(s)
			}
			s = &stretch{first: n + 1, finished: make(chan struct{})}
		}
		if err != nil || b.ctx.Err() != nil {
			if err == io.EOF {
				err = nil
			}
			return err
		}
	}
}

// readLine reads a line without its end; of one that is too long it keeps as much
// as shows that.
func readLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := r.ReadSlice('\n')
		if len(line) <= mostLine {
			line = append(line, part...)
		}
		if err != bufio.ErrBufferFull {
			return bytes.TrimRight(line, "\r\n"), err
		}
	}
}

// answer answers the lines of a stretch. Empty ones have no answer.
func (b *batch) answer(s *stretch) {
	e := json.NewEncoder(&s.answers)
	e.SetEscapeHTML(false)
	for i, line := range s.lines {
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		s.asked++
		a := batchAnswer{Line: s.first + i}
		q, err := parseQuestion(line)
		if a.ID = q.ID; err == nil {
			a.Answer, err = b.ask(q)
		}
		if err != nil {
			a.Answer, a.Error = nil, oneLine(err)
			s.refused++
		}
		if err := e.Encode(a); err != nil {
			e.Encode(batchAnswer{Line: a.Line, Error: err.Error()})
			s.refused++
		}
	}
}

func parseQuestion(line []byte) (batchQuestion, error) {
	var q batchQuestion
	if len(line) > mostLine {
		return q, fmt.Errorf("the line is longer than %d bytes", mostLine)
	}
	if !utf8.Valid(line) {
		return q, errors.New("the line is not text in UTF-8")
	}
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	err := d.Decode(&q)
	if err == nil && d.More() {
		err = errors.New("there is more than one object on the line")
	}
	if err != nil {
		return q, fmt.Errorf(`%s: write a question such as {"train": "simpson-three-speed", "ranges": ["R"]}`, misread(err))
	}
	if key := givenTwice(line); key != "" {
		return q, fmt.Errorf("%s is given twice: keep one", quote(key))
	}
	if q.Train == "" {
		return q, errors.New("which train? Write its name or file as \"train\"")
	}
	return q, nil
}

// givenTwice is the first key that a question or its options have twice, "" for none: of the
// two the decoder takes the last and says nothing. It does not tell large letters of the keys
// of a question from small ones, so neither does this.
func givenTwice(line []byte) string {
	folded := func(key string) string { return strings.ToUpper(strings.ToLower(key)) }
	return keyTwice(line, folded, func(key string, value json.RawMessage) string {
		if folded(key) != "OPTIONS" {
			return ""
		}
		return keyTwice(value, strings.Clone, func(string, json.RawMessage) string { return "" })
	})
}

// keyTwice is the first key of an object that has the same name as one before it, or what a
// value before that gives.
func keyTwice(object []byte, name func(string) string, within func(string, json.RawMessage) string) string {
	d := json.NewDecoder(bytes.NewReader(object))
	if start, err := d.Token(); err != nil || start != json.Delim('{') {
		return ""
	}
	had := map[string]bool{}
	for d.More() {
		word, _ := d.Token()
		key, _ := word.(string)
		if had[name(key)] {
			return key
		}
		had[name(key)] = true
		var value json.RawMessage
		if d.Decode(&value) != nil {
			return ""
		}
		if inner := within(key, value); inner != "" {
			return inner
		}
	}
	return ""
}

// misread says in words why a line is no question.
func misread(err error) string {
	var unfit *json.UnmarshalTypeError
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF):
		return "the object does not end"
	case !errors.As(err, &unfit):
		return strings.TrimPrefix(err.Error(), "json: ")
	}
	kind, _, _ := strings.Cut(unfit.Value, " ")
	what := map[string]string{"array": "a list", "object": "an object", "string": "a text", "number": "a number",
		"bool": "true or false"}[kind]
	if unfit.Field == "" {
		return "a question is an object, not " + what
	}
	return fmt.Sprintf("%s does not fit in %q", what, unfit.Field)
}

// oneLine is what the command line would say of an error, in one line.
func oneLine(err error) string {
	var problems problem.List
	if errors.As(err, &problems) {
		return problems.Refusal() + ": " + problems[0].Error()
	}
	return err.Error()
}

// ask answers a question.
func (b *batch) ask(q batchQuestion) (any, error) {
	if q.Ask != "" && q.Ask != "verdict" {
		return b.command(q)
	}
	if len(q.Ranges) != 1 || len(q.Options) > 0 {
		return nil, errors.New(`verdict takes one of "ranges", and no "options"`)
	}
	a, err := b.open(q.Train)
	if err != nil {
		return nil, err
	}
	r, err := a.Train.FindRange(q.Ranges[0])
	if err != nil {
		return nil, err
	}
	flags := faultFlags{faults: q.Faults}
	wrong, err := flags.parse(a.Train)
	if err != nil {
		return nil, err
	}
	return a.Verdict(r, wrong)
}

// open reads a train, once for all questions.
func (b *batch) open(name string) (*analysis.Analysis, error) {
	if name == "-" {
		return nil, errors.New("standard input holds the questions: name a train or a file")
	}
	x, _ := b.trains.LoadOrStore(name, &opened{})
	o := x.(*opened)
	o.once.Do(func() {
		f, err := gearsets.Open(name, strings.NewReader(""))
		if err != nil {
			o.err = err
			return
		}
		o.analysis = analysis.Open(f.Train)
	})
	return o.analysis, o.err
}

// notInBatch are the flags by which a command writes something else than JSON: its help, text,
// a page.
var notInBatch = []string{"format", "help", "save", "report", "out"}

// command answers a question by the command that it names.
func (b *batch) command(q batchQuestion) (any, error) {
	all := commands()
	i := slices.IndexFunc(all, func(c namedCommand) bool { return c.name == q.Ask })
	if i < 0 {
		return nil, fmt.Errorf("there is nothing to ask by the name %s: write verdict, "+
			"or a command that has --format json", quote(q.Ask))
	}
	cmd := all[i].whole()
	if cmd.Flags().Lookup("format") == nil {
		return nil, fmt.Errorf("%s has no --format json, so it cannot be asked here", q.Ask)
	}
	if q.Train == "-" {
		return nil, errors.New("standard input holds the questions: name a train or a file")
	}
	if len(q.Faults) > 0 && cmd.Flags().Lookup("fault") == nil {
		return nil, fmt.Errorf(`%s takes no "faults"`, q.Ask)
	}
	line := append([]string{q.Ask, q.Train}, q.Ranges...)
	for _, f := range q.Faults {
		line = append(line, "--fault="+f)
	}
	for _, name := range slices.Sorted(maps.Keys(q.Options)) {
		switch {
		case slices.Contains(notInBatch, name):
			return nil, fmt.Errorf("option %s cannot be given here: answers are JSON", quote(name))
		case cmd.Flags().Lookup(name) == nil:
			return nil, fmt.Errorf("%s has no option %s", q.Ask, quote(name))
		}
		words, err := flagWords(name, q.Options[name])
		if err != nil {
			return nil, err
		}
		line = append(line, words...)
	}
	var out bytes.Buffer
	root := newRoot()
	root.AddCommand(cmd)
	root.SetArgs(append(line, "--format=json"))
	root.SetIn(strings.NewReader(""))
	root.SetOut(&out)
	root.SetErr(io.Discard)
	if err := root.ExecuteContext(b.ctx); err != nil && !errors.Is(err, errDiffers) {
		return nil, err
	}
	return json.RawMessage(out.Bytes()), nil
}

// flagWords are the words of the command line for an option: several for a list.
func flagWords(name string, value json.RawMessage) ([]string, error) {
	var list []json.RawMessage
	if json.Unmarshal(value, &list) != nil {
		list = []json.RawMessage{value}
	}
	var words []string
	for _, v := range list {
		text := string(v)
		if strings.HasPrefix(text, `"`) {
			if err := json.Unmarshal(v, &text); err != nil {
				return nil, err
			}
		}
		if strings.HasPrefix(text, "{") || strings.HasPrefix(text, "[") || text == "null" {
			return nil, fmt.Errorf("option %s: write a text, a number, true, or a list of those", quote(name))
		}
		words = append(words, "--"+name+"="+text)
	}
	return words, nil
}
