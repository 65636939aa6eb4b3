package gearsets

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
)

// A RoadTest is a road-test sheet that was read: what was seen of a vehicle.
type RoadTest struct {
	Name      string // as messages name it
	TrainName string // as the sheet writes it
	Case      *diagnosis.Case
	// TrainProblems are warnings about the train's own file.
	TrainProblems Problems
}

// Keys that begin a line of a road-test sheet and of no train file, and one that
// begins a line of every train file.
var (
	sheetKey = regexp.MustCompile(`(?m)^(\x{feff})?(sheet|train|seen)[ \t]*:`)
	trainKey = regexp.MustCompile(`(?m)^(\x{feff})?tieup[ \t]*:`)
)

// IsSheet says whether a file means to be a road-test sheet rather than a train
// file.
func IsSheet(src []byte) bool { return sheetKey.Match(src) && !trainKey.Match(src) }

// ReadFile reads a file, or stdin if the path is "-", but no more of it than
// shows that it is too much.
func ReadFile(path string, stdin io.Reader) ([]byte, error) {
	in := stdin
	if path != "-" {
		info, err := os.Stat(path)
		if err != nil {
			return nil, fmt.Errorf("%s: %s", path, reason(err))
		}
		if info.IsDir() {
			return nil, fmt.Errorf("%s is a directory: name a file in it", path)
		}
		file, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("%s: %s", path, reason(err))
		}
		defer file.Close()
		in = file
	}
	src, err := io.ReadAll(io.LimitReader(in, MaxSize+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %s", path, reason(err))
	}
	return src, nil
}

// ParseSheet reads a road-test sheet. All that is wrong with it is found at
// once; the Sheet is nil if any of it is an error. A train that the sheet names
// by a path is looked for from the folder of the sheet.
func ParseSheet(file string, src []byte) (*RoadTest, Problems, error) {
	return ParseSheetWith(file, src, func(path string) (*File, error) {
		if Source(path) == nil && looksLikePath(path) && !filepath.IsAbs(path) && file != "standard input" {
			path = filepath.Join(filepath.Dir(file), path)
		}
		return Open(path, strings.NewReader(""))
	})
}

// ParseSheetWith is [ParseSheet] for a reader that finds the train itself: train
// gets what the sheet writes.
func ParseSheetWith(file string, src []byte, train func(string) (*File, error)) (*RoadTest, Problems, error) {
	src = bytes.TrimPrefix(src, []byte("\ufeff"))
	r := newReport(file, src[:min(len(src), MaxSize)])
	r.noun = "road-test sheet"
	s, err := r.sheet(src, train)
	r.problems.sort()
	if err != nil {
		return nil, r.problems, err
	}
	if r.problems.Refuse() {
		return nil, r.problems, r.problems
	}
	return s, r.problems, nil
}

var sheetKeys = []string{"sheet", "train", "vehicle", "complaint", "circumstances", "seen", "shifts", "workshop", "assume"}

