package language

import (
	"errors"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"

	"drillwright/catalog/authored"
)

// source is one expression as its author wrote it.
type source struct {
	report *authored.Report
	text   authored.Text
	// shift is where the expression starts inside the text, in runes: an expression in braces stands in a sentence.
	shift int
	// code is the expression as it is read: typos that can mean but one thing are mended in it, so that reading goes on
	// and finds what else is wrong.
	code string
	// stood is where each rune of code, and its end, stood before typos were mended; nil when none were.
	stood []stretch

	split string // what runes was cut from
	runes []rune
}

// stretch is a part of an expression, in runes.
type stretch struct{ from, to int }

// at is the place in the author's file of a rune of the expression.
func (s *source) at(offset int) authored.Pos {
	if offset >= 0 && s.stood != nil {
		offset = s.stood[min(offset, len(s.stood)-1)].from
	}
	return s.text.PosOf(s.shift + offset)
}

// edit is the change in the author's file that writes another text for some runes of the expression.
func (s *source) edit(from, to int, by string) *authored.Edit {
	if from < 0 || to < from || to > utf8.RuneCountInString(s.code) {
		return nil
	}
	if s.stood != nil {
		if s.parts(from) || s.parts(to) {
			return nil
		}
		start := s.stood[from].from
		if to > from {
			to = s.stood[to-1].to
		} else {
			to = start
		}
		from = start
	}
	return s.text.Edit(s.shift+from, s.shift+to, by)
}

// parts is whether a place stands within what was mended, and so nowhere in the author's text.
func (s *source) parts(at int) bool { return at > 0 && s.stood[at-1] == s.stood[at] }

// repair writes other texts for parts of the code, which stand in order and don't overlap, in bytes.
func (s *source) repair(changes []change) {
	stood := s.stood
	if stood == nil {
		for i := range utf8.RuneCountInString(s.code) + 1 {
			stood = append(stood, stretch{i, i + 1})
		}
	}
	var code strings.Builder
	var now []stretch
	done := 0
	for _, c := range changes {
		from, to := s.offset(c.from), s.offset(c.to)
		code.WriteString(s.code[s.byteAt(done):c.from] + c.by)
		now = append(now, stood[done:from]...)
		index := stretch{stood[from].from, stood[from].from}
		if to > from {
			index.to = stood[to-1].to
		}
		for range utf8.RuneCountInString(c.by) {
			now = append(now, index)
		}
		done = to
	}
	code.WriteString(s.code[s.byteAt(done):])
	s.code, s.stood = code.String(), append(now, stood[done:]...)
}

// change writes another text for a part of the code, in bytes.
type change struct {
	from, to int
	by       string
}

// offset turns a place in bytes into one in runes, and byteAt turns it back.
func (s *source) offset(at int) int { return utf8.RuneCountInString(s.code[:at]) }

// letters are the runes of the code.
func (s *source) letters() []rune {
	if s.split != s.code {
		s.split, s.runes = s.code, []rune(s.code)
	}
	return s.runes
}

func (s *source) byteAt(rune int) int {
	for i := range s.code {
		if rune == 0 {
			return i
		}
		rune--
	}
	return len(s.code)
}

func (s *source) add(offset int, format string, args ...any) {
	s.report.Add(s.at(offset), format, args...)
}

// suggestAt and fixAt point at the first sign of a part.
func (s *source) suggestAt(n ast.Node, suggestion, format string, args ...any) {
	from, _ := span(n)
	s.suggest(from, suggestion, format, args...)
}

func (s *source) suggest(offset int, suggestion, format string, args ...any) {
	s.report.Suggest(s.at(offset), suggestion, format, args...)
}

// fix says what is wrong at an offset, and that by stands in the index of a part instead.
func (s *source) fix(offset int, part ast.Node, by, suggestion, format string, args ...any) {
	from, to := s.extent(part)
	s.report.Fix(s.at(offset), s.edit(from, to, by), suggestion, format, args...)
}

// parse turns the text into expr's tree, or reports why it can't be one.
func (r *resolver) parse() ast.Node {
	switch {
	case strings.TrimSpace(r.code) == "":
		r.suggest(0, "write what must hold, or true", "the expression is empty")
		return nil
	case len(r.code) > MaxExpression:
		r.suggest(0, "make several rules of it", "the expression has %d bytes; the most is %d", len(r.code), MaxExpression)
		return nil
	}
	if at := unread.FindStringIndex(r.code); at != nil {
		r.suggest(r.offset(at[0]), "write 'word'", "%s is not in the rule language", r.code[at[0]:at[1]])
		return nil
	}
	if !r.repaired() || !r.worded() || !r.bracketed() {
		return nil
	}
	tree, err := parser.Parse(r.code)
	if err != nil {
		r.parserError(err)
		return nil
	}
	if !r.modest(tree.Node) {
		return nil
	}
	return tree.Node
}

// parserError answers in our words where the parser stopped.
func (s *source) parserError(err error) {
	var at *file.Error
	if !errors.As(err, &at) {
		s.add(0, "this can't be read")
		return
	}
	runes := []rune(s.code)
	from, to := min(max(at.From, 0), len(runes)), min(max(at.To, 0), len(runes))
	here, before := string(runes[from:max(from, to)]), strings.TrimSpace(string(runes[:from]))
	switch {
	case strings.Contains(at.Message, "arguments"):
		s.suggest(from, "write any(motions, …) or any(list, …), the same with all and count", "a comma and a condition are missing")
	case strings.Contains(at.Message, "EOF") || strings.Contains(at.Message, "unexpected end"):
		s.suggest(from, "write what is missing, or take the last word away", "the expression breaks off here")
	case strings.Contains(at.Message, "unrecognized"):
		s.suggest(from, "take it out", "%s can't be read", Short(here))
	case endsPart.MatchString(before) && !endsJoined.MatchString(before):
		s.suggest(from, "and, or or a comparison is missing before it", "%s can't stand here", Short(here))
	default:
		s.suggest(from, "a path, a number or a 'word' is missing before it", "%s can't stand here", Short(here))
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

// extent is the span of a node with its brackets balanced.
func (s *source) extent(n ast.Node) (from, to int) {
	from, to = span(n)
	runes := s.letters()
	from, to = min(max(from, 0), len(runes)), min(max(to, 0), len(runes))
	if to < from {
		return from, from
	}
	inside := string(runes[from:to])
	for open := opened(inside, "(", ")") + opened(inside, "[", "]"); open > 0 && to < len(runes); to++ {
		if runes[to] == ')' || runes[to] == ']' {
			open--
		}
	}
	return from, to
}

// slice is a node as its author wrote it, brackets balanced.
func (s *source) slice(n ast.Node) string {
	from, to := s.extent(n)
	return strings.TrimSpace(string(s.letters()[from:to]))
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
