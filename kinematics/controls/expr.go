package controls

import (
	"fmt"
	"slices"
	"strings"
)

// An op is what a node of an expression does.
type op uint8

const (
	opName    op = iota // a solenoid, valve, circuit or ball, or line
	opLever             // the lever is in one of the positions
	opUnknown           // what no source tells
	opAnd
	opOr
	opNot
)

// A node is an expression: a leaf or an operation on its args.
type node struct {
	op    op
	name  string   // of opName
	at    int      // offset of the first byte in the text
	width int      // bytes
	list  []string // positions of opLever
	spots []int    // offsets of list
	args  []*node
}

// A syntaxError is where and why a text is no expression.
type syntaxError struct {
	at, width     int
	message, hint string
}

const exprForm = `an expression is of names, and, or, not, lever(D 2), parentheses and unknown: ` +
	`"drive and not valve-12"`

// parse reads an expression:
//
//	or    = and {"or" and}
//	and   = not {"and" not}
//	not   = "not" not | "(" or ")" | "lever" "(" position {position} ")" | "unknown" | name
func parse(text string) (*node, *syntaxError) {
	p := &parser{text: text}
	p.next()
	n := p.or()
	if p.err == nil && p.word != "" {
		p.fail(fmt.Sprintf("%q is not expected here", p.word), `between two names stands "and" or "or"`)
	}
	if p.err != nil {
		return nil, p.err
	}
	return n, nil
}

// maxDepth bounds how deep parentheses and nots may be nested.
const maxDepth = 50

type parser struct {
	text  string
	at    int    // of word
	end   int    // behind word
	word  string // the token; "" at the end
	depth int
	err   *syntaxError
}

func isNameByte(c byte) bool {
	return c == '-' || c == '_' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
}

func (p *parser) next() {
	p.at = p.end
	for p.at < len(p.text) && strings.IndexByte(" \t\r\n", p.text[p.at]) >= 0 {
		p.at++
	}
	p.end = p.at
	for p.end < len(p.text) && isNameByte(p.text[p.end]) {
		p.end++
	}
	if p.end == p.at && p.end < len(p.text) {
		for i := range p.text[p.at:] { // one whole character
			if i > 0 {
				p.end = p.at + i
				break
			}
			p.end = len(p.text)
		}
	}
	p.word = p.text[p.at:p.end]
}

func (p *parser) fail(message, hint string) *node {
	if p.err == nil {
		p.err = &syntaxError{p.at, max(1, p.end-p.at), message, hint}
	}
	return &node{op: opUnknown}
}

func (p *parser) or() *node { return p.chain("or", opOr, p.and) }

func (p *parser) and() *node { return p.chain("and", opAnd, p.not) }

func (p *parser) chain(word string, o op, operand func() *node) *node {
	first := operand()
	n := first
	for p.err == nil && p.word == word {
		if n == first {
			n = &node{op: o, at: first.at, args: []*node{first}}
		}
		p.next()
		n.args = append(n.args, operand())
	}
	if n != first {
		last := n.args[len(n.args)-1]
		n.width = last.at + last.width - n.at
	}
	return n
}

func (p *parser) not() *node {
	if p.depth++; p.depth > maxDepth {
		return p.fail("the expression is nested too deeply",
			fmt.Sprintf("at most %d deep: give a part of it a name, as a circuit", maxDepth))
	}
	defer func() { p.depth-- }()
	at, word := p.at, p.word
	switch word {
	case "":
		return p.fail("the expression ends too early", exprForm)
	case "and", "or", ")":
		return p.fail(fmt.Sprintf("%q has nothing before it", word), exprForm)
	case "not":
		p.next()
		arg := p.not()
		return &node{op: opNot, at: at, width: arg.at + arg.width - at, args: []*node{arg}}
	case "(":
		p.next()
		n := p.or()
		p.close(at)
		return n
	case "lever":
		return p.lever()
	case "unknown":
		p.next()
		return &node{op: opUnknown, at: at, width: len(word)}
	}
	if !isNameByte(word[0]) {
		return p.fail(fmt.Sprintf("%q is not part of an expression", word), exprForm)
	}
	p.next()
	return &node{op: opName, name: word, at: at, width: len(word)}
}

func (p *parser) close(opened int) {
	if p.err == nil && p.word != ")" {
		p.fail("a closing parenthesis is missing", fmt.Sprintf("the one at character %d is open", opened+1))
	}
	p.next()
}

func (p *parser) lever() *node {
	n := &node{op: opLever, at: p.at}
	p.next()
	opened := p.at
	if p.word != "(" {
		return p.fail("lever needs positions", "write lever(D) or lever(D 2 L)")
	}
	for p.next(); p.word != "" && isNameByte(p.word[0]) || p.word == ","; p.next() {
		if p.word != "," {
			n.list, n.spots = append(n.list, p.word), append(n.spots, p.at)
		}
	}
	if len(n.list) == 0 {
		return p.fail("lever needs positions", "write lever(D) or lever(D 2 L)")
	}
	n.width = p.end - n.at
	p.close(opened)
	return n
}

// leaves calls do for every leaf, in the order of the text.
func (n *node) leaves(do func(*node)) {
	if n == nil {
		return
	}
	if len(n.args) == 0 {
		do(n)
	}
	for _, a := range n.args {
		a.leaves(do)
	}
}

func name(s string) *node { return &node{op: opName, name: s} }

func and(args ...*node) *node { return fold(opAnd, args) }

func or(args ...*node) *node { return fold(opOr, args) }

func not(arg *node) *node { return &node{op: opNot, args: []*node{arg}} }

func fold(o op, args []*node) *node {
	args = slices.DeleteFunc(args, func(n *node) bool { return n == nil })
	switch len(args) {
	case 0:
		return nil
	case 1:
		return args[0]
	}
	return &node{op: o, args: args}
}
