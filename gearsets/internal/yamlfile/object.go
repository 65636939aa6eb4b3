package yamlfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

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

// Or is the value, or that of another scalar where it is not given.
func (s Scalar) Or(other Scalar) string {
	if s.Given() {
		return s.Value
	}
	return other.Value
}

// A Field is a key of a mapping with its value.
type Field struct {
	Key   Scalar
	Value *yaml.Node
}

// An Object is a mapping of the file whose keys the format knows.
type Object struct {
	*Report
	Owner  string // how messages name it: "front", "" for the file itself
	At     problem.Place
	Fields []Field
	Bad    bool   // something in it was reported
	table  *Table // what its keys are
	meant  []string
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
	s = problem.Plain(strings.Join(strings.Fields(s), " "))
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// Object reads a mapping with the keys of a table. Unknown keys, and missing ones
// that must be there, are reported.
func (r *Report) Object(n *yaml.Node, key Scalar, owner string, t *Table) (*Object, bool) {
	o, ok := r.Mapping(n, key, owner, t.Form)
	if ok {
		o.Is(t)
	}
	return o, ok
}

// Mapping reads a mapping of whose keys nothing is known yet.
func (r *Report) Mapping(n *yaml.Node, key Scalar, owner, hint string) (*Object, bool) {
	fields, ok := r.Pairs(n, key, owner, hint)
	if fields == nil && !ok {
		return nil, false
	}
	o := &Object{Report: r, Owner: owner, At: key.Place, Fields: fields, Bad: !ok}
	if !key.Given() {
		o.At = r.Place(n)
	}
	return o, true
}

// Entry returns the mapping of one entry of another, to read a value whose key
// is a name that the file gives.
func (r *Report) Entry(owner string, e Field, t Type, hint string) *Object {
	table := &Table{Keys: []Key{{Name: e.Key.Value, Type: t, Hint: hint}}}
	return &Object{Report: r, Owner: owner, At: e.Key.Place, Fields: []Field{e}, table: table}
}

// Is says that the keys of the mapping are those of a table, and reports others
// and those that are missing.
func (o *Object) Is(t *Table) {
	o.table = t
	names := t.Names()
	var kept []Field
	unknown, possible := 0, "possible here: "+strings.Join(names, ", ")
	for i := 0; i < len(o.Fields); i++ {
		f := o.Fields[i]
		if slices.Contains(names, f.Key.Value) {
			if more := o.loose(names, i); more > 0 {
				i += more
				continue
			}
			kept = append(kept, f)
			continue
		}
		hint := possible
		unknown++
		if unknown > 2*problem.Shown {
			// Not shown: nothing is looked for.
		} else if near := kinematics.Nearest(f.Key.Value, names); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
			o.meant = append(o.meant, near)
		} else if Digits(f.Key.Value) {
			hint = "was a decimal point meant? A comma begins a new key"
		}
		o.Errorf(f.Key.Place, hint, "unknown key %q", Clip(f.Key.Value))
	}
	o.Fields = kept
	for _, k := range t.Keys {
		if k.Need && k.Hint != "" {
			o.Require(k.Hint, k.Name)
		} else if k.Need {
			o.Require(t.Form, k.Name)
		}
	}
}

// loose reports a list that stands in braces without its brackets, as in
// {apply: forward, direct}, where all but the first entry are taken for keys. It
// returns how many there are.
func (o *Object) loose(names []string, i int) int {
	first := o.Fields[i]
	k := o.table.Key(first.Key.Value)
	if !listed(k.Type) || first.Value.Kind != yaml.ScalarNode || first.Value.Value == "" {
		return 0
	}
	entries := []string{first.Value.Value}
	for _, f := range o.Fields[i+1:] {
		empty := f.Value.Kind == yaml.ScalarNode && f.Value.Tag == "!!null" && f.Value.Value == ""
		if !empty || slices.Contains(names, f.Key.Value) {
			break
		}
		entries = append(entries, f.Key.Value)
	}
	if len(entries) == 1 {
		return 0
	}
	list := strings.Join(entries, ", ")
	o.Errorf(o.Place(first.Value), fmt.Sprintf("write %s: [%s]", k.Name, list),
		"%s has several entries without brackets: %s",
		k.Name, Clip(list))
	o.meant = append(o.meant, k.Name)
	return len(entries) - 1
}

