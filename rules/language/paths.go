package language

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

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

// path resolves a path and reports it when it is unknown, or its root isn't allowed here. Where one letter of it is
// wrong, what must be meant is resolved instead.
func (r *resolver) path(n ast.Node) *predicate.Ref {
	from, _ := span(n)
	name := pathName(n)
	root, rest, _ := strings.Cut(name, ".")
	switch {
	case name == "":
		r.suggest(from, "write it from its root with points: client.range.knee.flexion", "this is not a path")
		return nil
	case slices.Contains(r.roots, root):
	case slices.Contains(AllRoots, root):
		r.suggest(from, "here may stand: "+strings.Join(r.roots, ", "), "%s can't be read in this kind of rule", root)
		return nil
	default:
		sure := authored.Misspelt(root, r.roots)
		if sure == "" || rest == "" && r.lookup(sure) == nil {
			r.suggest(from, authored.DidYouMean(root, r.roots), "unknown path %q", Short(name))
			return nil
		}
		r.report.Fix(r.at(from), r.edit(from, from+utf8.RuneCountInString(root), sure), fmt.Sprintf("did you mean %q?", sure), "unknown path %q",
			Short(name))
		if name = sure; rest != "" {
			name += "." + rest
		}
	}
	if ref := r.lookup(name); ref != nil {
		return ref
	}
	return r.unknownPath(n, name)
}

var AllRoots = []string{"client", "drill", "lift", "request", "norm", "side", "dose"}

// unknownPath points at the first part of a path that doesn't exist, and says what there is at its level.
func (r *resolver) unknownPath(n ast.Node, name string) *predicate.Ref {
	known := r.names()
	parts := strings.Split(name, ".")
	for depth := range parts {
		here := below(known, strings.Join(parts[:depth], "."))
		if slices.Contains(here, parts[depth]) {
			continue
		}
		at := partOf(n, len(parts)-1-depth)
		message := fmt.Sprintf("unknown path %q: there is no %q", Short(name), Short(parts[depth]))
		if sure := authored.Misspelt(parts[depth], here); sure != "" {
			whole := strings.Join(slices.Concat(parts[:depth], []string{sure}, parts[depth+1:]), ".")
			if ref := r.lookup(whole); ref != nil {
				r.report.Fix(r.at(at), r.word(at, parts[depth], sure), "did you mean "+sure+"?", "%s", message)
				return ref
			}
		}
		r.suggest(at, r.thereIs(known, parts, depth, here), "%s", message)
		return nil
	}
	from, _ := span(n)
	r.suggest(from, fmt.Sprintf("go on with one of %s", few(below(known, name))), "%q is the beginning of a path, not a whole one", name)
	return nil
}

// thereIs says what a path could go on with: the nearest name; or where the name does stand, and what stands here.
func (r *resolver) thereIs(known, parts []string, depth int, here []string) string {
	if near := client.NearestPath(strings.Join(parts, "."), known); near != "" {
		return "did you mean " + near + "?"
	}
	var elsewhere []string
	if depth > 1 {
		for _, sibling := range below(known, strings.Join(parts[:depth-1], ".")) {
			if slices.Contains(below(known, strings.Join(parts[:depth-1], ".")+"."+sibling), parts[depth]) {
				elsewhere = append(elsewhere, sibling)
			}
		}
	}
	if len(elsewhere) > 0 {
		return fmt.Sprintf("%s belongs to %s; %s has %s", parts[depth], few(elsewhere), parts[depth-1], few(here))
	}
	switch {
	case len(here) == 0:
		return fmt.Sprintf("the path ends with %s", parts[depth-1])
	case len(here) <= mostNamed:
		return "there is " + few(here)
	}
	return ""
}

// mostNamed is how many names a suggestion lists.
const mostNamed = 12

func few(names []string) string {
	if len(names) > mostNamed {
		return strings.Join(names[:mostNamed], ", ") + ", …"
	}
	return strings.Join(names, ", ")
}

// below lists the parts that come next after the beginning of a path.
func below(known []string, beginning string) []string {
	if beginning != "" {
		beginning += "."
	}
	var next []string
	had := map[string]bool{}
	for _, k := range known {
		if rest, ok := strings.CutPrefix(k, beginning); ok {
			if part, _, _ := strings.Cut(rest, "."); !had[part] {
				had[part] = true
				next = append(next, part)
			}
		}
	}
	return next
}

// partOf is where a part of a path stands, counted from its last.
func partOf(n ast.Node, last int) int {
	for ; last > 0; last-- {
		m, ok := n.(*ast.MemberNode)
		if !ok {
			break
		}
		n = m.Node
	}
	if m, ok := n.(*ast.MemberNode); ok {
		return m.Property.Location().From
	}
	return n.Location().From
}

// word is the edit of a word of the expression; nil when it doesn't stand there as it is.
func (r *resolver) word(from int, word, by string) *authored.Edit {
	runes := []rune(r.code)
	to := from + utf8.RuneCountInString(word)
	if from < 0 || to > len(runes) || string(runes[from:to]) != word {
		return nil
	}
	return r.edit(from, to, by)
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
				names = append(names, root+"."+p.name)
			}
		}
	}
	if slices.Contains(r.roots, "dose") {
		names = append(names, "dose.seconds")
	}
	return names
}

// lookup finds the path of a name; nil when there is none.
func (s scope) lookup(name string) *predicate.Ref { return s.drill.refsOf(s.frame)[name] }

// refsOf are all paths by name. Every condition that reads one shares it.
func (t *Tags) refsOf(frame *client.Frame) map[string]*predicate.Ref {
	t.numbered.Do(func() {
		t.refs = map[string]*predicate.Ref{"dose.seconds": {Root: predicate.OfDose, Name: "dose.seconds", Kind: client.Number}}
		for i := range frame.Table.Paths {
			p := &frame.Table.Paths[i]
			t.refs[p.Name] = &predicate.Ref{Root: predicate.OfFacts, Name: p.Name, Kind: p.Kind, Slot: p.Slot, Path: p, Index: i,
				Region: rungRegion(p.Name, "client.rung.")}
		}
		for root, as := range map[string]predicate.Root{"drill.": predicate.OfDrill, "lift.": predicate.OfLift} {
			for _, p := range t.paths {
				t.refs[root+p.name] = &predicate.Ref{Root: as, Name: root + p.name, Kind: p.kind, Slot: p.slot, Region: p.region, Vocab: p.vocab}
			}
		}
	})
	return t.refs
}

func rungRegion(name, prefix string) string {
	if region, ok := strings.CutPrefix(name, prefix); ok {
		return region
	}
	return ""
}
