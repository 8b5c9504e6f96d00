package language

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// comparison resolves == != < <= > >=: of a count, of two words, or of two numbers.
func (r *resolver) comparison(n *ast.BinaryNode) *predicate.Node {
	if count, ok := n.Left.(*ast.BuiltinNode); ok && count.Name == "count" {
		return r.counted(n, count)
	}
	before := r.report.Count()
	r.comparable(n)
	if r.report.Count() > before {
		return &predicate.Node{Op: predicate.Always}
	}
	equal := n.Operator == "==" || n.Operator == "!="
	atom := &predicate.Node{Text: r.slice(n)}
	if equal && (r.isWord(n.Left) || r.isWord(n.Right)) && !r.rungBeside(n) {
		r.equalWords(n, atom)
	} else {
		atom.Op, atom.Cmp = predicate.Compare, strings.Replace(n.Operator, "!=", "==", 1)
		atom.L, atom.R = r.pair(n)
	}
	if n.Operator == "!=" {
		atom.Text = r.slice(n.Left) + " == " + r.slice(n.Right)
	}
	if choices := atom.L.Choices() + atom.R.Choices(); choices > maxChoices {
		r.suggestAt(n, "make several rules of it", "a comparison chooses %d times; it may %d times", choices, maxChoices)
		return atom
	}
	whole := atom.Unchosen()
	if n.Operator == "!=" {
		return &predicate.Node{Op: predicate.Not, Kids: []*predicate.Node{whole}}
	}
	return whole
}

// comparable reports what no comparison makes sense of, before either side is read.
func (r *resolver) comparable(n *ast.BinaryNode) {
	equal := n.Operator == "==" || n.Operator == "!="
	left, right := r.kindOf(n.Left), r.kindOf(n.Right)
	at := n.Location().From
	switch {
	case equal && r.saysTrue(n, left):
	case equal && (r.bareWord(n.Left, n.Right) || r.bareWord(n.Right, n.Left)):
	case equal && (r.quotedNumber(n.Left, right) || r.quotedNumber(n.Right, left)):
	case r.deniedAlone(n, n.Left):
	case left == client.Bool || right == client.Bool:
		r.suggest(at, "write a, or not a; for two of them (a and b) or (not a and not b)", "a yes or no is not compared")
	case equal && (left == client.Number && right == client.Word || left == client.Word && right == client.Number) && !r.rungBeside(n):
		r.suggest(at, "a number stands without quotes, a word in quotes", "a number is compared with a word")
	case equal && left == client.Number && right == client.Number && (r.inexact(n.Left) || r.inexact(n.Right)):
		r.suggest(at, "compare with >= and <=", "numbers with a fraction are hardly ever equal")
	}
}

// saysTrue reports a yes or no that is compared with true or false, which says the same alone.
func (r *resolver) saysTrue(n *ast.BinaryNode, left client.Kind) bool {
	value, ok := n.Right.(*ast.BoolNode)
	_, path := n.Left.(*ast.MemberNode)
	if !ok || !path || left != client.Bool {
		return false
	}
	meant := r.slice(n.Left)
	if value.Value != (n.Operator == "==") {
		meant = "not " + meant
	}
	r.fix(n.Location().From, n, meant, "write "+Short(meant), "a yes or no is not compared")
	return true
}

// bareWord reports a word without quotes beside a path that can be it.
func (r *resolver) bareWord(n, beside ast.Node) bool {
	word := bare(n)
	if word == "" || r.kindOf(beside) != client.Word && r.kindOf(beside) != client.List || slices.Contains(r.roots, word) {
		return false
	}
	ref := r.lookup(pathName(beside))
	known := r.known(&predicate.Words{Ref: ref})
	if known != nil && !slices.Contains(known, word) {
		return false
	}
	if known == nil && r.lookup(word) != nil {
		return false
	}
	from, _ := r.extent(n)
	r.fix(from, n, "'"+word+"'", "write '"+Short(word)+"'", "a word stands without quotes")
	return true
}

// bare is a word as it stands without quotes: push-up is read as a difference.
func bare(n ast.Node) string {
	switch n := n.(type) {
	case *ast.IdentifierNode:
		return n.Value
	case *ast.BinaryNode:
		left, right := bare(n.Left), bare(n.Right)
		if n.Operator == "-" && left != "" && right != "" {
			return left + "-" + right
		}
	}
	return ""
}

// quotedNumber reports a number in quotes beside a number.
func (r *resolver) quotedNumber(n ast.Node, beside client.Kind) bool {
	text, ok := n.(*ast.StringNode)
	if !ok || beside != client.Number || !plain.MatchString(text.Value) {
		return false
	}
	r.fix(n.Location().From, n, text.Value, "write "+text.Value, "a number stands in quotes")
	return true
}

