package language

import (
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog/authored"
	"drillwright/rules/predicate"
)

// The limits of the rule language: far above what honest rules need, far below what would hold a
// server up, for a book may come from anywhere. In brackets: about the most that the embedded book uses.
const (
	// MaxExpression is the longest expression that is parsed, in bytes (800). It is held before parsing: the parser
	// can't be stopped once it runs.
	MaxExpression = 4 << 10
	// maxNodes is how many paths, numbers, words and signs an expression has once parsed (120): some 160 comparisons.
	maxNodes = 1000
	// maxDepth is how deep brackets and parts stand within each other (11). A chain of and, or, + is no deeper than
	// one of them. Nobody can read more, and every pass goes down as deep as this.
	maxDepth = 30
	// maxChoices is how many ? : a comparison has, or stand within each other (1). A comparison is written out three times
	// for each.
	maxChoices = 4
	// maxParts is what an expression becomes once any and all over a domain are written out, a copy a member (600):
	// some thirty comparisons over the motions.
	maxParts = 5000
	// maxListed is how many words a list written out has (9). A longer one wants a term of the vocabulary.
	maxListed = 100
	// maxWord is the length of a word in quotes (40): twice the longest id.
	maxWord = 80
	// maxNumber is the greatest number that may be written out (360): above the grams
	// and newtons of any lift and the seconds of any year.
	maxNumber = 1e9
	// maxResult is the greatest number that arithmetic may come to: below it a whole number is exact.
	maxResult = 1e15
	// maxTag is what a drill may state of itself: no tag is a greater number, in any unit.
	maxTag = 1e6

	// maxBookParts is what all expressions of a book become (14,000): some hundred megabytes.
	maxBookParts = 500_000
	// maxProblems is after how many mistakes reading stops: nobody mends more at once, and the nearest name to each
	// takes a walk through all names.
	maxProblems = 500

	// maxTypos is how often one typo is reported in an expression.
	maxTypos = 20

	// MaxText is the length of a reason or caution in letters (230), maxBraces how many values it fills in (7).
	MaxText, maxBraces = 800, 20
)

// modest is whether an expression keeps the limits of its size.
func (s *source) modest(root ast.Node) bool {
	nodes, good := 0, true
	var walk func(n ast.Node, depth int)
	walk = func(n ast.Node, depth int) {
		if nodes++; depth > maxDepth && good {
			good = false
			s.suggest(n.Location().From, "make several rules of it", "parts stand more than %d deep within each other", maxDepth)
		}
		if !good {
			return
		}
		for _, c := range children(n) {
			if continues(n, c) {
				walk(c, depth)
			} else {
				walk(c, depth+1)
			}
		}
	}
	walk(root, 1)
	if good && nodes > maxNodes {
		s.suggest(0, "make several rules of it", "the expression has %d names, numbers and signs; the most is %d", nodes, maxNodes)
		return false
	}
	return good
}

// continues is true of the first part of a and b and c: it is as deep as the whole.
func continues(n, c ast.Node) bool {
	whole, ok := n.(*ast.BinaryNode)
	if !ok || whole.Left != c {
		return false
	}
	part, ok := c.(*ast.BinaryNode)
	return ok && (part.Operator == whole.Operator || strings.Contains("+-", part.Operator) && strings.Contains("+-", whole.Operator))
}

// bracketed is whether every bracket is closed by its like, and they stand no deeper than they may: the parser leaves none
// in the tree. A bracket that can be closed in but one place is.
func (s *source) bracketed() bool {
	blanked := blank(s.code)
	var open []int
	for i, b := range []byte(blanked) {
		switch b {
		case '(', '[':
			open = append(open, i)
		case ')', ']':
			if len(open) == 0 {
				return s.closesNothing(blanked, i)
			}
			last := open[len(open)-1]
			if closer[blanked[last]] != b {
				return s.unclosed(blanked, last, i)
			}
			open = open[:len(open)-1]
		}
		if len(open) > maxDepth {
			s.suggest(s.offset(i), "take out those that aren't needed, or make several rules of it",
				"brackets stand more than %d deep within each other", maxDepth)
			return false
		}
	}
	if len(open) == 1 {
		return s.unclosed(blanked, open[0], len(strings.TrimRight(s.code, " \t\n")))
	}
	for _, at := range open {
		s.suggest(s.offset(at), fmt.Sprintf("close it with %c", closer[blanked[at]]), "the %c that opens here isn't closed", blanked[at])
	}
	return len(open) == 0
}

