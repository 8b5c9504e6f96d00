package rules

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"

	"drillwright/catalog"
)

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

// addAt and suggestAt point at the first sign of a part.
func (s *source) addAt(n ast.Node, format string, args ...any) { s.suggestAt(n, "", format, args...) }

func (s *source) suggestAt(n ast.Node, suggestion, format string, args ...any) {
	from, _ := span(n)
	s.suggest(from, suggestion, format, args...)
}

func (s *source) suggest(offset int, suggestion, format string, args ...any) {
	s.report.Suggest(s.at(offset), suggestion, format, args...)
}

// parse turns the text into expr's tree, or reports why it can't be one.
func (s *source) parse() ast.Node {
	switch {
	case strings.TrimSpace(s.code) == "":
		s.add(0, "the expression is empty")
		return nil
	case len(s.code) > MaxExpression:
		s.suggest(0, "make several rules of it", "the expression has %d bytes; the most is %d", len(s.code), MaxExpression)
		return nil
	}
	blanked := blank(s.code)
	if at := unread.FindStringIndex(s.code); at != nil {
		s.suggest(s.offset(at[0]), "write 'word'", "%s is not in the rule language", s.code[at[0]:at[1]])
		return nil
	}
	if s.slipped(blanked) || !s.worded() || !s.bracketed(blanked) {
		return nil
	}
	tree, err := parser.Parse(s.code)
	if err != nil {
		s.parserError(blanked, err)
		return nil
	}
	if !s.modest(tree.Node) {
		return nil
	}
	return tree.Node
}

// parserError answers in our words where the parser stopped.
func (s *source) parserError(blanked string, err error) {
	var at *file.Error
	if !errors.As(err, &at) {
		s.add(0, "this can't be read")
		return
	}
	runes := []rune(s.code)
	from, to := min(max(at.From, 0), len(runes)), min(max(at.To, 0), len(runes))
	for _, pair := range []string{"()", "[]"} {
		if open, closed := strings.Count(blanked, pair[:1]), strings.Count(blanked, pair[1:]); open != closed {
			s.suggest(from, fmt.Sprintf("%d are opened and %d closed", open, closed), "the brackets don't match")
			return
		}
	}
	here, before := string(runes[from:max(from, to)]), strings.TrimSpace(string(runes[:from]))
	switch {
	case strings.Contains(at.Message, "arguments"):
		s.suggest(from, "write any(motions, …) or any(list, …), the same with all and count", "a comma and a condition are missing")
	case strings.Contains(at.Message, "EOF") || strings.Contains(at.Message, "unexpected end"):
		s.add(from, "the expression breaks off here")
	case strings.Contains(at.Message, "unrecognized"):
		s.add(from, "%s can't be read", short(here))
	case endsPart.MatchString(before) && !endsJoined.MatchString(before):
		s.suggest(from, "and, or or a comparison is missing before it", "%s can't stand here", short(here))
	default:
		s.suggest(from, "a path, a number or a 'word' is missing before it", "%s can't stand here", short(here))
	}
}

// What ends a path, a number, a word or a bracket; and what looks like it and joins.
var (
	endsPart   = regexp.MustCompile(`[\w'"\])#]$`)
	endsJoined = regexp.MustCompile(`(^|[^\w.])(and|or|not|in|contains|matches|startsWith|endsWith)$`)
)

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
