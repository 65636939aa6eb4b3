package yamlfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/problem"
)

// MaxSize is the size in bytes above which a file is refused unread.
const MaxSize = 1 << 20

// maxDepth is how deep lists and mappings may be nested: the format needs five.
const maxDepth = 12

// Document reads the one YAML document of a file, or reports why it cannot.
// What the format does not use of YAML (anchors, aliases, tags, merge keys,
// keys that are not text) is reported, too; the tree is then still returned.
func (r *Report) Document(src []byte) *yaml.Node {
	if len(src) > MaxSize {
		r.Errorf(problem.Place{}, r.Format.a()+" has a few kilobytes; is this one?", "the file is larger than 1 MiB")
		return nil
	}
	if !r.legible(src) {
		return nil
	}
	loader, err := yaml.NewLoader(bytes.NewReader(src), yaml.WithPlugin(depthLimit{}))
	if err != nil {
		panic("yamlfile: " + err.Error())
	}
	var doc yaml.Node
	switch err := loader.Load(&doc); {
	case err == io.EOF || err == nil && (len(doc.Content) == 0 || nothing(doc.Content[0])):
		r.Errorf(problem.Place{}, r.Format.Begin, "the file is empty")
		return nil
	case err != nil:
		r.syntax(err)
		return nil
	}
	var second yaml.Node
	switch err := loader.Load(&second); {
	case err == nil:
		r.Errorf(problem.At(second.Line, second.Column, 3), r.Format.Second, "a second document begins here")
		return nil
	case err != io.EOF:
		r.syntax(err)
		return nil
	}
	r.plain(doc.Content[0])
	return doc.Content[0]
}

// nothing says whether a document has no content, as one of only "---".
func nothing(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.Tag == "!!null" && n.Value == ""
}

// legible reports the first byte that is not text.
func (r *Report) legible(src []byte) bool {
	line, column := 1, 1
	for i := 0; i < len(src); {
		c, size := utf8.DecodeRune(src[i:])
		if c == '\n' || c == '\r' {
			if c == '\n' || i+1 == len(src) || src[i+1] != '\n' {
				line, column = line+1, 1
			}
			i += size
			continue
		}
		if c == utf8.RuneError && size == 1 {
			r.illegible(problem.At(line, column, 1), fmt.Sprintf("the byte 0x%02X is not UTF-8 text", src[i]))
			return false
		}
		if problem.Hidden(c) {
			r.illegible(problem.At(line, column, 1), fmt.Sprintf("the control character U+%04X is not text", c))
			return false
		}
		i, column = i+size, column+1
	}
	return true
}

func (r *Report) illegible(at problem.Place, message string) {
	r.Errorf(at, r.Format.a()+" is plain text in UTF-8", "%s", message)
}

// errDeep is the error of a file that is nested too deeply.
var errDeep = errors.New("nested too deeply")

type depthLimit struct{}

func (depthLimit) CheckDepth(depth int, _ *yaml.DepthContext) error {
	if depth > maxDepth {
		return errDeep
	}
	return nil
}

func (depthLimit) CheckAlias(int, int) error { return nil }

