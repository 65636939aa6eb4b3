package appchart

import (
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/fit"
)

// number reads a figure with its places.
func (r *reader) number(c cell, what string) *fit.Printed {
	const hint = "write it as printed, such as 2.45, 2,45 or -1.93"
	text, percent := bare(c.text)
	if strings.Contains(text, ",") && strings.Contains(text, ".") {
		r.errorf(c.Place, hint, "%s %s has a comma and a point", what, kinematics.Quote(c.text))
		return nil
	}
	text = strings.ReplaceAll(text, ",", ".")
	whole, places, decimal := strings.Cut(strings.TrimPrefix(text, "-"), ".")
	if whole == "" && decimal {
		whole, text = "0", strings.Replace(text, ".", "0.", 1)
	}
	digits := func(s string) bool {
		return s != "" && !strings.ContainsFunc(s, func(c rune) bool { return c < '0' || c > '9' })
	}
	switch {
	case !digits(whole) || decimal && !digits(places):
		r.errorf(c.Place, hint, "%s is %s, not a number", what, kinematics.Quote(c.text))
		return nil
	case len(whole) > 4 || len(places) > 6:
		r.errorf(c.Place, "write at most four digits before and six behind the point", "%s %s has too many digits", what,
			kinematics.Quote(c.text))
		return nil
	}
	if percent {
		text, places = hundredth(text, len(places))
	}
	v, err := exact.Parse(text)
	if err != nil || v.Sign() == 0 {
		r.errorf(c.Place, hint, "%s cannot be 0", what)
		return nil
	}
	return &fit.Printed{Text: text, Value: v, Places: len(places)}
}

// bare is a number without what is written around it: 2,84:1, 1:2.84, i = 2.84, 2.84*, R 2.84 and
// (2.84) for reverse, 284%.
func bare(text string) (number string, percent bool) {
	text = strings.NewReplacer("−", "-", "–", "-", "\u00a0", "", " ", "", "\u202f", "").Replace(text)
	text = strings.TrimRight(text, notes)
	text = strings.TrimPrefix(strings.TrimPrefix(text, "i"), "=")
	for _, around := range [][2]string{{"(", ")"}, {"R", ""}, {"", "R"}} {
		in, before := strings.CutPrefix(text, around[0])
		in, behind := strings.CutSuffix(in, around[1])
		if before && behind && in != text && !strings.HasPrefix(in, "-") {
			text = "-" + in
		}
	}
	text, percent = strings.CutSuffix(text, "%")
	minus := strings.HasPrefix(text, "-")
	text = strings.TrimLeft(text, "-+")
	if in, ok := strings.CutPrefix(text, "1:"); ok {
		text = in
	}
	text = strings.TrimSuffix(text, ":1")
	if minus {
		text = "-" + text
	}
	return text, percent
}

// hundredth moves the point of a number two places.
func hundredth(text string, places int) (moved, decimals string) {
	minus := strings.HasPrefix(text, "-")
	digits := strings.ReplaceAll(strings.TrimPrefix(text, "-"), ".", "")
	for len(digits) < places+3 {
		digits = "0" + digits
	}
	cut := len(digits) - places - 2
	moved, decimals = digits[:cut]+"."+digits[cut:], digits[cut:]
	if minus {
		moved = "-" + moved
	}
	return moved, decimals
}

// A rowWord begins a row that is no range.
type rowWord struct {
	word    string
	also    []string // other words for the same
	repeats bool     // it may begin several rows
	example string   // what stands behind it in the form to fill in, "" where it is no remark there
	about   string   // for the package comment, "" for a row that is passed over
	hint    string   // what to write
	read    func(r *reader, cells []cell, hint string)
}

