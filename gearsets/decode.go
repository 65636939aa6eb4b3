package gearsets

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"tieup/kinematics"
)

// A scalar is one value of the file, or one entry of a list. Its Line is 0 if
// it is not there, or not usable and already reported.
type scalar struct {
	Place
	value string
}

func (s scalar) given() bool { return s.Line > 0 }

// A field is a key of a mapping with its value.
type field struct {
	key   scalar
	value *yaml.Node
}

// An object is a mapping of the file whose keys the format knows.
type object struct {
	r      *report
	owner  string // how messages name it: "front", "" for the file itself
	at     Place
	fields []field
	bad    bool     // something in it was reported
	meant  []string // keys that unknown ones were probably meant to be
}

// say puts the name of the owner before a message.
func say(owner, message string) string {
	if owner == "" {
		return message
	}
	return owner + ": " + message
}

// pairs returns the keys and values of a mapping. Keys given twice and values
// that are no mapping are reported.
func (r *report) pairs(n *yaml.Node, key scalar, owner, hint string) (fields []field, ok bool) {
	if n.Kind != yaml.MappingNode {
		if n.Kind != yaml.AliasNode {
			r.errorf(at(r.place(n), key, n), hint, "%s", say(owner, fmt.Sprintf("%s where keys with values belong", describe(n))))
		}
		return nil, false
	}
	first := map[string]Place{}
	ok = true
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		if k.Kind != yaml.ScalarNode || k.Tag == "!!merge" || k.Tag == "!!null" {
			ok = false // reported by plain
			continue
		}
		s := scalar{r.place(k), k.Value}
		if before, twice := first[k.Value]; twice {
			p := r.errorf(s.Place, "keep one of the two", "%s", say(owner, fmt.Sprintf("%s is given twice", k.Value)))
			r.see(p, before, "first here")
			ok = false
			continue
		}
		first[k.Value] = s.Place
		fields = append(fields, field{s, n.Content[i+1]})
	}
	return fields, ok
}

// at is where to show a value that is wrong: an empty one is shown at its key.
func at(value Place, key scalar, n *yaml.Node) Place {
	if n.Kind == yaml.ScalarNode && n.Value == "" && key.given() {
		return key.Place
	}
	return value
}

// describe names what a node is, for messages.
func describe(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Kind == yaml.MappingNode:
		return "keys with values"
	case n.Tag == "!!null" && n.Value == "":
		return "nothing"
	default:
		return fmt.Sprintf("%q", clip(n.Value))
	}
}

// clip keeps messages on one line of reasonable length, and plain text.
func clip(s string) string {
	s = strings.Map(func(c rune) rune {
		if noText(c) {
			return utf8.RuneError
		}
		return c
	}, strings.Join(strings.Fields(s), " "))
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// object reads a mapping that may have the given keys.
func (r *report) object(n *yaml.Node, key scalar, owner, hint string, known ...string) (*object, bool) {
	fields, ok := r.pairs(n, key, owner, hint)
	if fields == nil && !ok {
		return nil, false
	}
	o := &object{r: r, owner: owner, at: key.Place, fields: fields, bad: !ok}
	if !key.given() {
		o.at = r.place(n)
	}
	o.allow(known...)
	return o, true
}

// allow reports keys that are not known here.
func (o *object) allow(known ...string) {
	if len(known) == 0 {
		return
	}
	var kept []field
	for _, f := range o.fields {
		if slices.Contains(known, f.key.value) {
			kept = append(kept, f)
			continue
		}
		o.bad = true
		hint := "possible here: " + strings.Join(known, ", ")
		if near := kinematics.Nearest(f.key.value, known); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
			o.meant = append(o.meant, near)
		} else if digits(f.key.value) {
			hint = "was a decimal point meant? A comma begins a new key"
		}
		o.r.errorf(f.key.Place, hint, "%s", say(o.owner, fmt.Sprintf("unknown key %q", clip(f.key.value))))
	}
	o.fields = kept
}

// get returns the field with that key.
func (o *object) get(key string) (field, bool) {
	for _, f := range o.fields {
		if f.key.value == key {
			return f, true
		}
	}
	return field{}, false
}

// has says whether the key is there, usable or not.
func (o *object) has(key string) bool { _, ok := o.get(key); return ok }

