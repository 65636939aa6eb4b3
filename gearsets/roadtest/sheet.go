package roadtest

import (
	"bytes"
	"errors"
	"fmt"
	"math/big"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets"
	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
)

// A Sheet is a road-test sheet that was read: what was seen of a vehicle.
type Sheet struct {
	TrainName string // as the sheet writes it
	Case      *diagnosis.Case
	// TrainProblems are warnings about the train's own file.
	TrainProblems problem.List
}

// format is how messages speak of sheets.
var format = yamlfile.Format{
	Noun:   "road-test sheet",
	Begin:  `begin with "sheet: 1"; "tieup sheet TRAIN" prints one to fill in`,
	Second: "one file is one sheet: put the second into a file of its own",
}

// A report reads a sheet and collects its problems.
type report struct{ *yamlfile.Report }

type (
	object = yamlfile.Object
	scalar = yamlfile.Scalar
	field  = yamlfile.Field
)

// sheetKey is a key that begins a line of a road-test sheet and of no train file.
var sheetKey = pattern(`(?m)^(\x{feff})?(sheet|train|seen)[ \t]*:`)

// pattern compiles a regular expression when it is first needed.
func pattern(text string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}

// IsSheet says whether a file means to be a road-test sheet rather than a train
// file.
func IsSheet(src []byte) bool { return sheetKey().Match(src) && !gearsets.IsTrain(src) }

// Parse reads a road-test sheet. All that is wrong with it is found at
// once; the Sheet is nil if any of it is an error. A train that the sheet names
// by a path is looked for from the folder of the sheet.
func Parse(file string, src []byte) (*Sheet, problem.List, error) {
	return ParseWith(file, src, func(path string) (*gearsets.File, error) {
		if gearsets.Source(path) == nil && gearsets.IsPath(path) && !filepath.IsAbs(path) && file != gearsets.Stdin {
			path = filepath.Join(filepath.Dir(file), path)
		}
		return gearsets.Open(path, strings.NewReader(""))
	})
}

// ParseWith is [Parse] for a reader that finds the train itself: train
// gets what the sheet writes.
func ParseWith(file string, src []byte, train func(string) (*gearsets.File, error)) (*Sheet, problem.List, error) {
	y, src := yamlfile.New(&format, file, src)
	r := &report{y}
	s, err := r.sheet(src, train)
	r.Problems.Sort()
	if err != nil {
		return nil, r.Problems, err
	}
	if r.Problems.Refuse() {
		return nil, r.Problems, r.Problems
	}
	return s, r.Problems, nil
}

func (r *report) sheet(src []byte, train func(string) (*gearsets.File, error)) (*Sheet, error) {
	root := r.Document(src)
	if root == nil {
		return nil, nil
	}
	o, ok := r.Mapping(root, scalar{}, "", sheetTable().Form)
	if !ok || !o.Version(sheetTable(), "sheet") {
		return nil, nil
	}
	o.Is(sheetTable())
	if !r.whole(o, src) {
		return nil, nil
	}
	name := o.Line("train")
	s := &Sheet{TrainName: name.Value, Case: &diagnosis.Case{Assume: diagnosis.Default()}}
	s.Case.Vehicle, s.Case.Complaint = o.Text("vehicle").Value, o.Text("complaint").Value
	for _, c := range o.Names("circumstances") {
		x, err := diagnosis.ParseCircumstance(s.Case.Circumstances, c.Value)
		if err != nil {
			o.Errorf(c.Place, "possible: "+strings.Join(circumstances(), ", "), "%s", err)
			continue
		}
		s.Case.Circumstances = append(s.Case.Circumstances, x)
	}
	r.assume(o, &s.Case.Assume)
	if !name.Given() {
		return s, nil
	}
	if err := s.openTrain(r, name, train); err != nil {
		return nil, err
	}
	if s.Case.Train == nil {
		return s, nil
	}
	for _, part := range sheetParts {
		r.seen(o, part, s.Case)
	}
	r.opened(o, s.Case)
	return s, nil
}

// whole sees that a sheet which says how it ends does end so: one that was cut short
// would be taken for one in which less was seen.
func (r *report) whole(o *object, src []byte) bool {
	if !o.Choice(endsKey).Given() {
		return true
	}
	lines := strings.Fields(string(src))
	if len(lines) > 0 && lines[len(lines)-1] == endMark && bytes.Contains(src, []byte("\n"+endMark)) {
		return true
	}
	r.Errorf(problem.At(bytes.Count(src, []byte("\n"))+1, 1, 1),
		`take a whole copy; or see what is missing, and write "`+endMark+`" as the last line`, "the sheet is cut short: "+
			"its last line is not there")
	return false
}