// syntaxWords puts what the YAML reader says into plain words. The first entry
// whose texts occur in its context and message is taken. If start is set, what
// is wrong began on an earlier line than the one where it was noticed, which is
// the place to show. FILE stands for what the format calls its files.
var syntaxWords = []struct {
	context, message string
	start            bool
	say, hint        string
}{
	{"", "control characters", false, "a control character is not text", "a FILE is plain text in UTF-8"},
	{"", "mapping values are not allowed", false, `a ":" is not possible here`,
		`one "key: value" a line, lines of one list indented alike; put a text with ": " in it in quotes`},
	{"flow sequence", "did not find", true, `this list is not closed`,
		`write "]" behind its last entry and "," between entries`},
	{"flow sequence", "did not find", false, `"," or "]" is missing before this`,
		`write "]" behind the last entry and "," between entries`},
	{"flow mapping", "did not find", true, `this { is not closed`,
		`write "}" behind the last entry and "," between entries`},
	{"flow mapping", "did not find", false, `"," or "}" is missing before this`,
		`write "}" behind the last entry and "," between entries`},
	{"quoted scalar", "end of stream", true, "this quote is not closed", "write the closing quote on the same line"},
	{"quoted scalar", "document indicator", true, "this quote is not closed", "write the closing quote on the same line"},
	{"quoted scalar", "escape", false, "this backslash means nothing here",
		"use single quotes for a text with a backslash in it"},
	{"simple key", "could not find expected ':'", true, `a ":" is missing behind this key`, `write "key: value"`},
	{"block mapping", "did not find expected key", false,
		"this line fits nowhere: its indentation, or a bracket or quote too many", "indent keys that belong together alike"},
	{"block collection", "'-' indicator", false, `a list goes on here, but this line does not begin with "- "`,
		"indent keys that belong together alike"},
	{"next token", "cannot start any token", false, "this character cannot stand here",
		"put a text that begins with it in quotes"},
	{"block node", "node content", false, "a value is missing before this",
		"write the value, or leave the bracket or comma out"},
	{"flow node", "node content", false, "a value is missing before this",
		"write the value, or leave the bracket or comma out"},
	{"", "unknown anchor", false, "aliases (*name) are not used in FILEs", "write the value again"},
	{"", "expected <document start>", false, "this line is not indented as the first key is",
		"begin every key of the file at the left margin"},
	{"", "mapping keys are not allowed", false, `a "?" cannot stand here`, "put a text that begins with it in quotes"},
	{"", "block sequence entries are not allowed", false, `a "- " is not possible here`,
		`write the list on lines of its own below its key, or as [a, b]`},
	{"block scalar", "", false, "this text over several lines cannot be read",
		`write its lines below "key: >-", indented alike with spaces`},
	{"directive", "", false, "this % line cannot be read", "leave the line out; put a text that begins with % in quotes"},
	{"", "document end", false, "a % line cannot stand here",
		"leave the line out; put a text that begins with % in quotes"},
	{"", "directive", false, "this % line cannot be read", "leave the line out; put a text that begins with % in quotes"},
	{"tag", "", false, "this ! cannot be read", "put a text that begins with ! in quotes"},
	{"", "tag", false, "this ! cannot be read", "put a text that begins with ! in quotes"},
	{"anchor", "", false, "anchors (&name) are not used in FILEs",
		"leave it out; put a text that begins with & in quotes"},
	{"alias", "", false, "aliases (*name) are not used in FILEs",
		"write the value again; put a text that begins with * in quotes"},
	{"", "content after document-end", false, `the file goes on behind "..."`,
		"leave that out, or put a comment on a line of its own"},
	{"", "without preceding whitespace", false, "a comment begins here without a space before it",
		"write a space before #, or put the text in quotes"},
	{"", "indentation", false, "the spaces and tabs before this line do not fit those above",
		"indent with spaces, keys that belong together alike"},
	{"", "tab", false, "a tab cannot stand here", "indent with spaces"},
	{"", "incompatible YAML document", false, "this %YAML line names a version that cannot be read",
		"leave the line out"},
}