func (r *report) sheet(src []byte, train func(string) (*File, error)) (*RoadTest, error) {
	root := r.document(src)
	if root == nil {
		return nil, nil
	}
	o, ok := r.object(root, scalar{}, "", `begin with "sheet: 1"`)
	if !ok || !r.sheetVersion(o) {
		return nil, nil
	}
	o.allow(sheetKeys...)
	o.require("write train: and the name of a train, or the path of its file", "train")
	name := o.line("train", "write the name of a train, or the path of its file")
	s := &RoadTest{Name: r.file, TrainName: name.value, Case: &diagnosis.Case{Assume: diagnosis.Default()}}
	s.Case.Vehicle = o.text("vehicle", "write what the vehicle is, or leave the key out").value
	s.Case.Complaint = o.text("complaint", "write the complaint in the customer's words, or leave the key out").value
	for _, c := range o.names("circumstances", "write a list, such as [sudden, clean]") {
		x, err := diagnosis.ParseCircumstance(s.Case.Circumstances, c.value)
		if err != nil {
			o.errorf(c.Place, "possible: "+circumstances(), "%s", err)
			continue
		}
		s.Case.Circumstances = append(s.Case.Circumstances, x)
	}
	r.assume(o, &s.Case.Assume)
	if !name.given() {
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
	return s, nil
}

func circumstances() string {
	var names []string
	for _, c := range diagnosis.Circumstances() {
		names = append(names, c.Name())
	}
	return strings.Join(names, ", ")
}

// sheetVersion checks the first key.
func (r *report) sheetVersion(o *object) bool {
	const hint = `write "sheet: 1" as the first line of a road-test sheet`
	f, ok := o.get("sheet")
	switch {
	case !ok:
		o.errorf(Place{o.at.Line, o.at.Column, 1}, hint, "the key sheet is missing: is this a road-test sheet?")
		return false
	case f.value.Kind != yaml.ScalarNode || f.value.Value != "1" || f.value.Tag != "!!int":
		o.errorf(at(r.place(f.value), f.key, f.value), hint, "format version %s is not known: this program reads version 1", describe(f.value))
		return false
	}
	return true
}

// openTrain opens the train that the sheet names. What is wrong with the file of
// the train is an error of its own; that there is no such train is one of the sheet.
func (s *RoadTest) openTrain(r *report, name scalar, train func(string) (*File, error)) error {
	if name.value == "-" {
		r.errorf(name.Place, "write the name of a train, or the path of its file", "a sheet cannot take its train from standard input")
		return nil
	}
	f, err := train(name.value)
	var problems Problems
	switch {
	case errors.As(err, &problems):
		return problems
	case err != nil:
		r.errorf(name.Place, "", "%s", err)
		return nil
	}
	s.Case.Train, s.TrainProblems = f.Train, f.Problems
	return nil
}

// A sheetPart is a key under which observations of one sort stand.
type sheetPart struct{ key, noun, hint string }

var sheetParts = []sheetPart{
	{"seen", "a range", "write ranges and what was seen in them: R: bind, or D1: [forward, no-engine-braking], or N: not tested"},
	{"shifts", "a shift", "write shifts and what was seen in them: D1-D2: flare"},
	{"workshop", "a test in the workshop", "write tests and what they showed: air:direct: good, or pressure:direct@R: fed"},
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
	f, ok := o.get(part.key)
	if !ok {
		return
	}
	if f.value.Kind == yaml.ScalarNode && f.value.Tag == "!!null" {
		o.errorf(f.key.Place, part.hint, "%s is empty", part.key)
		return
	}
	fields, _ := r.pairs(f.value, f.key, part.key, part.hint)
	for _, f := range fields {
		place, err := diagnosis.ParsePlace(c.Train, f.key.value)
		if err != nil {
			r.errorf(f.key.Place, "", "%s", err)
			continue
		}
		if own := partOf(&place); own != part {
			r.errorf(f.key.Place, "put it under "+own.key+":", "%s is %s, not %s", f.key.value, own.noun, part.noun)
			continue
		}
		if slices.ContainsFunc(c.Seen, func(o diagnosis.Observation) bool { return o.SamePlace(&place) }) {
			r.errorf(f.key.Place, "put all that was seen there in one list", "%s is given twice", f.key.value)
			continue
		}
		r.words(c, place, f, part.hint)
	}
}

// words reads what was seen in one place: a word, or a list of words.
func (r *report) words(c *diagnosis.Case, place diagnosis.Observation, f field, hint string) {
	if f.value.Kind == yaml.ScalarNode && f.value.Tag == "!!null" {
		return // left blank: not tested
	}
	one := &object{r: r, owner: f.key.value, at: f.key.Place, fields: []field{f}}
	var words []scalar
	if f.value.Kind == yaml.SequenceNode {
		words = one.names(f.key.value, hint)
	} else if s := one.scalar(f.value, f.key, "what was seen", hint); s.given() {
		words = []scalar{s}
	}
	all := ""
	for _, w := range words {
		list := strings.TrimPrefix(all+", "+w.value, ", ")
		if _, err := diagnosis.ParseSeen(c.Train, place, list); err != nil {
			r.errorf(w.Place, "", "%s: %s", f.key.value, err)
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

var assumeKeys = []string{"error-rate", "tolerance", "weak", "dragging", "light-throttle", "full-throttle", "classes", "effort"}

// assume reads what the diagnosis takes for granted.
func (r *report) assume(o *object, a *diagnosis.Assumptions) {
	f, ok := o.get("assume")
	if !ok {
		return
	}
	x, ok := r.object(f.value, f.key, "assume", "write settings such as tolerance: 2%, or leave the key out", assumeKeys...)
	if !ok {
		return
	}
	if p, ok := x.part("error-rate", "1%", "49%"); ok {
		a.ErrorRate, _ = p.Float64()
	}
	if p, ok := x.part("tolerance", "0%", "20%"); ok {
		a.Tolerance = exact.FromRat(p)
	}
	x.share("weak", &a.Weak, "1")
	x.share("dragging", &a.Dragging, "1")
	x.share("light-throttle", &a.Light, "")
	x.share("full-throttle", &a.Full, "")
	light, full := big.NewRat(a.Light.Num, a.Light.Den), big.NewRat(a.Full.Num, a.Full.Den)
	if !x.bad && light.Cmp(full) >= 0 {
		x.errorf(x.key("light-throttle"), "", "light-throttle must be less than full-throttle")
	}
	x.classes(a)
	x.effort(a)
}

// percent is a number with or without a percent sign.
var percent = regexp.MustCompile(`^(\d{1,4}(?:\.\d{1,6})?)\s*(%?)$`)

// Part reads a part such as 2% or 0.02.
func Part(text string) (*big.Rat, bool) {
	m := percent.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return nil, false
	}
	p, _ := new(big.Rat).SetString(m[1])
	if m[2] != "" {
		p.Quo(p, big.NewRat(100, 1))
	}
	return p, true
}

func (o *object) part(key, least, most string) (*big.Rat, bool) {
	hint := fmt.Sprintf("write a part from %s to %s", least, most)
	s := o.text(key, hint)
	if !s.given() {
		return nil, false
	}
	p, ok := Part(s.value)
	lo, _ := Part(least)
	hi, _ := Part(most)
	if !ok || p.Cmp(lo) < 0 || p.Cmp(hi) > 0 {
		o.errorf(s.Place, hint, "%s cannot be %q", key, clip(s.value))
		return nil, false
	}
	return p, true
}

// share reads a share above 0, and below a limit if there is one.
func (o *object) share(key string, to *kinematics.Share, below string) {
	s := o.text(key, "write a share such as 0.6")
	if !s.given() {
		return
	}
	x, err := kinematics.ParseShare(s.value)
	if err == nil && below == "1" && x.Num >= x.Den {
		err = errors.New("it must be below 1")
	}
	if err != nil {
		o.errorf(s.Place, "", "%s: %s", key, err)
		return
	}
	*to = x
}

// classes reads the order of the classes of causes. Classes that are not named
// follow in their usual order.
func (o *object) classes(a *diagnosis.Assumptions) {
	var order []diagnosis.Class
	seen := map[diagnosis.Class]bool{}
	for _, s := range o.names("classes", "write a list, likeliest first, such as [joint, friction]") {
		c, err := diagnosis.ParseClass(s.value)
		switch {
		case err != nil:
			o.errorf(s.Place, "", "%s", err)
		case seen[c]:
			o.errorf(s.Place, "leave it out", "%s is named twice", s.value)
		default:
			seen[c] = true
			order = append(order, c)
		}
	}
	for _, c := range diagnosis.DefaultClasses() {
		if !seen[c] {
			order = append(order, c)
		}
	}
	a.Classes = order
}

// effort reads what tests cost; 0 rules a kind out.
func (o *object) effort(a *diagnosis.Assumptions) {
	f, ok := o.get("effort")
	if !ok {
		return
	}
	fields, _ := o.r.pairs(f.value, f.key, "effort", "write kinds of test and their effort: {stall: 0, bench: 16}")
	for _, x := range fields {
		k, err := diagnosis.ParseTestKind(x.key.value)
		if err != nil {
			o.r.errorf(x.key.Place, "possible: "+strings.Join(testKinds(), ", "), "effort: %s", err)
			continue
		}
		one := &object{r: o.r, owner: "effort", at: x.key.Place, fields: []field{x}}
		n := one.whole(x.key.value, "effort", 0, 1000)
		if !one.bad {
			a.Effort[k] = int(n)
		}
	}
}

func testKinds() []string {
	var names []string
	for _, k := range diagnosis.TestKinds() {
		names = append(names, k.Name())
	}
	return names
}

// FormatSheet writes a case as a road-test sheet that [ParseSheet] reads. train
// is the name or path by which the sheet finds its train. Ranges and shifts of
// which nothing was seen are there to be filled in.
func FormatSheet(train string, c *diagnosis.Case, shifts [][2]int) []byte {
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
	line("# was: it is held against no suspect. Then: tieup diagnose THIS-FILE")
	line("sheet: 1")
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
	var names []string
	for _, x := range c.Circumstances {
		names = append(names, x.Name())
	}
	line("# sudden or gradual, clean or burnt (fluid), cold or hot (only then), rebuilt (lately)")
	line("circumstances: [%s]", strings.Join(names, ", "))
	line("")
	line("# One word for each range, or a list: D1: [forward, no-engine-braking]")
	glossary := func(words []diagnosis.Gloss) {
		for _, w := range words {
			line("#   %-19s %s", w.Word, w.Meaning)
		}
	}
	glossary(diagnosis.Glossary())
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
	if len(shifts) > 0 {
		line("")
		line("# of a shift: ok, bind, flare")
		line("shifts:")
		for _, s := range shifts {
			place := diagnosis.Observation{Range: s[0], To: s[1]}
			value := seenIn(c, func(o *diagnosis.Observation) bool { return o.IsShift() && o.Range == s[0] && o.To == s[1] })
			line("  %s: %s", keyText(place.Place(t)), value)
		}
	}
	line("")
	line("# Tests in the workshop, as they are made:")
	glossary(diagnosis.ShopGlossary())
	if len(shop) == 0 {
		line("workshop: {}")
	} else {
		line("workshop:")
	}
	for _, place := range shop {
		line("  %s: %s", keyText(place.Place(t)), seenIn(c, place.SamePlace))
	}
	line("")
	formatAssumptions(line, &c.Assume)
	return b.Bytes()
}

// seenIn writes the observations that belong to one place.
func seenIn(c *diagnosis.Case, belongs func(*diagnosis.Observation) bool) string {
	var list []string
	for i := range c.Seen {
		if belongs(&c.Seen[i]) {
			list = append(list, c.Seen[i].Value(c.Train))
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

func formatAssumptions(line func(string, ...any), a *diagnosis.Assumptions) {
	var classes, effort []string
	for _, c := range a.Classes {
		classes = append(classes, c.Name())
	}
	for _, k := range diagnosis.TestKinds() {
		effort = append(effort, fmt.Sprintf("%s: %d", k.Name(), a.Effort[k]))
	}
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
		if unicode.IsControl(r) || r == utf8.RuneError {
			return ' '
		}
		return r
	}, s)
	s = strings.Join(strings.Fields(s), " ")
	var n yaml.Node
	if plain.MatchString(s) && yaml.Unmarshal([]byte(s), &n) == nil && len(n.Content) == 1 && n.Content[0].Tag == "!!str" {
		return s
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
}

// plain are texts that certainly need no quotes.
var plain = regexp.MustCompile(`^[A-Za-z./][A-Za-z0-9 ./_-]*$`)

// plainKey are keys that certainly need none: names, with what joins them in the
// place of a test.
var plainKey = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_.:@+-]*$`)

// keyText writes the name of a range or shift as a key.
func keyText(s string) string {
	var n yaml.Node
	if plainKey.MatchString(s) && yaml.Unmarshal([]byte(s), &n) == nil && len(n.Content) == 1 && n.Content[0].Tag == "!!str" {
		return s
	}
	return strconv.Quote(s)
}
