package language

import (
	"strconv"
	"strings"

	"github.com/expr-lang/expr/ast"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// rungBeside is true when one side of a comparison is a rung and the other a rung's id in quotes.
func (r *resolver) rungBeside(n *ast.BinaryNode) bool {
	return r.rungOf(n.Left) != "" || r.rungOf(n.Right) != ""
}

func (r *resolver) rungOf(n ast.Node) string {
	if ref := r.lookup(pathName(n)); ref != nil {
		return ref.Region
	}
	return ""
}

// pair resolves both sides of a comparison of numbers; a quoted rung becomes its index on the ladder beside it.
func (r *resolver) pair(n *ast.BinaryNode) (left, right *predicate.Num) {
	if text, ok := n.Right.(*ast.StringNode); ok && r.rungOf(n.Left) != "" {
		return r.number(n.Left), r.rung(text, r.rungOf(n.Left))
	}
	if text, ok := n.Left.(*ast.StringNode); ok && r.rungOf(n.Right) != "" {
		return r.rung(text, r.rungOf(n.Right)), r.number(n.Right)
	}
	left, right = r.number(n.Left), r.number(n.Right)
	r.bounded(n.Left, left)
	r.bounded(n.Right, right)
	return left, right
}

func (r *resolver) rung(text *ast.StringNode, region string) *predicate.Num {
	ladder := r.frame.Ladder(region)
	index := ladder.Index(text.Value)
	if index < 0 {
		r.report.Unknown(r.at(text.Location().From), "rung of "+region, text.Value, ladder.Rungs)
	}
	return &predicate.Num{Op: predicate.Const, K: float64(index)}
}

// number resolves a number. Products and quotients of two facts are refused: they are not monotone.
func (r *resolver) number(n ast.Node) *predicate.Num {
	r.grow(n)
	switch n := n.(type) {
	case *ast.IntegerNode:
		return &predicate.Num{Op: predicate.Const, K: float64(n.Value)}
	case *ast.FloatNode:
		return &predicate.Num{Op: predicate.Const, K: n.Value}
	case *ast.UnaryNode:
		if n.Operator == "-" {
			inner := r.number(n.Node)
			if inner.Op == predicate.Const {
				return &predicate.Num{Op: predicate.Const, K: -inner.K}
			}
			return &predicate.Num{Op: predicate.Neg, L: inner}
		}
		r.suggestAt(n, "put what it denies in brackets: not (a > b)", "not takes in no more than %s", Short(r.slice(n.Node)))
		return &predicate.Num{Op: predicate.Const}
	case *ast.BinaryNode:
		return r.arithmetic(n)
	case *ast.ConditionalNode:
		return &predicate.Num{Op: predicate.Choose, Cond: r.predicate(n.Cond), L: r.number(n.Exp1), R: r.number(n.Exp2)}
	case *ast.MemberNode, *ast.IdentifierNode:
		ref := r.path(n)
		if ref == nil {
			return &predicate.Num{Op: predicate.Const}
		}
		if ref.Kind != client.Number {
			r.suggestAt(n, kindHelp[ref.Kind], "%s is a %s, not a number", ref.Name, ref.Kind)
		}
		return &predicate.Num{Op: predicate.Value, Ref: ref}
	case *ast.StringNode:
		if plain.MatchString(n.Value) {
			r.quotedNumber(n, client.Number)
		} else {
			r.suggestAt(n, "compare words with == or in", "%q is a word where a number is needed", Short(n.Value))
		}
		return &predicate.Num{Op: predicate.Const}
	case *ast.BuiltinNode:
		if n.Name == "count" {
			r.suggestAt(n, "write count(list, # in […]) >= 2", "a count stands first, and is compared with >= and a whole number")
			return &predicate.Num{Op: predicate.Const}
		}
	}
	r.suggestAt(n, "write a path or a number", "%s is not a number", Short(r.slice(n)))
	return &predicate.Num{Op: predicate.Const}
}

// kindHelp is what to do with a path that isn't a number.
var kindHelp = map[client.Kind]string{
	client.Word: "compare it with == 'word', or ask whether it is in ['a', 'b']",
	client.List: "ask whether a word is in it: 'word' in list",
	client.Bool: "it stands alone, or behind not",
}

func (r *resolver) arithmetic(n *ast.BinaryNode) *predicate.Num {
	left, right := r.number(n.Left), r.number(n.Right)
	at := n.Location().From
	switch n.Operator {
	case "+":
		return &predicate.Num{Op: predicate.Add, L: left, R: right}
	case "-":
		return &predicate.Num{Op: predicate.Sub, L: left, R: right}
	case "*":
		if right.Op != predicate.Const {
			left, right = right, left
		}
		if right.Op != predicate.Const {
			r.suggest(at, "multiply by a number written out", "two facts are multiplied")
		}
		return fold(&predicate.Num{Op: predicate.Mul, L: left, K: right.K})
	case "/":
		switch {
		case right.Op != predicate.Const:
			r.suggest(at, "divide by a number written out", "a fact divides")
		case right.K == 0:
			r.suggest(at, "divide by another number", "a division by zero")
		default:
			return fold(&predicate.Num{Op: predicate.Mul, L: left, K: 1 / right.K})
		}
		return &predicate.Num{Op: predicate.Const}
	}
	r.suggest(at, "leave it out, or put it in a condition", "%q doesn't make a number", n.Operator)
	return &predicate.Num{Op: predicate.Const}
}

func fold(m *predicate.Num) *predicate.Num {
	if m.L.Op == predicate.Const {
		return &predicate.Num{Op: predicate.Const, K: m.L.K * m.K}
	}
	return m
}

// plainNumber reads a number that stands without quotes.
func plainNumber(s string) (float64, bool) {
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil && plain.MatchString(strings.TrimPrefix(s, "-")) && abs(f) <= maxNumber
}