// key is where a key stands, or the owner if it does not.
func (o *object) key(key string) Place {
	if f, ok := o.get(key); ok {
		return f.key.Place
	}
	return o.at
}

// errorf records an error and marks the object as bad.
func (o *object) errorf(at Place, hint, format string, args ...any) *Problem {
	o.bad = true
	return o.r.errorf(at, hint, "%s", say(o.owner, fmt.Sprintf(format, args...)))
}

// require reports keys that are missing, unless a misspelt one was probably
// meant, and says whether all are there.
func (o *object) require(hint string, keys ...string) bool {
	ok := true
	for _, k := range keys {
		if !o.has(k) {
			ok = false
			if !slices.Contains(o.meant, k) {
				o.errorf(o.at, hint, "%s is missing", k)
			}
		}
	}
	return ok
}

// text reads a text: any scalar that is not empty.
func (o *object) text(key, hint string) scalar {
	f, ok := o.get(key)
	if !ok {
		return scalar{}
	}
	return o.scalar(f.value, f.key, key, hint)
}

func (o *object) scalar(n *yaml.Node, key scalar, what, hint string) scalar {
	if n.Kind == yaml.AliasNode {
		o.bad = true
		return scalar{}
	}
	where := at(o.r.place(n), key, n)
	switch {
	case n.Kind != yaml.ScalarNode:
		o.errorf(where, hint, "%s is %s, where one value belongs", what, describe(n))
	case n.Tag == "!!null" || strings.TrimSpace(n.Value) == "":
		o.errorf(where, hint, "%s has no value", what)
	default:
		return scalar{o.r.place(n), n.Value}
	}
	return scalar{}
}

// line reads a text of one line.
func (o *object) line(key, hint string) scalar {
	s := o.text(key, hint)
	if strings.ContainsAny(strings.TrimSpace(s.value), "\n") {
		o.errorf(s.Place, "longer remarks go into a note", "%s has more than one line", key)
		return scalar{}
	}
	s.value = strings.TrimSpace(s.value)
	return s
}

// choice reads one of some words.
func (o *object) choice(key string, words ...string) scalar {
	s := o.text(key, "write one of: "+strings.Join(words, ", "))
	if s.given() && !slices.Contains(words, s.value) {
		hint := "write one of: " + strings.Join(words, ", ")
		if near := kinematics.Nearest(s.value, words); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		o.errorf(s.Place, hint, "%s cannot be %q", key, clip(s.value))
		return scalar{}
	}
	return s
}

// flag reads true or false; a key that is not there is false.
func (o *object) flag(key string) bool {
	f, ok := o.get(key)
	if !ok {
		return false
	}
	n := f.value
	if n.Kind != yaml.ScalarNode || n.Tag != "!!bool" {
		o.errorf(at(o.r.place(n), f.key, n), "write true or false", "%s is %s, not true or false", key, describe(n))
		return false
	}
	return strings.EqualFold(n.Value, "true")
}

// whole reads a whole number from lo to hi in plain digits; unit says of what.
// It returns 0 if the key is not there or was reported.
func (o *object) whole(key, unit string, lo, hi int64) int64 {
	f, ok := o.get(key)
	if !ok {
		return 0
	}
	return o.number(f.value, f.key, key, unit, lo, hi)
}

// number reads a whole number; what names it in messages.
func (o *object) number(n *yaml.Node, key scalar, what, unit string, lo, hi int64) int64 {
	hint := fmt.Sprintf("write a whole number of %s from %d to %d", unit, lo, hi)
	s := o.scalar(n, key, what, hint)
	if !s.given() {
		return 0
	}
	v := strings.TrimPrefix(s.value, "-")
	switch {
	case n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0:
		o.errorf(s.Place, "write the number without quotes", "%s is a text in quotes, not a number of %s", what, unit)
	case !digits(v):
		o.errorf(s.Place, hint, "%s is %q, not a whole number of %s", what, clip(s.value), unit)
	case len(v) > 1 && v[0] == '0':
		o.errorf(s.Place, hint, "%s is %q: a number does not begin with 0", what, clip(s.value))
	default:
		i, err := strconv.ParseInt(s.value, 10, 64)
		if err == nil && i >= lo && i <= hi {
			return i
		}
		o.errorf(s.Place, hint, "%s cannot be %s", what, clip(s.value))
	}
	return 0
}

