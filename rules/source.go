package rules

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"

	"drillwright/catalog"
)

// MaxExpression is the longest expression that is parsed, in bytes.
const MaxExpression = 4 << 10

// source is one expression as its author wrote it.
type source struct {
	report *catalog.Report
	text   catalog.Text
	// shift is where the expression starts inside the text, in runes: an expression in braces stands in a sentence.
	shift int
	code  string
}

// at is the place in the author's file of a rune of the expression.
func (s *source) at(offset int) catalog.Pos {
	pos := s.text.Inner
	before := []rune(s.text.Value)
	before = before[:min(s.shift+offset, len(before))]
	for _, r := range before {
		if r == '\n' {
			pos.Line++
			pos.Col = s.text.Inner.Col
		} else {
			pos.Col++
		}
	}
	return pos
}

func (s *source) add(offset int, format string, args ...any) {
	s.report.Add(s.at(offset), format, args...)
}

func (s *source) suggest(offset int, suggestion, format string, args ...any) {
	s.report.Suggest(s.at(offset), suggestion, format, args...)
}

// slip is a mistake that the parser would answer in its own terms, answered in ours.
type slip struct {
	found      *regexp.Regexp
	message    string
	suggestion string
}

var slips = []slip{
	{regexp.MustCompile("[\u2018\u2019\u201c\u201d]"), "a curly quote", "use straight quotes: 'word'"},
	{regexp.MustCompile("[\u2013\u2014\u2212]"), "a long dash", "use the plain minus: -"},
	{regexp.MustCompile("°"), "a degree sign", "write the number alone; the path says the unit"},
	{regexp.MustCompile(`[0-9],[0-9]`), "a decimal comma", "write a point: 2.5"},
	{regexp.MustCompile(`\bAND\b`), "AND in capitals", "write and"},
	{regexp.MustCompile(`\bOR\b`), "OR in capitals", "write or"},
	{regexp.MustCompile(`\bNOT\b`), "NOT in capitals", "write not"},
	{regexp.MustCompile(`(^|[^=<>!])=($|[^=])`), "a single =", "compare with =="},
	{regexp.MustCompile(`\bnot\s+'[^']*'\s+in\b`), "not before the word", "write 'word' not in list"},
}

// quoted matches text in quotes, in which slips are no slips.
var quoted = regexp.MustCompile(`'[^']*'|"[^"]*"`)

// parse turns the text into expr's tree, or reports why it can't be one.
func (s *source) parse() ast.Node {
	switch {
	case strings.TrimSpace(s.code) == "":
		s.add(0, "the expression is empty")
		return nil
	case len(s.code) > MaxExpression:
		s.add(0, "the expression has %d bytes; the most is %d", len(s.code), MaxExpression)
		return nil
	}
	if s.slipped() {
		return nil
	}
	tree, err := parser.Parse(s.code)
	if err != nil {
		s.parserError(err)
		return nil
	}
	return tree.Node
}

func (s *source) slipped() bool {
	blanked := quoted.ReplaceAllStringFunc(s.code, func(q string) string { return "'" + strings.Repeat("x", max(0, utf8.RuneCountInString(q)-2)) + "'" })
	found := false
	for _, slip := range slips {
		for _, where := range slip.found.FindAllStringIndex(blanked, -1) {
			start := where[0] + strings.IndexFunc(blanked[where[0]:where[1]], func(r rune) bool { return r == '=' || !strings.ContainsRune(" ", r) })
			if strings.Contains(slip.message, "single") {
				start = where[0] + strings.IndexByte(blanked[where[0]:where[1]], '=')
			}
			s.suggest(utf8.RuneCountInString(blanked[:start]), slip.suggestion, "%s", slip.message)
			found = true
		}
	}
	return found
}

func (s *source) parserError(err error) {
	var at *file.Error
	if !errors.As(err, &at) {
		s.add(0, "this can't be read: %v", err)
		return
	}
	offset := at.From
	if lines := strings.SplitAfter(s.code, "\n"); at.From == 0 && at.Line >= 1 && at.Line <= len(lines) {
		offset = utf8.RuneCountInString(strings.Join(lines[:at.Line-1], "")) + at.Column
	}
	if open, closed := strings.Count(s.code, "("), strings.Count(s.code, ")"); open != closed {
		s.suggest(offset, fmt.Sprintf("%d are opened and %d closed", open, closed), "the brackets don't match")
		return
	}
	s.add(offset, "this can't be read here: %s", at.Message)
}

// span is where a node stands in the expression: from the first to the last rune of its parts.
func span(n ast.Node) (from, to int) {
	from, to = n.Location().From, n.Location().To
	for _, c := range children(n) {
		f, t := span(c)
		from, to = min(from, f), max(to, t)
	}
	return from, to
}

// slice is a node as its author wrote it, brackets balanced.
func (s *source) slice(n ast.Node) string {
	from, to := span(n)
	runes := []rune(s.code)
	from, to = max(from, 0), min(to, len(runes))
	inside := string(runes[from:to])
	for open := opened(inside, "(", ")") + opened(inside, "[", "]"); open > 0 && to < len(runes); to++ {
		if runes[to] == ')' || runes[to] == ']' {
			open--
		}
	}
	return strings.TrimSpace(string(runes[from:to]))
}

// opened is how many brackets are opened and not closed.
func opened(s, left, right string) int { return strings.Count(s, left) - strings.Count(s, right) }

// children lists the parts of a node that the dialect knows.
func children(n ast.Node) []ast.Node {
	switch n := n.(type) {
	case *ast.UnaryNode:
		return []ast.Node{n.Node}
	case *ast.BinaryNode:
		return []ast.Node{n.Left, n.Right}
	case *ast.MemberNode:
		return []ast.Node{n.Node, n.Property}
	case *ast.ChainNode:
		return []ast.Node{n.Node}
	case *ast.ConditionalNode:
		return []ast.Node{n.Cond, n.Exp1, n.Exp2}
	case *ast.CallNode:
		return append([]ast.Node{n.Callee}, n.Arguments...)
	case *ast.BuiltinNode:
		return n.Arguments
	case *ast.PredicateNode:
		return []ast.Node{n.Node}
	case *ast.ArrayNode:
		return n.Nodes
	}
	return nil
}
