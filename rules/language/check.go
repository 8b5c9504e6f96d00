package language

import (
	"errors"
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/checker"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/types"

	"drillwright/rules/client"
)

// typesOf lays the paths of the given roots out as nested types for expr's checker.
func (s scope) typesOf() types.Map {
	top := types.Map{}
	put := func(name string, kind client.Kind) {
		parts := strings.Split(name, ".")
		at := top
		for _, p := range parts[:len(parts)-1] {
			next, ok := at[p].(types.Map)
			if !ok {
				next = types.Map{}
				at[p] = next
			}
			at = next
		}
		at[parts[len(parts)-1]] = typeOf(kind)
	}
	for _, p := range s.frame.Table.Paths {
		put(p.Name, p.Kind)
	}
	for _, p := range s.drill.paths {
		put("drill."+p.name, p.kind)
		put("lift."+p.name, p.kind)
	}
	put("dose.seconds", client.Number)
	return top
}

func typeOf(k client.Kind) types.Type {
	switch k {
	case client.Number:
		return types.Float
	case client.Bool:
		return types.Bool
	case client.Word:
		return types.String
	default:
		return types.Array(types.String)
	}
}

// typeCheck is the last pass: expr's own checker over the unrolled tree. The resolver has agreed on the types
// already; this holds the two against each other, so that what we compile is what expr would run. Should expr see a
// mistake that the resolver doesn't, its own words would say nothing to an author.
func (r *resolver) typeCheck(n ast.Node, config *conf.Config) {
	_, err := checker.Check(tree(r.unrolled(n), r.code), config)
	var at *file.Error
	if errors.As(err, &at) {
		r.add(at.From, "the parts don't fit together here")
	}
}

// unrolled copies a tree with any and all over a domain written out, rungs as their places and measured(…) as a yes or no.
func (r *resolver) unrolled(n ast.Node) ast.Node {
	switch n := n.(type) {
	case *ast.UnaryNode:
		return located(&ast.UnaryNode{Operator: n.Operator, Node: r.unrolled(n.Node)}, n)
	case *ast.BinaryNode:
		if r.rungBeside(n) {
			return located(&ast.BinaryNode{Operator: n.Operator, Left: place(n.Left), Right: place(n.Right)}, n)
		}
		return located(&ast.BinaryNode{Operator: n.Operator, Left: r.unrolled(n.Left), Right: r.unrolled(n.Right)}, n)
	case *ast.ConditionalNode:
		return located(&ast.ConditionalNode{Cond: r.unrolled(n.Cond), Exp1: r.unrolled(n.Exp1), Exp2: r.unrolled(n.Exp2)}, n)
	case *ast.CallNode:
		return located(&ast.BoolNode{Value: true}, n)
	case *ast.BuiltinNode:
		over := domain(n)
		if over == "" {
			return n
		}
		operator := map[string]string{"any": "or", "all": "and"}[n.Name]
		var joined ast.Node
		for _, id := range slices.Backward(r.members(over)) {
			one := r.unrolled(splice(body(n), "#", id))
			if joined == nil {
				joined = one
			} else {
				joined = located(&ast.BinaryNode{Operator: operator, Left: one, Right: joined}, n)
			}
		}
		return joined
	default:
		return n
	}
}

// place stands for a quoted rung.
func place(n ast.Node) ast.Node {
	if _, ok := n.(*ast.StringNode); ok {
		return located(&ast.IntegerNode{}, n)
	}
	return n
}