// deniedAlone reports not a > b and not a in b: not takes in no more than a, and must deny the whole.
func (r *resolver) deniedAlone(n *ast.BinaryNode, left ast.Node) bool {
	not, ok := left.(*ast.UnaryNode)
	if !ok || not.Operator != "not" && not.Operator != "!" || r.kindOf(not.Node) == client.Bool {
		return false
	}
	inner := r.slice(not.Node)
	_, to := r.extent(n)
	right, _ := r.extent(n.Right)
	rest := strings.TrimSpace(string([]rune(r.code)[min(right, to):to]))
	meant := fmt.Sprintf("not (%s %s %s)", inner, n.Operator, rest)
	if n.Operator == "in" {
		meant = fmt.Sprintf("%s not in %s", inner, rest)
	}
	from, _ := r.extent(not)
	r.fix(from, n, meant, "write "+Short(meant), "not takes in no more than %s", Short(inner))
	return true
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
func (r *resolver) equalWords(n *ast.BinaryNode, atom *predicate.Node) {
	a, b := r.words(n.Left), r.words(n.Right)
	r.agree(n.Left, a, b)
	r.agree(n.Right, b, a)
	r.notLists(n, a, b)
	atom.Op, atom.A, atom.B = predicate.Within, a, b
}

func (r *resolver) notLists(n *ast.BinaryNode, a, b *predicate.Words) {
	for _, w := range []*predicate.Words{a, b} {
		if w.Ref != nil && w.Ref.Kind == client.List {
			r.notList(n, w.Ref.Name)
			return
		}
	}
	if a.Ref != nil && b.Ref != nil && a.Ref.Root == predicate.OfFacts && b.Ref.Root == predicate.OfFacts {
		r.suggest(n.Location().From, "compare one with a word or with a tag of the drill", "two facts of the client are compared")
	}
}

// notList reports a list that is compared. Beside a word it must be meant that the word is in it.
func (r *resolver) notList(n *ast.BinaryNode, list string) {
	word, ok := n.Right.(*ast.StringNode)
	at, meant := n.Location().From, ""
	if in := map[string]string{"==": " in ", "!=": " not in "}[n.Operator]; ok && pathName(n.Left) == list {
		meant = "'" + word.Value + "'" + in + r.slice(n.Left)
	}
	if meant == "" {
		r.suggest(at, "write 'word' in "+list, "%s is a list; it can't be compared with %s", list, n.Operator)
		return
	}
	r.fix(at, n, meant, "write "+Short(meant), "%s is a list; it can't be compared with %s", list, n.Operator)
}

// within resolves "in": a word on its left, a list on its right.
func (r *resolver) within(n *ast.BinaryNode) *predicate.Node {
	if r.deniedAlone(n, n.Left) || r.bareWord(n.Left, n.Right) {
		return &predicate.Node{Op: predicate.Always}
	}
	a, b := r.words(n.Left), r.words(n.Right)
	_, quoted := n.Right.(*ast.StringNode)
	switch {
	case a.Ref != nil && a.Ref.Kind == client.List || a.Ref == nil && len(a.Literal) != 1 && !a.Element:
		r.suggestAt(n.Left, "write any("+Short(r.slice(n.Left))+", # in …)", "a list stands before in; in asks about one word")
	case quoted || b.Element || b.Ref != nil && b.Ref.Kind == client.Word:
		r.inWord(n)
	}
	r.agree(n.Left, a, b)
	if b.Ref == nil {
		r.agree(n.Right, b, a)
	}
	return &predicate.Node{Op: predicate.Within, A: a, B: b, Text: r.slice(n)}
}

// inWord reports in before a single word.
func (r *resolver) inWord(n *ast.BinaryNode) {
	at, _ := r.extent(n.Right)
	var fix *authored.Edit
	if operator := n.Location().From; r.word(operator, "in", "==") != nil {
		fix = r.word(operator, "in", "==")
	}
	r.report.Fix(r.at(at), fix, "compare two words with ==", "%s is a word, not a list", Short(r.slice(n.Right)))
}

// counted is count(list, …) >= k: the only way to compare a count, so that more can't make less.
func (r *resolver) counted(n *ast.BinaryNode, count *ast.BuiltinNode) *predicate.Node {
	if over := domain(count); over != "" {
		r.suggestAt(count, "count the members of a list of the client or the request", "count doesn't go over %s", over)
		return &predicate.Node{Op: predicate.Always}
	}
	k, ok := n.Right.(*ast.IntegerNode)
	if !ok || n.Operator != ">=" && n.Operator != ">" {
		r.suggest(n.Location().From, "write count(list, # in […]) >= 2", "a count is compared with >= and a whole number")
		return &predicate.Node{Op: predicate.Always}
	}
	atom := r.overList(count)
	if ref := atom.List.Ref; ref != nil && ref.Root != predicate.OfFacts {
		r.suggest(n.Location().From, "count the members of client.conditions or another list of them",
			"count goes over a list of the client or the request")
	}
	least := min(k.Value, maxNumber)
	if n.Operator == ">" {
		least++
	}
	atom.Least, atom.Text = int32(least), r.slice(n)
	switch most := len(r.known(atom.List)); {
	case least < 1:
		r.suggestAt(n.Right, "count to 1 or more", "there are always that many")
	case most > 0 && least > most:
		r.suggestAt(n.Right, fmt.Sprintf("the most is %d", most), "there are never that many")
	}
	return atom
}