// listed says whether a value may be a list.
func listed(t Type) bool {
	switch t := t.(type) {
	case List:
		return true
	case Either:
		return slices.ContainsFunc(t, listed)
	}
	return false
}

// Meant says whether a misspelt key was probably meant to be this one.
func (o *Object) Meant(key string) bool { return slices.Contains(o.meant, key) }

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
			if !o.Meant(k) {
				o.Errorf(o.At, hint, "%s is missing", k)
			}
		}
	}
	return ok
}

// Text reads a text: any scalar that is not empty.
func (o *Object) Text(key string) Scalar {
	k := o.table.Key(key)
	f, ok := o.Get(key)
	if !ok {
		return Scalar{}
	}
	return o.Scalar(f.Value, f.Key, key, k.hint())
}

// Scalar reads one value; what names it in messages.
func (o *Object) Scalar(n *yaml.Node, key Scalar, what, hint string) Scalar {
	if n.Kind == yaml.AliasNode {
		o.Bad = true
		return Scalar{}
	}
	where := o.Where(n, key)
	switch {
	case n.Kind != yaml.ScalarNode:
		o.Errorf(where, hint, "%s is %s, where one value belongs", what, Describe(n))
	case n.Tag == "!!null" || strings.TrimSpace(n.Value) == "":
		o.Errorf(where, hint, "%s has no value", what)
	default:
		return Scalar{o.Place(n), n.Value}
	}
	return Scalar{}
}

// Line reads a text of one line.
func (o *Object) Line(key string) Scalar {
	s := o.Text(key)
	if strings.ContainsAny(strings.TrimSpace(s.Value), "\n") {
		o.Errorf(s.Place, "longer remarks go into a note", "%s has more than one line", key)
		return Scalar{}
	}
	s.Value = strings.TrimSpace(s.Value)
	return s
}

// Choice reads one of some words.
func (o *Object) Choice(key string) Scalar {
	s := o.Text(key)
	words := o.table.Key(key).Type.(Choice)
	if s.Given() && !slices.Contains(words, s.Value) {
		hint := words.Hint()
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
		o.Errorf(o.Where(n, f.Key), "write true or false", "%s is %s, not true or false", key, Describe(n))
		return false
	}
	return strings.EqualFold(n.Value, "true")
}

// Whole reads a whole number in plain digits. It returns 0 if the key is not there
// or was reported.
func (o *Object) Whole(key string) int64 {
	k := o.table.Key(key)
	f, ok := o.Get(key)
	if !ok {
		return 0
	}
	return o.Number(f.Value, f.Key, key, k.Type.(Whole))
}

// Number reads a whole number; what names it in messages.
func (o *Object) Number(n *yaml.Node, key Scalar, what string, w Whole) int64 {
	hint, unit := w.Hint(), w.Unit
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
		if err == nil && i >= w.Lo && i <= w.Hi {
			return i
		}
		o.Errorf(s.Place, hint, "%s cannot be %s", what, Clip(s.Value))
	}
	return 0
}

