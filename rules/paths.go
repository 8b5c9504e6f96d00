package rules

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/condition"
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

// path resolves a path and reports it when it is unknown, or its root isn't allowed here.
func (r *resolver) path(n ast.Node) *condition.Ref {
	from, to := span(n)
	name := pathName(n)
	root, _, _ := strings.Cut(name, ".")
	switch {
	case name == "":
		r.suggest(from, "write it from its root with points: client.range.knee.flexion", "this is not a path")
		return nil
	case !slices.Contains(r.roots, root):
		if slices.Contains(allRoots, root) {
			r.suggest(from, "here may stand: "+strings.Join(r.roots, ", "), "%s can't be read in this kind of rule", root)
		} else {
			r.suggest(from, catalog.DidYouMean(root, r.roots), "unknown path %q", short(name))
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
		r.suggest(offset, suggestion, "unknown path %q: there is no %q", short(name), short(parts[depth]))
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

// lookup finds the path of a name; nil when there is none.
func (s scope) lookup(name string) *condition.Ref { return s.drill.refsOf(s.frame)[name] }

// refsOf are all paths by name. Every condition that reads one shares it.
func (t *drillTable) refsOf(frame *client.Frame) map[string]*condition.Ref {
	t.numbered.Do(func() {
		t.refs = map[string]*condition.Ref{"dose.seconds": {Root: condition.OfDose, Name: "dose.seconds", Kind: client.Number}}
		for i := range frame.Table.Paths {
			p := &frame.Table.Paths[i]
			t.refs[p.Name] = &condition.Ref{Root: condition.OfFacts, Name: p.Name, Kind: p.Kind, Slot: p.Slot, Path: p, Index: i, Region: rungRegion(p.Name, "client.rung.")}
		}
		for root, as := range map[string]condition.Root{"drill.": condition.OfDrill, "lift.": condition.OfLift} {
			for _, p := range t.paths {
				t.refs[root+p.Name] = &condition.Ref{Root: as, Name: root + p.Name, Kind: p.Kind, Slot: p.Slot, Region: p.Region, Vocab: p.Vocab}
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
