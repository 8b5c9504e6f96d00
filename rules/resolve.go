package rules

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// scope is what a condition may read: the frame's facts, the tags of drills, and the roots its effect allows.
type scope struct {
	frame *client.Frame
	drill *drillTable
	roots []string
}

// resolver is the pass that turns expr's tree into ours: any and all over a domain unrolled, every path
// looked up, every type agreed. It reports all unknown paths, not the first.
type resolver struct {
	scope
	*source
	element []string // the words that # may be, while under any, all or count over a list
	inside  bool
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

// condition resolves a node that must be true or false.
func (r *resolver) condition(n ast.Node) *condition.Node {
	from, _ := span(n)
	switch n := n.(type) {
	case *ast.BoolNode:
		always := &condition.Node{Op: condition.Always, Text: r.slice(n)}
		if !n.Value {
			return &condition.Node{Op: condition.Not, Kids: []*condition.Node{always}}
		}
		return always
	case *ast.UnaryNode:
		if n.Operator == "not" || n.Operator == "!" {
			return &condition.Node{Op: condition.Not, Kids: []*condition.Node{r.condition(n.Node)}}
		}
	case *ast.BinaryNode:
		switch n.Operator {
		case "and", "&&":
			return &condition.Node{Op: condition.And, Kids: []*condition.Node{r.condition(n.Left), r.condition(n.Right)}}
		case "or", "||":
			return &condition.Node{Op: condition.Or, Kids: []*condition.Node{r.condition(n.Left), r.condition(n.Right)}}
		case "==", "!=", "<", "<=", ">", ">=":
			return r.comparison(n)
		case "in":
			a, b := r.words(n.Left), r.words(n.Right)
			r.agree(n.Left, a, b)
			return &condition.Node{Op: condition.Within, A: a, B: b, Text: r.slice(n)}
		}
	case *ast.MemberNode, *ast.IdentifierNode:
		ref := r.path(n)
		if ref != nil && ref.Kind != client.Bool {
			r.suggest(from, "compare it, or ask whether a word is in it", "%s is a %s, not a yes or no", ref.Name, ref.Kind)
		}
		return &condition.Node{Op: condition.Is, Ref: ref, Text: r.slice(n)}
	case *ast.CallNode:
		return &condition.Node{Op: condition.Measured, Ref: r.path(n.Arguments[0]), Text: r.slice(n)}
	case *ast.BuiltinNode:
		return r.builtin(n)
	}
	r.suggest(from, "compare it with something", "%s is not a yes or no", r.slice(n))
	return &condition.Node{Op: condition.Always}
}

// builtin unrolls any and all over a domain, or builds an atom over a list.
func (r *resolver) builtin(n *ast.BuiltinNode) *condition.Node {
	from, _ := span(n)
	over := domain(n)
	if over == "" {
		return r.overList(n)
	}
	if n.Name == "count" {
		r.suggest(from, "count the members of a list of the client or the request", "count doesn't go over %s", over)
		return &condition.Node{Op: condition.Always}
	}
	joined := &condition.Node{Op: condition.Or, Domain: over, Text: r.slice(n)}
	if n.Name == "all" {
		joined.Op = condition.And
	}
	for _, id := range r.members(over) {
		before := r.report.Count()
		joined.Kids = append(joined.Kids, r.condition(splice(body(n), "#", id)))
		joined.Witnesses = append(joined.Witnesses, id)
		if r.report.Count() > before {
			return joined // a mistake in the body is reported once
		}
	}
	return joined
}

// overList builds any, all or count over a list of a drill, the client or the request.
func (r *resolver) overList(n *ast.BuiltinNode) *condition.Node {
	from, _ := span(n)
	list := r.words(n.Arguments[0])
	if list.Ref != nil && list.Ref.Kind != client.List || list.Ref == nil && list.Literal == nil {
		r.suggest(from, "use motions, regions, stressors, or a list", "%s goes over a list", n.Name)
	}
	had, inside := r.element, r.inside
	r.element, r.inside = r.known(list), true
	atom := &condition.Node{Op: condition.Has, Quant: n.Name, List: list, Body: r.condition(body(n)), Least: 1, Text: r.slice(n)}
	r.element, r.inside = had, inside
	return atom
}

func (r *resolver) comparison(n *ast.BinaryNode) *condition.Node {
	if count, ok := n.Left.(*ast.BuiltinNode); ok && count.Name == "count" {
		return r.counted(n, count)
	}
	equal := n.Operator == "==" || n.Operator == "!="
	var atom *condition.Node
	if equal && (r.isWord(n.Left) || r.isWord(n.Right)) && !r.rungBeside(n) {
		a, b := r.words(n.Left), r.words(n.Right)
		r.agree(n.Left, a, b)
		r.agree(n.Right, b, a)
		r.notLists(n, a, b)
		atom = &condition.Node{Op: condition.Within, A: a, B: b, Text: r.slice(n)}
	} else {
		left, right := r.pair(n)
		atom = &condition.Node{Op: condition.Compare, Cmp: strings.Replace(n.Operator, "!=", "==", 1), L: left, R: right, Text: r.slice(n)}
	}
	if n.Operator == "!=" {
		return &condition.Node{Op: condition.Not, Kids: []*condition.Node{atom}, Text: atom.Text}
	}
	return atom
}

// counted is count(list, …) >= k: the only way to compare a count, so that more can't make less.
func (r *resolver) counted(n *ast.BinaryNode, count *ast.BuiltinNode) *condition.Node {
	k, ok := n.Right.(*ast.IntegerNode)
	if !ok || n.Operator != ">=" && n.Operator != ">" || domain(count) != "" {
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
	return atom
}

func (r *resolver) notLists(n *ast.BinaryNode, sides ...*condition.Words) {
	for _, w := range sides {
		if w.Ref != nil && w.Ref.Kind == client.List {
			r.suggest(n.Location().From, "write 'word' in "+w.Ref.Name, "%s is a list; it can't be compared with %s", w.Ref.Name, n.Operator)
		}
	}
	if len(sides) == 2 && sides[0].Ref != nil && sides[1].Ref != nil && sides[0].Ref.Root == condition.OfFacts && sides[1].Ref.Root == condition.OfFacts {
		r.add(n.Location().From, "two facts of the client are compared; compare one with a word or with a tag of the drill")
	}
}

// isWord is true for a text in quotes, a word path, and # over a list.
func (r *resolver) isWord(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.StringNode:
		return true
	case *ast.PointerNode:
		return r.inside
	case *ast.MemberNode, *ast.IdentifierNode:
		ref := r.lookup(pathName(n))
		return ref != nil && (ref.Kind == client.Word || ref.Kind == client.List)
	}
	return false
}

// agree reports a quoted word that the other side can never be.
func (r *resolver) agree(n ast.Node, word, other *condition.Words) {
	known := r.known(other)
	if word.Literal == nil || known == nil || other.Literal != nil {
		return
	}
	from, _ := span(n)
	for _, w := range word.Literal {
		if !slices.Contains(known, w) {
			r.suggest(from, catalog.DidYouMean(w, known), "%s is never %q", r.describe(other), w)
		}
	}
}

func (r *resolver) describe(w *condition.Words) string {
	if w.Ref != nil {
		return w.Ref.Name
	}
	return "a member of this list"
}

// known lists what words can be; nil when they can be anything.
func (r *resolver) known(w *condition.Words) []string {
	switch {
	case w.Element:
		return r.element
	case w.Ref == nil:
		return w.Literal
	case w.Ref.Path != nil:
		return w.Ref.Path.Words
	case w.Ref.Root == condition.OfDrill || w.Ref.Root == condition.OfLift:
		name := w.Ref.Name[strings.IndexByte(w.Ref.Name, '.')+1:]
		return r.drill.paths[r.drill.byName[name]].Words
	}
	return nil
}

// words resolves a list, a word path, a quoted word, or #.
func (r *resolver) words(n ast.Node) *condition.Words {
	from, _ := span(n)
	switch n := n.(type) {
	case *ast.StringNode:
		return &condition.Words{Literal: []string{n.Value}}
	case *ast.PointerNode:
		return &condition.Words{Element: true}
	case *ast.ArrayNode:
		w := &condition.Words{Literal: []string{}}
		for _, item := range n.Nodes {
			if text, ok := item.(*ast.StringNode); ok {
				w.Literal = append(w.Literal, text.Value)
			}
		}
		return w
	case *ast.MemberNode, *ast.IdentifierNode:
		ref := r.path(n)
		if ref != nil && ref.Kind != client.Word && ref.Kind != client.List {
			r.add(from, "%s is a %s, not a word or a list", ref.Name, ref.Kind)
		}
		if ref == nil {
			return &condition.Words{Literal: []string{}}
		}
		return &condition.Words{Ref: ref}
	}
	r.suggest(from, "write 'word' in a list", "%s is not a word or a list", r.slice(n))
	return &condition.Words{Literal: []string{}}
}

// pathName writes a chain of members as one path; "" when it isn't a plain chain.
func pathName(n ast.Node) string {
	switch n := n.(type) {
	case *ast.IdentifierNode:
		return n.Value
	case *ast.MemberNode:
		property, ok := n.Property.(*ast.StringNode)
		base := pathName(n.Node)
		if !ok || base == "" {
			return ""
		}
		return base + "." + property.Value
	}
	return ""
}

// path resolves a path and reports it when it is unknown, or its root isn't allowed here.
func (r *resolver) path(n ast.Node) *condition.Ref {
	from, to := span(n)
	name := pathName(n)
	root, _, _ := strings.Cut(name, ".")
	switch {
	case name == "":
		r.add(from, "this is not a path")
		return nil
	case !slices.Contains(r.roots, root):
		if slices.Contains(allRoots, root) {
			r.suggest(from, "here may stand: "+strings.Join(r.roots, ", "), "%s can't be read in this kind of rule", root)
		} else {
			r.suggest(from, catalog.DidYouMean(root, r.roots), "unknown path %q", name)
		}
		return nil
	}
	ref := r.lookup(name)
	if ref == nil {
		r.unknownPath(name, from, to)
	}
	return ref
}

var allRoots = []string{"client", "drill", "lift", "request", "norm", "side", "dose"}

// unknownPath points at the first part of the path that doesn't exist.
func (r *resolver) unknownPath(name string, from, to int) {
	known := r.names()
	parts := strings.Split(name, ".")
	for depth := range parts {
		prefix := strings.Join(parts[:depth+1], ".")
		if slices.ContainsFunc(known, func(k string) bool { return k == prefix || strings.HasPrefix(k, prefix+".") }) {
			continue
		}
		offset := from
		if runes := []rune(r.code); to <= len(runes) {
			if i := strings.LastIndex(string(runes[from:to]), parts[depth]); i >= 0 {
				offset += i
			}
		}
		near := client.NearestPath(name, known)
		suggestion := ""
		if near != "" {
			suggestion = "did you mean " + near + "?"
		}
		r.suggest(offset, suggestion, "unknown path %q: there is no %q", name, parts[depth])
		return
	}
	r.add(from, "%q is the beginning of a path, not a whole one", name)
}

// names lists every path that may stand here.
func (r *resolver) names() []string {
	var names []string
	for _, n := range r.frame.Table.Names() {
		if root, _, _ := strings.Cut(n, "."); slices.Contains(r.roots, root) {
			names = append(names, n)
		}
	}
	for _, root := range []string{"drill", "lift"} {
		if slices.Contains(r.roots, root) {
			for _, p := range r.drill.paths {
				names = append(names, root+"."+p.Name)
			}
		}
	}
	if slices.Contains(r.roots, "dose") {
		names = append(names, "dose.seconds")
	}
	return names
}

func (s scope) lookup(name string) *condition.Ref {
	if p := s.frame.Table.Path(name); p != nil {
		return &condition.Ref{Root: condition.OfFacts, Name: name, Kind: p.Kind, Slot: p.Slot, Path: p, Index: s.frame.Table.Index(p), Region: rungRegion(name, "client.rung.")}
	}
	if name == "dose.seconds" {
		return &condition.Ref{Root: condition.OfDose, Name: name, Kind: client.Number}
	}
	for root, as := range map[string]condition.Root{"drill.": condition.OfDrill, "lift.": condition.OfLift} {
		if rest, ok := strings.CutPrefix(name, root); ok {
			if i, ok := s.drill.byName[rest]; ok {
				p := s.drill.paths[i]
				return &condition.Ref{Root: as, Name: name, Kind: p.Kind, Slot: p.Slot, Region: p.Region, Vocab: p.Vocab}
			}
		}
	}
	return nil
}

func rungRegion(name, prefix string) string {
	if region, ok := strings.CutPrefix(name, prefix); ok {
		return region
	}
	return ""
}