// openTrain opens the train that the sheet names. What is wrong with the file of
// the train is an error of its own; that there is no such train is one of the sheet.
func (s *Sheet) openTrain(r *report, name scalar, train func(string) (*gearsets.File, error)) error {
	if name.Value == "-" {
		r.Errorf(name.Place, "write the name of a train, or the path of its file",
			"a sheet cannot take its train from standard input")
		return nil
	}
	f, err := train(name.Value)
	var problems problem.List
	switch {
	case errors.As(err, &problems):
		return problems
	case err != nil:
		r.Errorf(name.Place, "", "%s", err)
		return nil
	}
	s.Case.Train, s.TrainProblems = f.Train, f.Problems
	return nil
}

// partOf is the part of a sheet to which an observation belongs.
func partOf(o *diagnosis.Observation) sheetPart {
	switch {
	case o.Shop != nil:
		return sheetParts[2]
	case o.IsShift():
		return sheetParts[1]
	}
	return sheetParts[0]
}

// seen reads what was seen in the ranges, in shifts, or in the workshop.
func (r *report) seen(o *object, part sheetPart, c *diagnosis.Case) {
	f, ok := o.Get(part.key)
	if !ok {
		return
	}
	hint := sheetTable().Key(part.key).Hint
	if f.Value.Kind == yaml.ScalarNode && f.Value.Tag == "!!null" {
		o.Errorf(f.Key.Place, hint, "%s is empty", part.key)
		return
	}
	for _, f := range o.Entries(part.key) {
		place, err := diagnosis.ParsePlace(c.Train, f.Key.Value)
		if err != nil {
			r.Errorf(f.Key.Place, "", "%s", err)
			continue
		}
		if own := partOf(&place); own != part {
			r.Errorf(f.Key.Place, "put it under "+own.key+":", "%s is %s, not %s", f.Key.Value, own.noun, part.noun)
			continue
		}
		if slices.ContainsFunc(c.Seen, func(o diagnosis.Observation) bool { return o.SamePlace(&place) }) {
			r.Errorf(f.Key.Place, "put all that was seen there in one list", "%s is given twice", f.Key.Value)
			continue
		}
		r.words(c, place, f, hint)
	}
}

// words reads what was seen in one place: a word, or a list of words.
func (r *report) words(c *diagnosis.Case, place diagnosis.Observation, f field, hint string) {
	if f.Value.Kind == yaml.ScalarNode && f.Value.Tag == "!!null" {
		return // left blank: not tested
	}
	one := r.Entry(f.Key.Value, f, yamlfile.List{Max: maxSeen}, hint)
	var words []scalar
	if f.Value.Kind == yaml.SequenceNode {
		words = one.Names(f.Key.Value)
	} else if s := one.Scalar(f.Value, f.Key, "what was seen", hint); s.Given() {
		words = []scalar{s}
	}
	all := ""
	for _, w := range words {
		list := strings.TrimPrefix(all+", "+w.Value, ", ")
		if _, err := diagnosis.ParseSeen(c.Train, place, list); err != nil {
			r.Errorf(w.Place, "", "%s: %s", f.Key.Value, err)
			continue
		}
		all = list
	}
	if all != "" {
		seen, err := diagnosis.ParseSeen(c.Train, place, all)
		if err == nil {
			c.Seen = append(c.Seen, seen...)
		}
	}
}

// assume reads what the diagnosis takes for granted.
func (r *report) assume(o *object, a *diagnosis.Assumptions) {
	x, ok := o.Sub("assume")
	if !ok {
		return
	}
	if p, ok := readPart(x, "error-rate"); ok {
		a.ErrorRate, _ = p.Float64()
	}
	if p, ok := readPart(x, "tolerance"); ok {
		a.Tolerance = exact.FromRat(p)
	}
	readShare(x, "weak", &a.Weak)
	readShare(x, "dragging", &a.Dragging)
	readShare(x, "light-throttle", &a.Light)
	readShare(x, "full-throttle", &a.Full)
	light, full := big.NewRat(a.Light.Num, a.Light.Den), big.NewRat(a.Full.Num, a.Full.Den)
	if !x.Bad && light.Cmp(full) >= 0 {
		x.Errorf(x.Key("light-throttle"), fmt.Sprintf("write less than %s, or raise full-throttle", a.Full),
			"light-throttle must be less than full-throttle")
	}
	readClasses(x, a)
	r.effort(x, a)
}

// percent is a number with or without a percent sign.
var percent = pattern(`^(\d{1,4}(?:\.\d{1,6})?)\s*(%?)$`)

// Part reads a part such as 2% or 0.02.
func Part(text string) (*big.Rat, bool) {
	m := percent().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return nil, false
	}
	p, _ := new(big.Rat).SetString(m[1])
	if m[2] != "" {
		p.Quo(p, big.NewRat(100, 1))
	}
	return p, true
}