// rowWords are all of them, in the order of the documentation.
var rowWords = []rowWord{
	{word: "kind", also: []string{"kinds"}, hint: "write clutch, brake, one-way, outside, or nothing",
		about: "under each element what it is: clutch, brake, one-way, or outside for what is no part of the train, such " +
			"as the clutch that locks a converter", read: (*reader).kindRow},
	{word: "layout", hint: "write the name of a train: tieup trains lists them", example: "simpson-three-speed",
		about: "the name of a train in the library that it is", read: (*reader).layoutRow},
	{word: "final drive", also: []string{"final drive ratio"}, example: "?",
		hint:  "write the ratio of the final drive, or ? if it is not known",
		about: "a factor: what fits says whether the ratios contain it; ? if they contain one that is not known",
		read:  (*reader).finalRow},
	{word: "teeth", repeats: true, hint: "write teeth; front.sun; 37", example: "front.sun,37",
		about: "a member and its tooth count: teeth; front.sun; 37", read: (*reader).teethRow},
	{word: "speed", repeats: true, hint: "write speed; RANGE; MEMBER; SPEED per turn of the input",
		example: "2,front.sun,0.31",
		about:   "a range, a member and its speed per turn of the input: speed; 2; front.sun; 0,31",
		read:    (*reader).speedRow},
	{word: "ratio as", hint: "write in/out or out/in", example: "in/out",
		about: "in/out, or out/in where ratios are output speed / input speed", read: (*reader).senseRow},
	{word: "rounding", hint: "write rounded or truncated", example: "rounded",
		about: "rounded, or truncated where places were cut off", read: (*reader).roundingRow},
	{word: "name", hint: "write the name of the train: my-six-speed",
		about: "the name of the train that is made", read: (*reader).nameRow},
	{word: "spread", also: []string{"ratio spread", "spreizung"}},
}

// wordOf returns what begins a row with a text, nil for a range.
func wordOf(text string) *rowWord {
	if i := slices.IndexFunc(rowWords, func(w rowWord) bool {
		return w.word == text || slices.Contains(w.also, text)
	}); i >= 0 {
		return &rowWords[i]
	}
	return nil
}

func (r *reader) kindRow(cells []cell, hint string) {
	for k, i := range r.elements {
		c := at(cells, i)
		kind := fit.ColumnKind(strings.ToLower(c.text))
		switch kind {
		case "band":
			kind = fit.BrakeColumn
		case "sprag", "roller", "freewheel", "owc", "one-way clutch", "one way":
			kind = fit.OneWayColumn
		}
		if kind == fit.AnyKind {
			continue
		}
		if !slices.Contains(fit.ColumnKinds, kind) {
			r.errorf(c.Place, hint, "%s is no kind of element",
				kinematics.Quote(c.text))
			continue
		}
		r.chart.Columns[k].Kind = kind
	}
	r.beyond(cells)
}

// only returns the one cell of a row behind its word.
func (r *reader) only(cells []cell, hint string) (cell, bool) {
	var given []cell
	for _, c := range cells[1:] {
		if c.text != "" {
			given = append(given, c)
		}
	}
	switch len(given) {
	case 0:
		r.errorf(cells[0].Place, hint, "what %s is, is missing", cells[0].text)
		return cell{}, false
	case 1:
		return given[0], true
	}
	r.errorf(given[1].Place, hint, "%s takes one cell", cells[0].text)
	return cell{}, false
}

func (r *reader) layoutRow(cells []cell, hint string) {
	c, ok := r.only(cells, hint)
	if !ok {
		return
	}
	names := kinematics.Map(r.trains, func(t *kinematics.Train) string { return t.Name })
	if !slices.Contains(names, c.text) {
		r.errorf(c.Place, "tieup trains lists them", "the library has no train %s%s", kinematics.Quote(c.text),
			kinematics.DidYouMean(c.text, names))
	}
	r.chart.Layout = c.text
}

func (r *reader) finalRow(cells []cell, hint string) {
	c, ok := r.only(cells, hint)
	if !ok {
		return
	}
	r.chart.FinalDrive = &fit.Printed{}
	if c.text == "?" || strings.EqualFold(c.text, "included") {
		return
	}
	if p := r.number(c, "the final drive"); p != nil {
		if p.Value.Sign() < 0 {
			r.errorf(c.Place, "write it without a sign", "the final drive is below 0")
		}
		r.chart.FinalDrive = p
	}
}

