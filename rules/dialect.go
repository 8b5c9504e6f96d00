package rules

import (
	"slices"

	"github.com/expr-lang/expr/ast"
)

// Domains are what any and all may be unrolled over.
var Domains = []string{"motions", "regions", "stressors"}

// witness is the word by which a text names the member of a domain that made a rule hold.
var witness = map[string]string{"motions": "motion", "regions": "region", "stressors": "stressor"}

// allow is the first pass: it reports everything that the dialect doesn't have. It is a list of what may
// stand in a rule; everything else may not.
func (s *source) allow(n ast.Node) bool {
	before := s.report.Count()
	s.allowNode(n, 0)
	return s.report.Count() == before
}

func (s *source) allowNode(n ast.Node, predicates int) {
	from, _ := span(n)
	switch n := n.(type) {
	case *ast.IdentifierNode, *ast.IntegerNode, *ast.FloatNode, *ast.StringNode, *ast.BoolNode:
	case *ast.PointerNode:
		if n.Name != "" || predicates == 0 {
			s.add(from, "# stands for the member under any, all or count, and only there")
		}
	case *ast.UnaryNode:
		if !slices.Contains([]string{"not", "!", "-"}, n.Operator) {
			s.add(from, "%q is not in the rule language", n.Operator)
		}
	case *ast.BinaryNode:
		s.allowBinary(n)
	case *ast.MemberNode:
		s.allowMember(n)
	case *ast.ConditionalNode:
	case *ast.ArrayNode:
		for _, item := range n.Nodes {
			switch item.(type) {
			case *ast.StringNode, *ast.IntegerNode:
			default:
				s.suggest(from, "write ['a', 'b']", "a list holds words in quotes")
			}
		}
	case *ast.CallNode:
		if callee, ok := n.Callee.(*ast.IdentifierNode); !ok || callee.Value != "measured" || len(n.Arguments) != 1 {
			s.suggest(from, "functions: any, all, count, measured", "this function is not in the rule language")
		}
	case *ast.PredicateNode:
		predicates++
	case *ast.BuiltinNode:
		switch {
		case !slices.Contains([]string{"any", "all", "count"}, n.Name) || len(n.Arguments) != 2:
			s.suggest(from, "functions: any, all, count, measured", "%s is not in the rule language", n.Name)
			return
		case predicates > 0:
			s.add(from, "%s stands inside another any, all or count; they are not nested", n.Name)
		}
	default:
		s.add(from, "this is not in the rule language")
		return
	}
	for _, c := range children(n) {
		s.allowNode(c, predicates)
	}
}

func (s *source) allowBinary(n *ast.BinaryNode) {
	known := []string{"and", "&&", "or", "||", "==", "!=", "<", "<=", ">", ">=", "in", "+", "-", "*", "/"}
	if !slices.Contains(known, n.Operator) {
		suggestion := ""
		if n.Operator == "contains" {
			suggestion = "write 'word' in list"
		}
		s.suggest(n.Location().From, suggestion, "%q is not in the rule language", n.Operator)
	}
}

func (s *source) allowMember(n *ast.MemberNode) {
	if n.Optional || n.Method {
		s.add(n.Location().From, "?. is not in the rule language; every path is there")
	}
	switch n.Property.(type) {
	case *ast.StringNode, *ast.PointerNode, *ast.IdentifierNode:
	default:
		s.suggest(n.Location().From, "write the path with points, or [#] under any", "only # may stand in square brackets")
	}
}
