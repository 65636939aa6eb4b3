package yamlfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// A Scalar is one value of the file, or one entry of a list. Its Line is 0 if
// it is not there, or not usable and already reported.
type Scalar struct {
	problem.Place
	Value string
}

// Given says whether the value is there and usable.
func (s Scalar) Given() bool { return s.Line > 0 }

// A Field is a key of a mapping with its value.
type Field struct {
	Key   Scalar
	Value *yaml.Node
}

// An Object is a mapping of the file whose keys the format knows.
type Object struct {
	Report *Report
	Owner  string // how messages name it: "front", "" for the file itself
	At     problem.Place
	Fields []Field
	Bad    bool     // something in it was reported
	Meant  []string // keys that unknown ones were probably meant to be
}

// Say puts the name of the owner before a message.
func Say(owner, message string) string {
	if owner == "" {
		return message
	}
	return owner + ": " + message
}

// Pairs returns the keys and values of a mapping. Keys given twice and values
// that are no mapping are reported.
func (r *Report) Pairs(n *yaml.Node, key Scalar, owner, hint string) (fields []Field, ok bool) {
	if n.Kind != yaml.MappingNode {
		if n.Kind != yaml.AliasNode {
			r.Errorf(r.Where(n, key), hint, "%s", Say(owner, fmt.Sprintf("%s where keys with values belong", Describe(n))))
		}
		return nil, false
	}
	first := map[string]problem.Place{}
	ok = true
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		if k.Kind != yaml.ScalarNode || k.Tag == "!!merge" || k.Tag == "!!null" {
			ok = false // reported by plain
			continue
		}
		s := Scalar{r.Place(k), k.Value}
		if before, twice := first[k.Value]; twice {
			p := r.Errorf(s.Place, "keep one of the two", "%s", Say(owner, fmt.Sprintf("%s is given twice", k.Value)))
			r.See(p, before, "first here")
			ok = false
			continue
		}
		first[k.Value] = s.Place
		fields = append(fields, Field{s, n.Content[i+1]})
	}
	return fields, ok
}

// Where is where to show a value that is wrong: an empty one is shown at its key.
func (r *Report) Where(n *yaml.Node, key Scalar) problem.Place {
	if n.Kind == yaml.ScalarNode && n.Value == "" && key.Given() {
		return key.Place
	}
	return r.Place(n)
}

// Describe names what a node is, for messages.
func Describe(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Kind == yaml.MappingNode:
		return "keys with values"
	case n.Tag == "!!null" && n.Value == "":
		return "nothing"
	default:
		return fmt.Sprintf("%q", Clip(n.Value))
	}
}

// Clip keeps messages on one line of reasonable length, and plain text.
func Clip(s string) string {
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

// Object reads a mapping that may have the given keys.
func (r *Report) Object(n *yaml.Node, key Scalar, owner, hint string, known ...string) (*Object, bool) {
	fields, ok := r.Pairs(n, key, owner, hint)
	if fields == nil && !ok {
		return nil, false
	}
	o := &Object{Report: r, Owner: owner, At: key.Place, Fields: fields, Bad: !ok}
	if !key.Given() {
		o.At = r.Place(n)
	}
	o.Allow(known...)
	return o, true
}

// Allow reports keys that are not known here.
func (o *Object) Allow(known ...string) {
	if len(known) == 0 {
		return
	}
	var kept []Field
	for _, f := range o.Fields {
		if slices.Contains(known, f.Key.Value) {
			kept = append(kept, f)
			continue
		}
		o.Bad = true
		hint := "possible here: " + strings.Join(known, ", ")
		if near := kinematics.Nearest(f.Key.Value, known); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
			o.Meant = append(o.Meant, near)
		} else if Digits(f.Key.Value) {
			hint = "was a decimal point meant? A comma begins a new key"
		}
		o.Report.Errorf(f.Key.Place, hint, "%s", Say(o.Owner, fmt.Sprintf("unknown key %q", Clip(f.Key.Value))))
	}
	o.Fields = kept
}