func readPart(o *object, key string) (*big.Rat, bool) {
	s := o.Text(key)
	if !s.Given() {
		return nil, false
	}
	of := assumeTable().Key(key).Type.(part)
	p, ok := Part(s.Value)
	lo, _ := Part(of.least)
	hi, _ := Part(of.most)
	if !ok || p.Cmp(lo) < 0 || p.Cmp(hi) > 0 {
		o.Errorf(s.Place, of.Hint(), "%s cannot be %q", key, yamlfile.Clip(s.Value))
		return nil, false
	}
	return p, true
}

// readShare reads a share above 0, and below 1 if it must be.
func readShare(o *object, key string, to *kinematics.Share) {
	s := o.Text(key)
	if !s.Given() {
		return
	}
	of := assumeTable().Key(key).Type.(share)
	x, err := kinematics.ParseShare(s.Value)
	if err == nil && of.below1 && x.Num >= x.Den {
		err = errors.New("it must be below 1")
	}
	if err != nil {
		o.Errorf(s.Place, of.Hint(), "%s: %s", key, err)
		return
	}
	*to = x
}

// readClasses reads the order of the classes of causes. Classes that are not named
// follow in their usual order.
func readClasses(o *object, a *diagnosis.Assumptions) {
	var order []diagnosis.Class
	for _, s := range o.Names("classes") {
		c, err := diagnosis.ParseClass(s.Value)
		switch {
		case err != nil:
			o.Errorf(s.Place, "", "%s", err)
		case slices.Contains(order, c):
			o.Errorf(s.Place, "leave it out", "%s is named twice", s.Value)
		default:
			order = append(order, c)
		}
	}
	order = kinematics.Union(order, diagnosis.DefaultClasses()...)
	a.Classes = order
}

// effort reads what tests cost; 0 rules a kind out.
func (r *report) effort(o *object, a *diagnosis.Assumptions) {
	for _, x := range o.Entries("effort") {
		k, err := diagnosis.ParseTestKind(x.Key.Value)
		if err != nil {
			r.Errorf(x.Key.Place, "possible: "+strings.Join(testKinds(), ", "), "effort: %s", err)
			continue
		}
		one := r.Entry("effort", x, effort, "")
		n := one.Whole(x.Key.Value)
		if !one.Bad {
			a.Effort[k] = int(n)
		}
	}
}

// Format writes a case as a road-test sheet that [Parse] reads. train
// is the name or path by which the sheet finds its train. Ranges and shifts of
// which nothing was seen are there to be filled in.
func Format(train string, c *diagnosis.Case, shifts [][2]int) []byte {
	var shop []diagnosis.Observation
	for i, o := range c.Seen {
		if s := [2]int{o.Range, o.To}; o.IsShift() && !slices.Contains(shifts, s) {
			shifts = append(shifts[:len(shifts):len(shifts)], s)
		}
		if o.Shop != nil && !slices.ContainsFunc(c.Seen[:i], func(p diagnosis.Observation) bool { return p.SamePlace(&o) }) {
			shop = append(shop, o)
		}
	}
	var b bytes.Buffer
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# Road-test sheet for tieup. Write what was seen; leave \"not tested\" where nothing")
	line("# was: that counts neither way. Then: tieup diagnose THIS-FILE")
	for _, caution := range diagnosis.RoadCautions(c.Train) {
		comment(line, caution)
	}
	line("sheet: 1")
	line("%s: %q  # the last line, so that a sheet that was cut short is not taken for a whole one", endsKey, endMark)
	line("train: %s", quoted(train))
	optional := func(key, value, example string) {
		if value == "" {
			line("# %s: %s", key, example)
		} else {
			line("%s: %s", key, quoted(value))
		}
	}
	optional("vehicle", c.Vehicle, "which vehicle, mileage, date")
	optional("complaint", c.Complaint, "in the customer's words")
	names := kinematics.Map(c.Circumstances, diagnosis.Circumstance.Name)
	line("# sudden or gradual, clean or burnt (fluid), cold or hot (only then), rebuilt (lately)")
	line("circumstances: [%s]", strings.Join(names, ", "))
	line("")
	line("# One word for each range, or a list: D1: [forward, no-engine-braking]")
	glossary := func(words []diagnosis.Gloss) {
		for _, w := range words {
			line("#   %-19s %s", w.Word, w.Meaning)
		}
	}
	glossary(diagnosis.GlossaryOf(c.Train))
	line("seen:")
	t := c.Train
	width := 0
	for r := range t.Ranges {
		width = max(width, len(keyText(t.Ranges[r].Name)))
	}
	for r := range t.Ranges {
		value := seenIn(c, func(o *diagnosis.Observation) bool { return o.Range == r && !o.IsShift() })
		line("  %-*s %s", width+1, keyText(t.Ranges[r].Name)+":", value)
	}
	for i := range t.Positions {
		p := &t.Positions[i]
		if value := seenIn(c, func(o *diagnosis.Observation) bool { return o.Position == p }); value != diagnosis.NotTested {
			line("  %s: %s", keyText(p.Name), value)
		}
	}
	if len(shifts) > 0 {
		line("")
		line("# of a shift, also N-R: ok, bind, flare, late, harsh, shudder, no-shift")
		line("shifts:")
		for _, s := range shifts {
			place := diagnosis.Observation{Range: s[0], To: s[1]}
			value := seenIn(c, func(o *diagnosis.Observation) bool { return o.IsShift() && o.Range == s[0] && o.To == s[1] })
			line("  %s: %s", keyText(place.Place(t)), value)
		}
	}
	line("")
	line("# Tests in the workshop, as they are made:")
	glossary(diagnosis.ShopGlossaryOf(c.Train))
	if len(shop) == 0 {
		line("workshop: {}")
	} else {
		line("workshop:")
	}
	for _, place := range shop {
		line("  %s: %s", keyText(place.Place(t)), seenIn(c, place.SamePlace))
	}
	line("")
	formatOpened(line, c)
	formatAssumptions(line, &c.Assume)
	line(endMark)
	return b.Bytes()
}