// Decimal reads a decimal number in plain digits; ok is false if the key is not
// there or was reported.
func (o *Object) Decimal(key string) (x float64, ok bool) {
	s := o.Text(key)
	if !s.Given() {
		return 0, false
	}
	k := o.table.Key(key)
	d := k.Type.(Decimal)
	whole, places, _ := strings.Cut(s.Value, ".")
	x, err := strconv.ParseFloat(s.Value, 64)
	switch {
	case err != nil || !Digits(whole) || places != "" && !Digits(places):
		o.Errorf(s.Place, k.hint(), "%s is %q, not %s", key, Clip(s.Value), d.What)
		return 0, false
	case x > d.Most || x == 0 && !d.OrZero:
		o.Errorf(s.Place, k.hint(), "%s cannot be %s", key, strings.TrimSpace(Clip(s.Value)+" "+d.Unit))
		return 0, false
	}
	return x, true
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
func (o *Object) Names(key string) []Scalar {
	k := o.table.Key(key)
	hint := k.hint()
	f, ok := o.Get(key)
	if !ok {
		return nil
	}
	n := f.Value
	if n.Kind != yaml.SequenceNode {
		if n.Kind != yaml.AliasNode {
			if strings.HasSuffix(o.Owner, " "+key) {
				o.Errorf(o.Where(n, f.Key), hint, "%s where a list belongs", Describe(n))
			} else {
				o.Errorf(o.Where(n, f.Key), hint, "%s is %s, where a list belongs", key, Describe(n))
			}
		}
		o.Bad = true
		return nil
	}
	var list []Scalar
	for i, c := range n.Content {
		if most := limit(k.Type); i == most {
			o.Errorf(o.Place(c), fmt.Sprintf("at most %d are taken: leave out what is not needed", most),
				"more than %d entries in %s", most, key)
			break
		}
		if s := o.Scalar(c, Scalar{}, "an entry of "+key, hint); s.Given() {
			list = append(list, s)
		}
	}
	return list
}

// limit is the most entries that a list may have.
func limit(t Type) int {
	switch t := t.(type) {
	case List:
		return t.Max
	case Either:
		return limit(t[len(t)-1])
	}
	panic(fmt.Sprintf("yamlfile: %T is read as a list", t))
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

// Entries returns the entries of a mapping by name.
func (o *Object) Entries(key string) []Field {
	k := o.table.Key(key)
	m := k.Type.(Map)
	f, ok := o.Get(key)
	if !ok {
		return nil
	}
	bad := len(o.Problems)
	fields, ok := o.Pairs(f.Value, f.Key, key, k.hint())
	if !ok {
		o.Bad = true
	}
	if len(fields) > m.Max {
		o.Errorf(fields[m.Max].Key.Place, fmt.Sprintf("at most %d are taken: leave out what is not needed", m.Max),
			"more than %d %s", m.Max, key)
		fields = fields[:m.Max]
	}
	var good []Field
	for _, f := range fields {
		if m.What == "" || o.Valid(f.Key, m.What) {
			good = append(good, f)
		} else {
			o.Bad = true
		}
	}
	if len(good) < m.Min && bad == len(o.Problems) {
		o.Errorf(f.Key.Place, k.hint(), "%s is empty", key)
	}
	return good
}

// Sub reads the mapping that is the value of a key.
func (o *Object) Sub(key string) (*Object, bool) {
	f, ok := o.Get(key)
	if !ok {
		return nil, false
	}
	return o.Report.Object(f.Value, f.Key, key, o.table.Key(key).Type.(*Table))
}

// Expect says that the keys of a table may be there, with others.
func (o *Object) Expect(t *Table) { o.table = t }

// Version checks the key that says which version of a format a file has. Of
// another version nothing else is read: its keys may mean something else.
func (o *Object) Version(t *Table, key string) bool {
	hint := t.Key(key).Hint
	f, ok := o.Get(key)
	switch {
	case !ok:
		o.Errorf(problem.At(o.At.Line, o.At.Column, 1), hint, "the key %s is missing: is this %s?", key, o.Format.a())
		return false
	case f.Value.Kind != yaml.ScalarNode || f.Value.Value != "1" || f.Value.Tag != "!!int":
		o.Errorf(o.Where(f.Value, f.Key), hint, "format version %s is not known: this program reads version 1",
			Describe(f.Value))
		return false
	}
	return true
}
