package rules

import (
	"fmt"
	"math"
	"strings"

	"github.com/expr-lang/expr/ast"

	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// comparison resolves == != < <= > >=: of a count, of two words, or of two numbers.
func (r *resolver) comparison(n *ast.BinaryNode) *condition.Node {
	if count, ok := n.Left.(*ast.BuiltinNode); ok && count.Name == "count" {
		return r.counted(n, count)
	}
	before := r.report.Count()
	r.comparable(n)
	if r.report.Count() > before {
		return &condition.Node{Op: condition.Always}
	}
	equal := n.Operator == "==" || n.Operator == "!="
	atom := &condition.Node{Text: r.slice(n)}
	if equal && (r.isWord(n.Left) || r.isWord(n.Right)) && !r.rungBeside(n) {
		r.equalWords(n, atom)
	} else {
		atom.Op, atom.Cmp = condition.Compare, strings.Replace(n.Operator, "!=", "==", 1)
		atom.L, atom.R = r.pair(n)
	}
	if n.Operator == "!=" {
		atom.Text = r.slice(n.Left) + " == " + r.slice(n.Right)
		return &condition.Node{Op: condition.Not, Kids: []*condition.Node{atom}}
	}
	return atom
}

// comparable reports what no comparison makes sense of, before either side is read.
func (r *resolver) comparable(n *ast.BinaryNode) {
	equal := n.Operator == "==" || n.Operator == "!="
	left, right := r.kindOf(n.Left), r.kindOf(n.Right)
	at := n.Location().From
	switch {
	case left == client.Bool || right == client.Bool:
		r.suggest(at, "write a, or not a; for two of them (a and b) or (not a and not b)", "a yes or no is not compared")
	case equal && (left == client.Number && right == client.Word || left == client.Word && right == client.Number) && !r.rungBeside(n):
		r.suggest(at, "a number stands without quotes, a word in quotes", "a number is compared with a word")
	case equal && left == client.Number && right == client.Number && (r.inexact(n.Left) || r.inexact(n.Right)):
		r.suggest(at, "compare with >= and <=", "numbers with a fraction are hardly ever equal")
	}
}

// kindOf is what a part is by its looks: no more than needed to answer a mixed comparison in one sentence. A part that
// isn't clear is "".
func (r *resolver) kindOf(n ast.Node) client.Kind {
	switch n := n.(type) {
	case *ast.IntegerNode, *ast.FloatNode, *ast.ConditionalNode:
		return client.Number
	case *ast.StringNode:
		return client.Word
	case *ast.BoolNode, *ast.CallNode:
		return client.Bool
	case *ast.BuiltinNode:
		if n.Name != "count" {
			return client.Bool
		}
	case *ast.UnaryNode:
		if n.Operator == "-" {
			return client.Number
		}
		if _, bare := n.Node.(*ast.MemberNode); bare && r.kindOf(n.Node) != client.Bool {
			return "" // not binds to the path alone: number says so
		}
		return client.Bool
	case *ast.BinaryNode:
		if strings.Contains("+-*/", n.Operator) {
			return client.Number
		}
		return client.Bool
	case *ast.MemberNode, *ast.IdentifierNode:
		if ref := r.lookup(pathName(n)); ref != nil {
			return ref.Kind
		}
	}
	return ""
}

// inexact is true of a number with a fraction written out, and of a quotient.
func (r *resolver) inexact(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.FloatNode:
		return n.Value != math.Trunc(n.Value)
	case *ast.UnaryNode:
		return r.inexact(n.Node)
	case *ast.BinaryNode:
		return n.Operator == "/" || r.inexact(n.Left) || r.inexact(n.Right)
	case *ast.ConditionalNode:
		return r.inexact(n.Exp1) || r.inexact(n.Exp2)
	}
	return false
}

// equalWords makes an atom of == between words.
func (r *resolver) equalWords(n *ast.BinaryNode, atom *condition.Node) {
	a, b := r.words(n.Left), r.words(n.Right)
	r.agree(n.Left, a, b)
	r.agree(n.Right, b, a)
	r.notLists(n, a, b)
	atom.Op, atom.A, atom.B = condition.Within, a, b
}

func (r *resolver) notLists(n *ast.BinaryNode, a, b *condition.Words) {
	for _, w := range []*condition.Words{a, b} {
		if w.Ref != nil && w.Ref.Kind == client.List {
			r.suggest(n.Location().From, "write 'word' in "+w.Ref.Name, "%s is a list; it can't be compared with %s", w.Ref.Name, n.Operator)
			return
		}
	}
	if a.Ref != nil && b.Ref != nil && a.Ref.Root == condition.OfFacts && b.Ref.Root == condition.OfFacts {
		r.add(n.Location().From, "two facts of the client are compared; compare one with a word or with a tag of the drill")
	}
}

// within resolves "in": a word on its left, a list on its right.
func (r *resolver) within(n *ast.BinaryNode) *condition.Node {
	a, b := r.words(n.Left), r.words(n.Right)
	_, quoted := n.Right.(*ast.StringNode)
	switch {
	case a.Ref != nil && a.Ref.Kind == client.List || a.Ref == nil && len(a.Literal) != 1 && !a.Element:
		r.suggestAt(n.Left, "write any("+short(r.slice(n.Left))+", # in …)", "a list stands before in; in asks about one word")
	case quoted || b.Element || b.Ref != nil && b.Ref.Kind == client.Word:
		r.suggestAt(n.Right, "compare two words with ==", "%s is a word, not a list", short(r.slice(n.Right)))
	}
	r.agree(n.Left, a, b)
	if b.Ref == nil {
		r.agree(n.Right, b, a)
	}
	return &condition.Node{Op: condition.Within, A: a, B: b, Text: r.slice(n)}
}

// counted is count(list, …) >= k: the only way to compare a count, so that more can't make less.
func (r *resolver) counted(n *ast.BinaryNode, count *ast.BuiltinNode) *condition.Node {
	if over := domain(count); over != "" {
		r.suggestAt(count, "count the members of a list of the client or the request", "count doesn't go over %s", over)
		return &condition.Node{Op: condition.Always}
	}
	k, ok := n.Right.(*ast.IntegerNode)
	if !ok || n.Operator != ">=" && n.Operator != ">" {
		r.suggest(n.Location().From, "write count(list, # in […]) >= 2", "a count is compared with >= and a whole number")
		return &condition.Node{Op: condition.Always}
	}
	atom := r.overList(count)
	if ref := atom.List.Ref; ref != nil && ref.Root != condition.OfFacts {
		r.add(n.Location().From, "count goes over a list of the client or the request")
	}
	atom.Least, atom.Text = k.Value, r.slice(n)
	if n.Operator == ">" {
		atom.Least++
	}
	switch most := len(r.known(atom.List)); {
	case atom.Least < 1:
		r.suggestAt(n.Right, "count to 1 or more", "there are always that many")
	case most > 0 && atom.Least > most:
		r.suggestAt(n.Right, fmt.Sprintf("the most is %d", most), "there are never that many")
	}
	return atom
}
