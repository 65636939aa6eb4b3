package yamlfile

import (
	"bytes"
	"encoding/json"
	"maps"

	"tieup/kinematics"
)

// NamePattern is the form of a name, as a regular expression.
const NamePattern = "[A-Za-z0-9][A-Za-z0-9_-]{0,63}"

// Name is a name that a file gives.
var Name = Pattern{Pattern: "^" + NamePattern + "$", Types: []string{"string", "integer"}, Not: []string{"housing"}}

// MarshalSchema writes the schema of a format as a JSON document.
func (t *Table) MarshalSchema(id, title string) []byte {
	s := t.Schema()
	s["$schema"], s["$id"], s["title"] = "https://json-schema.org/draft/2020-12/schema", id, title
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(s); err != nil {
		panic("yamlfile: " + err.Error())
	}
	return b.Bytes()
}

// Schema is the mapping as a JSON Schema.
func (t *Table) Schema() Schema {
	properties := Schema{}
	var required []string
	for _, k := range t.Keys {
		s := k.Type.Schema()
		if k.Doc != "" {
			s["description"] = k.Doc
		}
		properties[k.Name] = s
		if k.Need {
			required = append(required, k.Name)
		}
	}
	s := Schema{"type": "object", "additionalProperties": false, "properties": properties}
	if required != nil {
		s["required"] = required
	}
	if t.Doc != "" {
		s["description"] = t.Doc
	}
	if t.Together != nil {
		maps.Copy(s, t.Together())
	}
	return s
}

var texts = []string{"string", "number", "boolean"}

// Schema is the form as a JSON Schema.
func (Text) Schema() Schema { return Schema{"type": texts, "pattern": `\S`} }

// Schema is the form as a JSON Schema.
func (Line) Schema() Schema { return Schema{"type": texts, "pattern": `^\s*\S[^\n]*\s*$`} }

// Schema is the form as a JSON Schema.
func (Flag) Schema() Schema { return Schema{"type": "boolean"} }

// Schema is the form as a JSON Schema.
func (Version) Schema() Schema { return Schema{"const": 1} }

// Schema is the form as a JSON Schema.
func (c Choice) Schema() Schema { return Schema{"enum": []string(c)} }

// Schema is the form as a JSON Schema.
func (p Pattern) Schema() Schema {
	s := Schema{"type": "string", "pattern": p.Pattern}
	if p.Types != nil {
		s["type"] = p.Types
	}
	if p.Not != nil {
		s["not"] = Schema{"enum": p.Not}
	}
	return s
}

// Schema is the form as a JSON Schema.
func (w Whole) Schema() Schema { return Schema{"type": "integer", "minimum": w.Lo, "maximum": w.Hi} }

// Schema is the form as a JSON Schema.
func (d Decimal) Schema() Schema {
	if d.OrZero {
		return Schema{"type": "number", "minimum": 0, "maximum": d.Most}
	}
	return Schema{"type": "number", "exclusiveMinimum": 0, "maximum": d.Most}
}

// Schema is the form as a JSON Schema.
func (l List) Schema() Schema {
	s := Schema{"type": "array", "items": l.Of.Schema(), "uniqueItems": !l.Repeats}
	limits(s, "minItems", l.Min, "maxItems", l.Max)
	return s
}

// Schema is the form as a JSON Schema.
func (m Map) Schema() Schema {
	s := Schema{"type": "object", "additionalProperties": m.Of.Schema()}
	keys := m.Keys
	if keys == nil && m.What != "" {
		keys = Name
	}
	if keys != nil {
		k := keys.Schema()
		delete(k, "type") // the names of properties are strings always
		s["propertyNames"] = k
	}
	limits(s, "minProperties", m.Min, "maxProperties", m.Max)
	return s
}

func limits(s Schema, least string, lo int, most string, hi int) {
	if lo > 0 {
		s[least] = lo
	}
	if hi > 0 {
		s[most] = hi
	}
}

// Schema is the form as a JSON Schema.
func (e Either) Schema() Schema {
	return Schema{"oneOf": kinematics.Map(e, Type.Schema)}
}

// Schema is the form as a JSON Schema.
func (o Other) Schema() Schema { return maps.Clone(o.As) }