// Get returns the field with that key.
func (o *Object) Get(key string) (Field, bool) {
	for _, f := range o.Fields {
		if f.Key.Value == key {
			return f, true
		}
	}
	return Field{}, false
}

// Has says whether the key is there, usable or not.
func (o *Object) Has(key string) bool { _, ok := o.Get(key); return ok }

// Key is where a key stands, or the owner if it does not.
func (o *Object) Key(key string) problem.Place {
	if f, ok := o.Get(key); ok {
		return f.Key.Place
	}
	return o.At
}

// Errorf records an error and marks the object as bad.
func (o *Object) Errorf(at problem.Place, hint, format string, args ...any) *problem.Problem {
	o.Bad = true
	return o.Report.Errorf(at, hint, "%s", Say(o.Owner, fmt.Sprintf(format, args...)))
}

// Require reports keys that are missing, unless a misspelt one was probably
// meant, and says whether all are there.
func (o *Object) Require(hint string, keys ...string) bool {
	ok := true
	for _, k := range keys {
		if !o.Has(k) {
			ok = false
			if !slices.Contains(o.Meant, k) {
				o.Errorf(o.At, hint, "%s is missing", k)
			}
		}
	}
	return ok
}

// Text reads a text: any scalar that is not empty.
func (o *Object) Text(key, hint string) Scalar {
	f, ok := o.Get(key)
	if !ok {
		return Scalar{}
	}
	return o.Scalar(f.Value, f.Key, key, hint)
}

// Scalar reads one value; what names it in messages.
func (o *Object) Scalar(n *yaml.Node, key Scalar, what, hint string) Scalar {
	if n.Kind == yaml.AliasNode {
		o.Bad = true
		return Scalar{}
	}
	where := o.Report.Where(n, key)
	switch {
	case n.Kind != yaml.ScalarNode:
		o.Errorf(where, hint, "%s is %s, where one value belongs", what, Describe(n))
	case n.Tag == "!!null" || strings.TrimSpace(n.Value) == "":
		o.Errorf(where, hint, "%s has no value", what)
	default:
		return Scalar{o.Report.Place(n), n.Value}
	}
	return Scalar{}
}

// Line reads a text of one line.
func (o *Object) Line(key, hint string) Scalar {
	s := o.Text(key, hint)
	if strings.ContainsAny(strings.TrimSpace(s.Value), "\n") {
		o.Errorf(s.Place, "longer remarks go into a note", "%s has more than one line", key)
		return Scalar{}
	}
	s.Value = strings.TrimSpace(s.Value)
	return s
}

// Choice reads one of some words.
func (o *Object) Choice(key string, words ...string) Scalar {
	s := o.Text(key, "write one of: "+strings.Join(words, ", "))
	if s.Given() && !slices.Contains(words, s.Value) {
		hint := "write one of: " + strings.Join(words, ", ")
		if near := kinematics.Nearest(s.Value, words); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		o.Errorf(s.Place, hint, "%s cannot be %q", key, Clip(s.Value))
		return Scalar{}
	}
	return s
}

// Flag reads true or false; a key that is not there is false.
func (o *Object) Flag(key string) bool {
	f, ok := o.Get(key)
	if !ok {
		return false
	}
	n := f.Value
	if n.Kind != yaml.ScalarNode || n.Tag != "!!bool" {
		o.Errorf(o.Report.Where(n, f.Key), "write true or false", "%s is %s, not true or false", key, Describe(n))
		return false
	}
	return strings.EqualFold(n.Value, "true")
}

// Whole reads a whole number from lo to hi in plain digits; unit says of what.
// It returns 0 if the key is not there or was reported.
func (o *Object) Whole(key, unit string, lo, hi int64) int64 {
	f, ok := o.Get(key)
	if !ok {
		return 0
	}
	return o.Number(f.Value, f.Key, key, unit, lo, hi)
}