func (r *reader) teethRow(cells []cell, hint string) {
	member, count := at(cells, 1), at(cells, 2)
	set, part, ok := strings.Cut(member.text, ".")
	if !ok || !kinematics.ValidName(set) || !kinematics.ValidName(part) {
		r.errorf(member.Place, hint, "%s is no gear of a gearset", kinematics.Quote(member.text))
		return
	}
	n, err := strconv.ParseInt(count.text, 10, 64)
	if err != nil || n < 1 || n > 100000 {
		r.errorf(count.Place, hint, "%s is no tooth count", kinematics.Quote(count.text))
		return
	}
	if !r.known(member, "gear", func(t *kinematics.Train) (list []string) {
		for i := range t.Gearsets {
			for _, x := range t.Gearsets[i].Gears {
				list = append(list, t.Members[x.Member].Name)
			}
		}
		return list
	}) {
		return
	}
	if slices.ContainsFunc(r.chart.Teeth, func(t fit.Teeth) bool { return t.Member == member.text }) {
		r.errorf(member.Place, "leave one of them out", "the teeth of %s stand twice", member.text)
	}
	r.chart.Teeth = append(r.chart.Teeth, fit.Teeth{Member: member.text, Count: n})
}

func (r *reader) speedRow(cells []cell, hint string) {
	rng, member, speed := at(cells, 1), at(cells, 2), at(cells, 3)
	if rng.text == "" || member.text == "" || speed.text == "" {
		r.errorf(cells[0].Place, hint, "a speed needs a range, a member and a number")
		return
	}
	if !r.known(member, "member", func(t *kinematics.Train) []string {
		return kinematics.Map(t.Members[1:], func(m kinematics.Member) string { return m.Name })
	}) {
		return
	}
	if still(speed.text) {
		r.errorf(speed.Place, "leave the row out: the marks say what is held; write members that turn",
			"the speed of %s is 0", member.text)
		return
	}
	if p := r.number(speed, "the speed"); p != nil {
		r.speeds = append(r.speeds, speedRow{rng, member.text, *p})
	}
}

// still says whether a speed is written as 0.
func still(text string) bool {
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	return err == nil && v == 0
}

// known reports a name that no train has.
func (r *reader) known(c cell, what string, names func(*kinematics.Train) []string) bool {
	var all []string
	for _, t := range r.trains {
		all = kinematics.Union(all, names(t)...)
	}
	if len(r.trains) == 0 || slices.Contains(all, c.text) {
		return true
	}
	r.errorf(c.Place, "write it as tieup show TRAIN lists it, such as front.sun", "no train of the library has a %s %s%s",
		what, kinematics.Quote(c.text), kinematics.DidYouMean(c.text, all))
	return false
}

func (r *reader) senseRow(cells []cell, hint string) {
	c, ok := r.only(cells, hint)
	switch {
	case !ok:
	case c.text == "out/in":
		r.chart.OutIn = true
	case c.text != "in/out":
		r.errorf(c.Place, hint, "ratio as is %s", kinematics.Quote(c.text))
	}
}

func (r *reader) roundingRow(cells []cell, hint string) {
	c, ok := r.only(cells, hint)
	switch {
	case !ok:
	case c.text == "rounded":
		r.chart.Rounded = true
	case c.text == "truncated":
		r.chart.Truncated = true
	default:
		r.errorf(c.Place, hint, "rounding is %s", kinematics.Quote(c.text))
	}
}

func (r *reader) nameRow(cells []cell, hint string) {
	if c, ok := r.only(cells, hint); ok {
		r.chart.Name = c.text
		if !kinematics.ValidName(c.text) {
			r.errorf(c.Place, "write letters, digits and dashes: my-six-speed", "%s cannot name a train",
				kinematics.Quote(c.text))
		}
	}
}

// Blank is an empty form.
func Blank() string {
	form := `# An application chart for tieup fit. Write your own letters in place of A to F, x where an
# element is applied, ? where the chart does not tell, and the ratio with the places that are printed.
# kind: clutch, brake, one-way, outside (no part of the train), or nothing where it is not known.
range,A,B,C,D,E,F,ratio
kind,,,,,,,
R,,,,,,,
1,,,,,,,
2,,,,,,,
3,,,,,,,
4,,,,,,,
5,,,,,,,
6,,,,,,,
# Where known, without the #:
`
	for _, w := range rowWords {
		if w.example != "" {
			form += "# " + w.word + "," + w.example + "\n"
		}
	}
	return form
}