// syntax reports what the YAML reader could not read.
func (r *Report) syntax(err error) {
	var list *yaml.LoadErrors
	var e *yaml.LoadError
	switch {
	case errors.As(err, &list) && len(list.Errors) > 0: // first: see the note in the reader's documentation
		e = list.Errors[0]
	case errors.As(err, &e):
	default:
		r.Errorf(problem.Place{}, `compare with a file that "tieup show --format yaml" prints`,
			"the file cannot be read as YAML")
		return
	}
	mark := e.Mark
	if errors.Is(err, errDeep) || strings.Contains(e.Message, errDeep.Error()) {
		r.Errorf(problem.At(mark.Line, mark.Column, 1), r.Format.a()+" needs no more than five levels",
			"lists and mappings are nested more than %d deep", maxDepth)
		return
	}
	if line := []rune(r.line(mark.Line)); mark.Column > 0 && mark.Column <= len(line) && line[mark.Column-1] == '\t' {
		r.Errorf(problem.At(mark.Line, mark.Column, 1), "indent with spaces", "a tab cannot stand here")
		return
	}
	say, hint := "the file cannot be read from here on", "look for an indentation, bracket or quote that is wrong on "+
		"this line or the one before"
	earlier := e.ContextMark.Line > 0 && e.ContextMark.Line < mark.Line
	for _, w := range syntaxWords {
		if strings.Contains(e.ContextMsg, w.context) && strings.Contains(e.Message, w.message) && (earlier || !w.start) {
			noun := strings.NewReplacer("FILE", r.Format.Noun)
			say, hint = noun.Replace(w.say), noun.Replace(w.hint)
			if w.start {
				mark = e.ContextMark
			}
			break
		}
	}
	p := r.Errorf(problem.At(mark.Line, mark.Column, 1), hint, "%s", say)
	if strings.Contains(e.ContextMsg, "flow") {
		r.See(p, problem.At(e.ContextMark.Line, e.ContextMark.Column, 1), "opened here")
	}
}

// plain reports everything of YAML that these files do not use.
func (r *Report) plain(n *yaml.Node) {
	at := r.Place(n)
	switch {
	case n.Kind == yaml.AliasNode:
		r.Errorf(problem.At(n.Line, n.Column, 1+utf8.RuneCountInString(n.Value)), "write the value again",
			"aliases (*%s) are not used in %ss", n.Value, r.Format.Noun)
		return
	case n.Anchor != "":
		r.Errorf(problem.At(n.Line, n.Column, 1+utf8.RuneCountInString(n.Anchor)),
			"leave it out and write the value wherever it is needed", "anchors (&%s) are not used in %ss", n.Anchor,
			r.Format.Noun)
	case n.Style&yaml.TaggedStyle != 0:
		r.Errorf(problem.At(n.Line, n.Column, 1), "leave it out; a text that looks like a number goes in quotes",
			"tags (%s) are not used in %ss", n.Tag, r.Format.Noun)
	}
	if n.Kind == yaml.ScalarNode {
		if i := strings.IndexFunc(n.Value, problem.Hidden); i >= 0 {
			c, _ := utf8.DecodeRuneInString(n.Value[i:])
			r.Errorf(at, "leave it out", "the control character U+%04X is not text", c)
		}
	}
	if n.Kind == yaml.MappingNode {
		for i := 0; i < len(n.Content); i += 2 {
			switch k := n.Content[i]; {
			case k.Tag == "!!merge":
				r.Errorf(r.Place(k), "write the values again", "merge keys (<<) are not used in %ss", r.Format.Noun)
			case k.Kind != yaml.ScalarNode && k.Kind != yaml.AliasNode:
				r.Errorf(r.Place(k), `write "key: value"`, "a key is a name, not a list or mapping")
			case k.Tag == "!!null":
				r.Errorf(at, `write "key: value"`, "a key is missing")
			}
		}
	}
	for _, c := range n.Content {
		r.plain(c)
	}
}

// Place is where a node stands. Of a list or mapping it is the beginning.
func (r *Report) Place(n *yaml.Node) problem.Place {
	p := problem.At(n.Line, n.Column, 1)
	if n.Kind == yaml.ScalarNode && n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) == 0 {
		p.Width = utf8.RuneCountInString(n.Value)
		if n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0 {
			p.Width += 2
		}
	}
	rest := r.chars(n.Line) - (n.Column - 1)
	p.Width = max(1, min(p.Width, rest))
	return p
}
