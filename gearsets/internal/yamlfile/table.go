package yamlfile

import (
	"fmt"
	"strings"

	"tieup/kinematics"
)

// A Table is the keys of one mapping of a format. How the mapping is read, the
// schema, the key that a misspelt one was meant to be, and the documentation of
// the keys all come of it.
type Table struct {
	Form string // what to write where something else stands
	Doc  string
	Keys []Key
	// Together is what the schema says of several keys at once: the code that
	// reads the mapping checks it, and says so in its own words.
	Together func() Schema
}

// A Key is one key of a mapping.
type Key struct {
	Name string
	Type Type
	Need bool   // it must be there
	Hint string // what to write where it is missing or wrong; "" for what its type says
	// Doc says what the key means. A default stands in it, in words.
	Doc string
}

// A Type is the form of a value.
type Type interface {
	// Schema is the form as a JSON Schema.
	Schema() Schema
	// Hint is what to write as a value.
	Hint() string
}

// A Schema is a JSON Schema, or a part of one.
type Schema map[string]any

type (
	// Text is any text.
	Text struct{}
	// Line is a text of one line.
	Line struct{}
	// Flag is true or false.
	Flag struct{}
	// Version is the version of a format: 1.
	Version struct{}
	// Choice is one of some words.
	Choice []string
	// Pattern is a text of one line with a form that [Object.Line] does not check.
	Pattern struct {
		Pattern string
		Types   []string // of JSON; none: a string
		Not     []string
	}
	// Whole is a whole number in plain digits.
	Whole struct {
		Unit   string // of what: "teeth"
		Lo, Hi int64
	}
	// Decimal is a decimal number in plain digits.
	Decimal struct {
		What, Unit, Example string // "a mass", "kg", "4200"
		Most                float64
		OrZero              bool
	}
	// List is a list of names, or of what its entries are.
	List struct {
		Of       Type
		Min, Max int
		Repeats  bool // an entry may stand in it twice
	}
	// Map is values by name.
	Map struct {
		What     string // what a name names: "a gearset"; "" where the keys are no new names
		Keys     Type   // their form
		Of       Type
		Min, Max int
	}
	// Either is one of some forms.
	Either []Type
	// Other is a form that the schema alone knows.
	Other struct {
		As    Schema
		Write string
	}
)

// Key returns the key of that name. It is a mistake in the program to ask for
// one that is not in the table.
func (t *Table) Key(name string) *Key {
	for i := range t.Keys {
		if t.Keys[i].Name == name {
			return &t.Keys[i]
		}
	}
	panic("yamlfile: no key " + name + " in the table")
}

// Names returns the keys in the order of the table.
func (t *Table) Names() []string {
	return kinematics.Map(t.Keys, func(k Key) string { return k.Name })
}

// hint is what to write as the value of the key.
func (k *Key) hint() string {
	if k.Hint != "" {
		return k.Hint
	}
	return k.Type.Hint()
}

func (t *Table) Hint() string { return t.Form }
func (Text) Hint() string     { return "write a text, or leave the key out" }
func (Line) Hint() string     { return "write a line of text, or leave the key out" }
func (Flag) Hint() string     { return "write true or false" }
func (Version) Hint() string  { return "write 1" }
func (Pattern) Hint() string  { return "write one value, or leave the key out" }
func (c Choice) Hint() string { return "write one of: " + strings.Join(c, ", ") }
func (List) Hint() string     { return "write a list, or leave the key out" }
func (Map) Hint() string      { return "write keys with values, or leave the key out" }
func (e Either) Hint() string { return e[0].Hint() }
func (o Other) Hint() string  { return o.Write }

func (w Whole) Hint() string {
	return fmt.Sprintf("write a whole number of %s from %d to %d", w.Unit, w.Lo, w.Hi)
}

func (d Decimal) Hint() string {
	if d.Unit == "" {
		return fmt.Sprintf("write %s, such as %s", d.What, d.Example)
	}
	return fmt.Sprintf("write %s in %s, such as %s", d.What, d.Unit, d.Example)
}

// Documentation writes the keys with what they mean, each line indented by
// indent; a star marks those that must be there.
func (t *Table) Documentation(indent string) string {
	width := 0
	for _, k := range t.Keys {
		if k.Need {
			width = max(width, len(k.Name)+2)
		}
		width = max(width, len(k.Name))
	}
	var b strings.Builder
	for _, k := range t.Keys {
		name := k.Name
		if k.Need {
			name += " *"
		}
		for _, line := range wrap(k.Doc, 80-width-3) {
			fmt.Fprintf(&b, "%s%-*s  %s\n", indent, width, name, line)
			name = ""
		}
	}
	return b.String()
}

// wrap breaks a text into lines of at most so many characters.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(text) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			lines, line = append(lines, line), ""
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return append(lines, line)
}

// Documented puts the documentation of a table into a package comment: in place of
// the first indented block below a heading.
func Documented(comment, heading string, t *Table) (string, error) {
	_, rest, ok := strings.Cut(comment, "// # "+heading+"\n")
	at := strings.Index(rest, "\n//\t") + 1
	if !ok || at == 0 {
		return "", fmt.Errorf("no heading %q with a list below it", heading)
	}
	end := at
	for strings.HasPrefix(rest[end:], "//\t") {
		end += strings.IndexByte(rest[end:], '\n') + 1
	}
	return comment[:len(comment)-len(rest)] + rest[:at] + t.Documentation("//\t") + rest[end:], nil
}
