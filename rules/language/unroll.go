package language

import (
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/parser"
)

// splice copies a node with the member id put where the sign stands between square brackets: # in a rule,
// the witness word (motion, region, stressor) in a text. A member with a point becomes two steps of the path.
func splice(n ast.Node, word, id string) ast.Node {
	switch n := n.(type) {
	case *ast.MemberNode:
		base := splice(n.Node, word, id)
		if !isSign(n.Property, word) {
			return located(&ast.MemberNode{Node: base, Property: n.Property}, n)
		}
		for _, part := range strings.Split(id, ".") {
			step := located(&ast.StringNode{Value: part}, n.Property)
			base = located(&ast.MemberNode{Node: base, Property: step}, n)
		}
		return base
	case *ast.PointerNode:
		return located(&ast.StringNode{Value: id}, n)
	case *ast.UnaryNode:
		return located(&ast.UnaryNode{Operator: n.Operator, Node: splice(n.Node, word, id)}, n)
	case *ast.BinaryNode:
		return located(&ast.BinaryNode{Operator: n.Operator, Left: splice(n.Left, word, id), Right: splice(n.Right, word, id)}, n)
	case *ast.ConditionalNode:
		return located(&ast.ConditionalNode{Ternary: n.Ternary, Cond: splice(n.Cond, word, id), Exp1: splice(n.Exp1, word, id),
			Exp2: splice(n.Exp2, word, id)}, n)
	case *ast.CallNode:
		call := &ast.CallNode{Callee: n.Callee}
		for _, a := range n.Arguments {
			call.Arguments = append(call.Arguments, splice(a, word, id))
		}
		return located(call, n)
	default:
		return n
	}
}

func isSign(n ast.Node, word string) bool {
	switch n := n.(type) {
	case *ast.PointerNode:
		return word == "#"
	case *ast.IdentifierNode:
		return n.Value == word
	}
	return false
}

func located(n, like ast.Node) ast.Node {
	n.SetLocation(like.Location())
	return n
}

// domain is the domain that an any or all is unrolled over; "" when it ranges over a list.
func domain(n *ast.BuiltinNode) string {
	if id, ok := n.Arguments[0].(*ast.IdentifierNode); ok && witness[id.Value] != "" {
		return id.Value
	}
	return ""
}

// body is what stands under any, all or count.
func body(n *ast.BuiltinNode) ast.Node {
	if p, ok := n.Arguments[1].(*ast.PredicateNode); ok {
		return p.Node
	}
	return n.Arguments[1]
}

// tree wraps a node for the checker.
func tree(n ast.Node, code string) *parser.Tree {
	t, err := parser.Parse("true")
	if err != nil {
		panic(err)
	}
	t.Node = n
	return t
}