var closer = map[byte]byte{'(': ')', '[': ']'}

// joined: more than one place could be meant for a bracket.
var joined = regexp.MustCompile(`\b(and|or)\b|&&|\|\||\?`)

// unclosed reports a bracket that isn't closed up to a place. Where it holds only words, or nothing is joined in it, it
// can only be closed there.
func (s *source) unclosed(blanked string, at, end int) bool {
	by := string(closer[blanked[at]])
	inside := blanked[at+1 : end]
	sure := !joined.MatchString(inside)
	if end < len(blanked) && (blanked[end] == ')' || blanked[end] == ']') {
		sure = sure && strings.Count(blanked, "(")+strings.Count(blanked, "[") > strings.Count(blanked, ")")+strings.Count(blanked, "]")
	}
	var fix *authored.Edit
	if sure {
		fix = s.edit(s.offset(end), s.offset(end), by)
	}
	s.report.Fix(s.at(s.offset(at)), fix, "close it with "+by, "the %c that opens here isn't closed", blanked[at])
	if fix == nil {
		return false
	}
	s.repair([]change{{end, end, by}})
	return s.bracketed()
}

// closesNothing reports a bracket that wasn't opened. Where nothing is joined before it, it goes.
func (s *source) closesNothing(blanked string, at int) bool {
	var fix *authored.Edit
	if !joined.MatchString(blanked[:at]) {
		fix = s.edit(s.offset(at), s.offset(at+1), "")
	}
	s.report.Fix(s.at(s.offset(at)), fix, "take it out, or open it before", "the %c here closes nothing", blanked[at])
	if fix == nil {
		return false
	}
	s.repair([]change{{at, at + 1, ""}})
	return s.bracketed()
}

// worded reports words in quotes that are too long to be any, or broken over two lines.
func (s *source) worded() bool {
	good := true
	for _, at := range quoted.FindAllStringIndex(s.code, -1) {
		word, offset := s.code[at[0]+1:at[1]-1], utf8.RuneCountInString(s.code[:at[0]])
		switch length := utf8.RuneCountInString(word); {
		case strings.Contains(word, "\n"):
			s.suggest(offset, "close the quote on its line", "a word goes over two lines")
		case length > maxWord:
			s.suggest(offset, "a word in quotes is one of the vocabulary", "a word has %d letters; the most is %d", length, maxWord)
		default:
			continue
		}
		good = false
	}
	return good
}

// grow counts what the expression becomes, and says once that it is too much.
func (r *resolver) grow(n ast.Node) {
	if r.parts++; r.parts == maxParts+1 {
		r.suggestAt(n, "make several rules of it", "with every member of any and all written out this has more than %d parts", maxParts)
	}
}

// bounded reports arithmetic that can come to more than maxResult, where numbers are no longer exact.
func (r *resolver) bounded(n ast.Node, m *predicate.Num) {
	if most := reach(m); !(most <= maxResult) {
		r.suggestAt(n, "multiply and divide by less", "this can come to more than %.0f", maxResult)
	}
}

// reach is the most that a number can be, its sign left out.
func reach(m *predicate.Num) float64 {
	switch m.Op {
	case predicate.Const:
		return abs(m.K)
	case predicate.Value:
		if m.Ref.Path != nil {
			return max(abs(m.Ref.Path.Lo), abs(m.Ref.Path.Hi))
		}
		return maxTag
	case predicate.Mul:
		return reach(m.L) * abs(m.K)
	case predicate.Neg:
		return reach(m.L)
	case predicate.Choose:
		return max(reach(m.L), reach(m.R))
	}
	return reach(m.L) + reach(m.R)
}

func abs(v float64) float64 { return max(v, -v) }
