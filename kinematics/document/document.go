// Package document holds the forms that answers have in JSON and no type of Go has:
// values by name in their order, lists that may be empty, names and ratios that may not
// apply.
package document

import (
	"bytes"
	"encoding/json"
	"iter"
	"slices"
)

// Named is values by name, in the order of the train. JSON writes it as an object
// that keeps the order.
type Named[T any] []Entry[T]

// An Entry is one named value.
type Entry[T any] struct {
	Name  string
	Value T
}

// Texts are names and texts by turns, such as units.
func Texts(pairs ...string) Named[string] {
	n := make(Named[string], 0, len(pairs)/2)
	for i := 0; i < len(pairs); i += 2 {
		n.Add(pairs[i], pairs[i+1])
	}
	return n
}

// Object is names and values by turns.
func Object(pairs ...any) Named[any] {
	n := make(Named[any], 0, len(pairs)/2)
	for i := 0; i < len(pairs); i += 2 {
		n.Add(pairs[i].(string), pairs[i+1])
	}
	return n
}

// Add appends a value.
func (n *Named[T]) Add(name string, value T) { *n = append(*n, Entry[T]{name, value}) }

// Grow makes room for so many values more.
func (n *Named[T]) Grow(more int) { *n = slices.Grow(*n, more) }

// Get returns the value of a name, and whether there is one.
func (n Named[T]) Get(name string) (value T, ok bool) {
	for _, e := range n {
		if e.Name == name {
			return e.Value, true
		}
	}
	return value, false
}

// All iterates over names and values in order.
func (n Named[T]) All() iter.Seq2[string, T] {
	return func(yield func(string, T) bool) {
		for _, e := range n {
			if !yield(e.Name, e.Value) {
				return
			}
		}
	}
}

// MarshalJSON writes an object whose fields keep their order.
func (n Named[T]) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	e := encoder(&b)
	b.WriteByte('{')
	for i, x := range n {
		if i > 0 {
			b.WriteByte(',')
		}
		if err := e.Encode(x.Name); err != nil {
			return nil, err
		}
		b.Truncate(b.Len() - 1) // the end of the line
		b.WriteByte(':')
		if err := e.Encode(x.Value); err != nil {
			return nil, err
		}
		b.Truncate(b.Len() - 1)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// A Name is a name that may not apply: JSON writes "" as null.
type Name string

// MarshalJSON writes the name, or null.
func (n Name) MarshalJSON() ([]byte, error) {
	if n == "" {
		return []byte("null"), nil
	}
	return Marshal(string(n))
}

// A List is a list that JSON writes as [], never as null, when it is empty.
type List[T any] []T

// MarshalJSON writes the list.
func (l List[T]) MarshalJSON() ([]byte, error) {
	if len(l) == 0 {
		return []byte("[]"), nil
	}
	return Marshal([]T(l))
}

// Marshal is [json.Marshal] that leaves <, > and & as they are.
func Marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	err := encoder(&b).Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte{'\n'}), err
}

func encoder(b *bytes.Buffer) *json.Encoder {
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	return e
}
