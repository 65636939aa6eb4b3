package controls

import (
	"strings"
	"testing"
)

func TestParseExpressions(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"drive", "drive"},
		{"drive and valve-12", "drive and valve-12"},
		{"not S1 and not lever(L)", "not S1 and not lever(L)"},
		{"a or b and c", "a or b and c"},
		{"(a or b) and c", "(a or b) and c"},
		{"not (a or b)", "not (a or b)"},
		{"not not a", "not not a"},
		{"a and (b and c)", "a and (b and c)"},
		{" ( (a) ) ", "a"},
		{"lever( D, 2 L )", "lever(D 2 L)"},
		{"unknown or 2-3", "unknown or 2-3"},
	} {
		n, err := parse(c.text)
		if err != nil {
			t.Errorf("%q: %s", c.text, err.message)
			continue
		}
		if got := n.String(); got != c.want {
			t.Errorf("%q is written %q, want %q", c.text, got, c.want)
		}
	}
}

func TestExpressionErrors(t *testing.T) {
	for _, c := range []struct {
		text      string
		at, width int
		message   string
	}{
		{"", 0, 1, "ends too early"},
		{"drive and", 9, 1, "ends too early"},
		{"drive valve-12", 6, 8, `"valve-12" is not expected here`},
		{"and drive", 0, 3, `"and" has nothing before it`},
		{"(a or b", 7, 1, "closing parenthesis is missing"},
		{"a & b", 2, 1, `"&" is not expected here`},
		{"a and ü", 6, 2, `"ü" is not part of an expression`},
		{"lever D", 6, 1, "lever needs positions"},
		{"lever()", 6, 1, "lever needs positions"},
		{strings.Repeat("(", 60) + "a", 50, 1, "nested too deeply"},
	} {
		_, err := parse(c.text)
		if err == nil {
			t.Errorf("%q is read without an error", c.text)
			continue
		}
		if err.at != c.at || err.width != c.width || !strings.Contains(err.message, c.message) {
			t.Errorf("%q: %d+%d %s, want %d+%d %s", c.text, err.at, err.width, err.message, c.at, c.width, c.message)
		}
	}
}

// String writes the expression with no more parentheses than it needs.
func (n *node) String() string {
	switch n.op {
	case opName:
		return n.name
	case opLever:
		return "lever(" + strings.Join(n.list, " ") + ")"
	case opUnknown:
		return "unknown"
	case opNot:
		return "not " + n.args[0].within(opNot)
	}
	words := make([]string, len(n.args))
	for i, a := range n.args {
		words[i] = a.within(n.op)
	}
	return strings.Join(words, map[op]string{opAnd: " and ", opOr: " or "}[n.op])
}

// within writes the expression as an operand of another.
func (n *node) within(o op) string {
	if o == opAnd && n.op == opOr || o == opNot && (n.op == opAnd || n.op == opOr) || n.op == o && o != opNot {
		return "(" + n.String() + ")"
	}
	return n.String()
}

// FuzzExpression: no panic, positions within the text, and what is written reads as
// the same.
func FuzzExpression(f *testing.F) {
	for _, s := range []string{"drive and valve-12", "not S1 and not lever(L)", "(a or b) and c", "lever(D, 2)", "unknown", "((", "a ü b", "not not not"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		n, err := parse(text)
		if err != nil {
			if err.at < 0 || err.at > len(text) || err.width < 1 || err.message == "" {
				t.Fatalf("%q: %+v", text, err)
			}
			return
		}
		written := n.String()
		again, err := parse(written)
		if err != nil || again.String() != written {
			t.Fatalf("%q is written %q, which reads otherwise", text, written)
		}
		n.leaves(func(l *node) {
			if l.at+l.width > len(text) {
				t.Fatalf("%q: a leaf ends behind the text", text)
			}
		})
	})
}