// Number reads a whole number; what names it in messages.
func (o *Object) Number(n *yaml.Node, key Scalar, what, unit string, lo, hi int64) int64 {
	hint := fmt.Sprintf("write a whole number of %s from %d to %d", unit, lo, hi)
	s := o.Scalar(n, key, what, hint)
	if !s.Given() {
		return 0
	}
	v := strings.TrimPrefix(s.Value, "-")
	switch {
	case n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0:
		o.Errorf(s.Place, "write the number without quotes", "%s is a text in quotes, not a number of %s", what, unit)
	case !Digits(v):
		o.Errorf(s.Place, hint, "%s is %q, not a whole number of %s", what, Clip(s.Value), unit)
	case len(v) > 1 && v[0] == '0':
		o.Errorf(s.Place, hint, "%s is %q: a number does not begin with 0", what, Clip(s.Value))
	default:
		i, err := strconv.ParseInt(s.Value, 10, 64)
		if err == nil && i >= lo && i <= hi {
			return i
		}
		o.Errorf(s.Place, hint, "%s cannot be %s", what, Clip(s.Value))
	}
	return 0
}

// Digits says whether a text is made of digits alone.
func Digits(s string) bool {
	for _, c := range s {
		if c < '0' || c > '9' {
			return false
		}
	}
	return s != ""
}

// Names reads a list of names. The entry of a mapping whose key is itself a name
// (a joint, a position) has no word for its list: its owner says enough.
func (o *Object) Names(key, hint string) []Scalar {
	f, ok := o.Get(key)
	if !ok {
		return nil
	}
	n := f.Value
	if n.Kind != yaml.SequenceNode {
		if n.Kind != yaml.AliasNode {
			if strings.HasSuffix(o.Owner, " "+key) {
				o.Errorf(o.Report.Where(n, f.Key), hint, "%s where a list belongs", Describe(n))
			} else {
				o.Errorf(o.Report.Where(n, f.Key), hint, "%s is %s, where a list belongs", key, Describe(n))
			}
		}
		o.Bad = true
		return nil
	}
	var list []Scalar
	for _, c := range n.Content {
		if s := o.Scalar(c, Scalar{}, "an entry of "+key, hint); s.Given() {
			list = append(list, s)
		}
	}
	return list
}

// Valid reports a name that is none, and says whether it is one. what says of
// what it is the name.
func (r *Report) Valid(s Scalar, what string) bool {
	const hint = "use letters, digits, - and _, at most 64, beginning with a letter or digit"
	switch {
	case s.Value == kinematics.HousingName:
		r.Errorf(s.Place, "choose another name", "%q means the housing and cannot name %s", s.Value, what)
	case !kinematics.ValidName(s.Value):
		r.Errorf(s.Place, hint, "%q cannot name %s", Clip(s.Value), what)
	default:
		return true
	}
	return false
}

// Named returns the entries of a mapping whose keys are names of what.
func (o *Object) Named(key, what, hint string) []Field {
	f, ok := o.Get(key)
	if !ok {
		return nil
	}
	fields, ok := o.Report.Pairs(f.Value, f.Key, key, hint)
	if !ok {
		o.Bad = true
	}
	var good []Field
	for _, f := range fields {
		if o.Report.Valid(f.Key, what) {
			good = append(good, f)
		} else {
			o.Bad = true
		}
	}
	return good
}

// Some returns the entries of a mapping of names, of which there must be one at
// least and not more than most.
func (o *Object) Some(key, what, hint string, most int) []Field {
	bad := len(o.Report.Problems)
	list := o.Named(key, what, hint)
	if o.Has(key) && len(list) == 0 && bad == len(o.Report.Problems) {
		o.Errorf(o.Key(key), hint, "%s is empty", key)
	}
	if len(list) > most {
		o.Errorf(list[most].Key.Place, "", "more than %d %s", most, key)
		return list[:most]
	}
	return list
}