func digits(s string) bool {
	for _, c := range s {
		if c < '0' || c > '9' {
			return false
		}
	}
	return s != ""
}

// A fraction is a ratio of two whole numbers in lowest terms; 0/0 if not given.
type fraction struct {
	Place
	num, den int64
}

// maxFraction bounds numerator and denominator of a ratio: six places.
const maxFraction = 1_000_000

// ratio reads a positive ratio: a decimal, taken exactly as written, or a fraction.
func (o *object) ratio(key string) fraction {
	const hint = "write a decimal as printed (2.20) or a fraction of tooth counts (73/35)"
	s := o.text(key, hint)
	if !s.given() {
		return fraction{}
	}
	num, den, ok := parseRatio(s.value)
	switch {
	case !ok:
		o.errorf(s.Place, hint, "%s is %q, not a ratio", key, clip(s.value))
		return fraction{}
	case num == 0 || den == 0:
		o.errorf(s.Place, hint, "%s cannot be %q: a ratio is above 0", key, clip(s.value))
		return fraction{}
	case num > maxFraction || den > maxFraction:
		o.errorf(s.Place, hint, "%s %s is %d/%d: numbers above %d are not taken", key, clip(s.value), num, den, maxFraction)
		return fraction{}
	}
	return fraction{s.Place, num, den}
}

// parseRatio reads digits, digits.digits or digits/digits, exactly.
func parseRatio(s string) (num, den int64, ok bool) {
	a, b, isFraction := strings.Cut(s, "/")
	if !isFraction {
		whole, places, decimal := strings.Cut(s, ".")
		a, b = whole+places, "1"+strings.Repeat("0", len(places))
		if decimal && (whole == "" || places == "") {
			return 0, 0, false
		}
	}
	if !digits(a) || !digits(b) || len(a) > 15 || len(b) > 15 {
		return 0, 0, false
	}
	num, _ = strconv.ParseInt(a, 10, 64)
	den, _ = strconv.ParseInt(b, 10, 64)
	if g := gcd(num, den); g > 1 {
		num, den = num/g, den/g
	}
	return num, den, true
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// names reads a list of names. The entry of a mapping whose key is itself a name
// (a joint, a position) has no word for its list: its owner says enough.
func (o *object) names(key, hint string) []scalar {
	f, ok := o.get(key)
	if !ok {
		return nil
	}
	n := f.value
	if n.Kind != yaml.SequenceNode {
		if n.Kind != yaml.AliasNode {
			if strings.HasSuffix(o.owner, " "+key) {
				o.errorf(at(o.r.place(n), f.key, n), hint, "%s where a list belongs", describe(n))
			} else {
				o.errorf(at(o.r.place(n), f.key, n), hint, "%s is %s, where a list belongs", key, describe(n))
			}
		}
		o.bad = true
		return nil
	}
	var list []scalar
	for _, c := range n.Content {
		if s := o.scalar(c, scalar{}, "an entry of "+key, hint); s.given() {
			list = append(list, s)
		}
	}
	return list
}

// valid reports a name that is none, and says whether it is one. what says of
// what it is the name.
func (r *report) valid(s scalar, what string) bool {
	const hint = "use letters, digits, - and _, at most 64, beginning with a letter or digit"
	switch {
	case s.value == kinematics.HousingName:
		r.errorf(s.Place, "choose another name", "%q means the housing and cannot name %s", s.value, what)
	case !kinematics.ValidName(s.value):
		r.errorf(s.Place, hint, "%q cannot name %s", clip(s.value), what)
	default:
		return true
	}
	return false
}

// named returns the entries of a mapping whose keys are names of what.
func (o *object) named(key, what, hint string) []field {
	f, ok := o.get(key)
	if !ok {
		return nil
	}
	fields, ok := o.r.pairs(f.value, f.key, key, hint)
	if !ok {
		o.bad = true
	}
	var good []field
	for _, f := range fields {
		if o.r.valid(f.key, what) {
			good = append(good, f)
		} else {
			o.bad = true
		}
	}
	return good
}
