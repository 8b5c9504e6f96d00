package language

import (
	"github.com/expr-lang/expr/ast"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// scope is what a condition may read: the frame's facts, the tags of drills, and the roots its effect allows.
type scope struct {
	frame *client.Frame
	drill *Tags
	roots []string
}

// resolver is the pass that turns expr's tree into ours: any and all over a domain unrolled, every path
// looked up, every type agreed. It reports all unknown paths, not the first.
type resolver struct {
	scope
	*source
	element []string // the words that # may be, while under any, all or count over a list
	inside  bool
	parts   int    // how much has been made so far
	witness string // in a text: the word by which it names the member of the rule's any
	lenient bool   // in a text: when couldn't be read, so nobody knows what it names
}

// members lists a domain in the order of the vocabulary.
func (s scope) members(domain string) []string {
	v := s.frame.Vocabulary
	switch domain {
	case "regions":
		return v.IDs("region")
	case "stressors":
		return v.IDs("stressor")
	}
	var ids []string
	for _, m := range v.Motions {
		if m.HasRange() {
			ids = append(ids, m.ID)
		}
	}
	return ids
}

// predicate resolves a node that must be true or false.
func (r *resolver) predicate(n ast.Node) *predicate.Node {
	r.grow(n)
	switch n := n.(type) {
	case *ast.BoolNode:
		always := &predicate.Node{Op: predicate.Always, Text: r.slice(n)}
		if !n.Value {
			return &predicate.Node{Op: predicate.Not, Kids: []*predicate.Node{always}}
		}
		return always
	case *ast.UnaryNode:
		if n.Operator == "not" || n.Operator == "!" {
			return &predicate.Node{Op: predicate.Not, Kids: []*predicate.Node{r.predicate(n.Node)}}
		}
	case *ast.BinaryNode:
		switch n.Operator {
		case "and", "&&":
			return &predicate.Node{Op: predicate.And, Kids: []*predicate.Node{r.predicate(n.Left), r.predicate(n.Right)}}
		case "or", "||":
			return &predicate.Node{Op: predicate.Or, Kids: []*predicate.Node{r.predicate(n.Left), r.predicate(n.Right)}}
		case "==", "!=", "<", "<=", ">", ">=":
			return r.comparison(n)
		case "in":
			return r.within(n)
		}
	case *ast.ConditionalNode:
		r.suggestAt(n, "write a and b or not a and c", "? : chooses between numbers, not between yes and no")
		return &predicate.Node{Op: predicate.Always}
	case *ast.MemberNode, *ast.IdentifierNode:
		ref := r.path(n)
		if ref != nil && ref.Kind != client.Bool {
			r.suggestAt(n, "compare it, or ask whether a word is in it", "%s is a %s, not a yes or no", ref.Name, ref.Kind)
		}
		return &predicate.Node{Op: predicate.Is, Ref: ref, Text: r.slice(n)}
	case *ast.CallNode:
		return r.measured(n)
	case *ast.BuiltinNode:
		return r.builtin(n)
	}
	r.suggestAt(n, "compare it with something", "%s is not a yes or no", Short(r.slice(n)))
	return &predicate.Node{Op: predicate.Always}
}

// measured asks for a valid measurement: of the client, and of what can be measured.
func (r *resolver) measured(n *ast.CallNode) *predicate.Node {
	ref := r.path(n.Arguments[0])
	if ref != nil && (ref.Path == nil || ref.Kind == client.Bool || ref.Kind == client.List) {
		r.suggestAt(n.Arguments[0], "name a measure of the client, as client.range.knee.flexion", "%s is not measured", ref.Name)
	}
	return &predicate.Node{Op: predicate.Measured, Ref: ref, Text: r.slice(n)}
}

// builtin unrolls any and all over a domain, or builds an atom over a list.
func (r *resolver) builtin(n *ast.BuiltinNode) *predicate.Node {
	over := domain(n)
	switch {
	case n.Name == "count":
		r.suggestAt(n, "write count(list, # in […]) >= 2", "a count is a number, not a yes or no")
		return &predicate.Node{Op: predicate.Always}
	case over == "":
		return r.overList(n)
	}
	joined := &predicate.Node{Op: predicate.Or, Domain: over, Text: r.slice(n)}
	if n.Name == "all" {
		joined.Op = predicate.And
	}
	for _, id := range r.members(over) {
		before := r.report.Count()
		joined.Kids = append(joined.Kids, r.predicate(splice(body(n), "#", id)))
		joined.Witnesses = append(joined.Witnesses, id)
		if r.report.Count() > before || r.parts > maxParts {
			return joined // a mistake in the body is reported once
		}
	}
	return joined
}

// overList builds any, all or count over a list of a drill, the client or the request.
func (r *resolver) overList(n *ast.BuiltinNode) *predicate.Node {
	list := r.words(n.Arguments[0])
	if list.Ref != nil && list.Ref.Kind != client.List || list.Ref == nil && list.Literal == nil {
		r.suggestAt(n, "use motions, regions, stressors, or a list", "%s goes over a list", n.Name)
	}
	had, inside := r.element, r.inside
	r.element, r.inside = r.known(list), true
	atom := &predicate.Node{Op: predicate.Has, Quant: n.Name, List: list, Body: r.predicate(body(n)), Least: 1, Text: r.slice(n)}
	r.element, r.inside = had, inside
	return atom
}