// seenIn writes the observations that belong to one place.
func seenIn(c *diagnosis.Case, belongs func(*diagnosis.Observation) bool) string {
	var list []string
	for i := range c.Seen {
		if belongs(&c.Seen[i]) {
			list = append(list, quotedNote(&c.Seen[i], c.Seen[i].Value(c.Train)))
		}
	}
	switch len(list) {
	case 0:
		return diagnosis.NotTested
	case 1:
		return list[0]
	}
	return "[" + strings.Join(list, ", ") + "]"
}

// quotedNote quotes a note where YAML would read something else; words need none.
func quotedNote(o *diagnosis.Observation, value string) string {
	if o.Word == diagnosis.Note {
		return quoted(value)
	}
	return value
}

func formatAssumptions(line func(string, ...any), a *diagnosis.Assumptions) {
	classes := kinematics.Map(a.Classes, diagnosis.Class.Name)
	effort := kinematics.Map(diagnosis.TestKinds(), func(k diagnosis.TestKind) string {
		return fmt.Sprintf("%s: %d", k.Name(), a.Effort[k])
	})
	line("# What the diagnosis takes for granted. Change what you know better.")
	line("assume:")
	line("  error-rate: %s%%        # how often something is seen wrongly", number(a.ErrorRate*100))
	line("  tolerance: %s%%         # how far a measured ratio may be off", number(a.Tolerance.Float()*100))
	line("  weak: %s             # the share of its rating with which a weak element holds", a.Weak)
	line("  dragging: %s         # and with which one drags that is released", a.Dragging)
	line("  light-throttle: %s  # as shares of the rated input torque", a.Light)
	line("  full-throttle: %s", a.Full)
	line("  # classes of causes, likeliest first: a judgement, no data")
	line("  classes: [%s]", strings.Join(classes, ", "))
	line("  # effort of each kind of test; 0 is not to be proposed")
	half := (len(effort) + 1) / 2
	line("  effort: {%s,", strings.Join(effort[:half], ", "))
	line("           %s}", strings.Join(effort[half:], ", "))
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

// quoted writes a text so that YAML reads it back, in quotes where it must.
func quoted(s string) string {
	s = strings.Map(func(r rune) rune {
		if problem.Hidden(r) || unicode.IsControl(r) || r == utf8.RuneError {
			return ' '
		}
		return r
	}, s)
	s = strings.Join(strings.Fields(s), " ")
	var n yaml.Node
	if plain().MatchString(s) && yaml.Unmarshal([]byte(s), &n) == nil && len(n.Content) == 1 &&
		n.Content[0].Tag == "!!str" {
		return s
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
}

// plain are texts that certainly need no quotes.
var plain = pattern(`^[A-Za-z./][A-Za-z0-9 ./_-]*$`)

// plainKey are keys that certainly need none: names, with what joins them in the
// place of a test.
var plainKey = pattern(`^[A-Za-z][A-Za-z0-9_.:@+-]*$`)

// keyText writes the name of a range or shift as a key.
func keyText(s string) string {
	var n yaml.Node
	if plainKey().MatchString(s) && yaml.Unmarshal([]byte(s), &n) == nil && len(n.Content) == 1 &&
		n.Content[0].Tag == "!!str" {
		return s
	}
	return strconv.Quote(s)
}

// comment writes a text as comments of at most 80 columns.
func comment(line func(string, ...any), text string) {
	at := "#"
	for word := range strings.FieldsSeq(text) {
		if len(at)+1+len(word) > 80 {
			line("%s", at)
			at = "#  "
		}
		at += " " + word
	}
	line("%s", at)
}
