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
	Name      string // as messages name it
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

// An object is a mapping of the file.
type object struct{ *yamlfile.Object }

type (
	scalar = yamlfile.Scalar
	field  = yamlfile.Field
)

// object reads a mapping that may have the given keys.
func (r *report) object(n *yaml.Node, key scalar, owner, hint string, known ...string) (*object, bool) {
	o, ok := r.Object(n, key, owner, hint, known...)
	return &object{o}, ok
}

// alone is a mapping of one entry of another, to read its value.
func (r *report) alone(owner string, e field) *object {
	return &object{&yamlfile.Object{Report: r.Report, Owner: owner, At: e.Key.Place, Fields: []field{e}}}
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

var sheetKeys = []string{"sheet", "train", "vehicle", "complaint", "circumstances", "seen", "shifts", "workshop", "assume"}

func (r *report) sheet(src []byte, train func(string) (*gearsets.File, error)) (*Sheet, error) {
	root := r.Document(src)
	if root == nil {
		return nil, nil
	}
	o, ok := r.object(root, scalar{}, "", `begin with "sheet: 1"`)
	if !ok || !r.version(o) {
		return nil, nil
	}
	o.Allow(sheetKeys...)
	o.Require("write train: and the name of a train, or the path of its file", "train")
	name := o.Line("train", "write the name of a train, or the path of its file")
	s := &Sheet{Name: r.File, TrainName: name.Value, Case: &diagnosis.Case{Assume: diagnosis.Default()}}
	s.Case.Vehicle = o.Text("vehicle", "write what the vehicle is, or leave the key out").Value
	s.Case.Complaint = o.Text("complaint", "write the complaint in the customer's words, or leave the key out").Value
	for _, c := range o.Names("circumstances", "write a list, such as [sudden, clean]") {
		x, err := diagnosis.ParseCircumstance(s.Case.Circumstances, c.Value)
		if err != nil {
			o.Errorf(c.Place, "possible: "+circumstances(), "%s", err)
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
	return s, nil
}

func circumstances() string {
	var names []string
	for _, c := range diagnosis.Circumstances() {
		names = append(names, c.Name())
	}
	return strings.Join(names, ", ")
}

// version checks the first key.
func (r *report) version(o *object) bool {
	const hint = `write "sheet: 1" as the first line of a road-test sheet`
	f, ok := o.Get("sheet")
	switch {
	case !ok:
		o.Errorf(problem.At(o.At.Line, o.At.Column, 1), hint, "the key sheet is missing: is this a road-test sheet?")
		return false
	case f.Value.Kind != yaml.ScalarNode || f.Value.Value != "1" || f.Value.Tag != "!!int":
		o.Errorf(r.Where(f.Value, f.Key), hint, "format version %s is not known: this program reads version 1", yamlfile.Describe(f.Value))
		return false
	}
	return true
}

// openTrain opens the train that the sheet names. What is wrong with the file of
// the train is an error of its own; that there is no such train is one of the sheet.
func (s *Sheet) openTrain(r *report, name scalar, train func(string) (*gearsets.File, error)) error {
	if name.Value == "-" {
		r.Errorf(name.Place, "write the name of a train, or the path of its file", "a sheet cannot take its train from standard input")
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
	f, ok := o.Get(part.key)
	if !ok {
		return
	}
	if f.Value.Kind == yaml.ScalarNode && f.Value.Tag == "!!null" {
		o.Errorf(f.Key.Place, part.hint, "%s is empty", part.key)
		return
	}
	fields, _ := r.Pairs(f.Value, f.Key, part.key, part.hint)
	for _, f := range fields {
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
		r.words(c, place, f, part.hint)
	}
}

// words reads what was seen in one place: a word, or a list of words.
func (r *report) words(c *diagnosis.Case, place diagnosis.Observation, f field, hint string) {
	if f.Value.Kind == yaml.ScalarNode && f.Value.Tag == "!!null" {
		return // left blank: not tested
	}
	one := r.alone(f.Key.Value, f)
	var words []scalar
	if f.Value.Kind == yaml.SequenceNode {
		words = one.Names(f.Key.Value, hint)
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

var assumeKeys = []string{"error-rate", "tolerance", "weak", "dragging", "light-throttle", "full-throttle", "classes", "effort"}

// assume reads what the diagnosis takes for granted.
func (r *report) assume(o *object, a *diagnosis.Assumptions) {
	f, ok := o.Get("assume")
	if !ok {
		return
	}
	x, ok := r.object(f.Value, f.Key, "assume", "write settings such as tolerance: 2%, or leave the key out", assumeKeys...)
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
	if !x.Bad && light.Cmp(full) >= 0 {
		x.Errorf(x.Key("light-throttle"), "", "light-throttle must be less than full-throttle")
	}
	x.classes(a)
	r.effort(x, a)
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
	s := o.Text(key, hint)
	if !s.Given() {
		return nil, false
	}
	p, ok := Part(s.Value)
	lo, _ := Part(least)
	hi, _ := Part(most)
	if !ok || p.Cmp(lo) < 0 || p.Cmp(hi) > 0 {
		o.Errorf(s.Place, hint, "%s cannot be %q", key, yamlfile.Clip(s.Value))
		return nil, false
	}
	return p, true
}

// share reads a share above 0, and below a limit if there is one.
func (o *object) share(key string, to *kinematics.Share, below string) {
	s := o.Text(key, "write a share such as 0.6")
	if !s.Given() {
		return
	}
	x, err := kinematics.ParseShare(s.Value)
	if err == nil && below == "1" && x.Num >= x.Den {
		err = errors.New("it must be below 1")
	}
	if err != nil {
		o.Errorf(s.Place, "", "%s: %s", key, err)
		return
	}
	*to = x
}

// classes reads the order of the classes of causes. Classes that are not named
// follow in their usual order.
func (o *object) classes(a *diagnosis.Assumptions) {
	var order []diagnosis.Class
	seen := map[diagnosis.Class]bool{}
	for _, s := range o.Names("classes", "write a list, likeliest first, such as [joint, friction]") {
		c, err := diagnosis.ParseClass(s.Value)
		switch {
		case err != nil:
			o.Errorf(s.Place, "", "%s", err)
		case seen[c]:
			o.Errorf(s.Place, "leave it out", "%s is named twice", s.Value)
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
func (r *report) effort(o *object, a *diagnosis.Assumptions) {
	f, ok := o.Get("effort")
	if !ok {
		return
	}
	fields, _ := r.Pairs(f.Value, f.Key, "effort", "write kinds of test and their effort: {stall: 0, bench: 16}")
	for _, x := range fields {
		k, err := diagnosis.ParseTestKind(x.Key.Value)
		if err != nil {
			r.Errorf(x.Key.Place, "possible: "+strings.Join(testKinds(), ", "), "effort: %s", err)
			continue
		}
		one := r.alone("effort", x)
		n := one.Whole(x.Key.Value, "effort", 0, 1000)
		if !one.Bad {
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
