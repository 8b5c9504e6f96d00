package language

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

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
func (r *resolver) agree(n ast.Node, word, other *predicate.Words) {
	known := r.known(other)
	if word.Literal == nil || known == nil || other.Literal != nil {
		return
	}
	for i, w := range word.Literal {
		if slices.Contains(known, w) {
			continue
		}
		at := item(n, i).Location().From
		var fix *authored.Edit
		if sure := authored.Misspelt(w, known); sure != "" {
			fix = r.word(at+1, w, sure)
		}
		r.report.Fix(r.at(at), fix, authored.DidYouMean(w, known), "%s is never %q", r.describe(other), Short(w))
	}
}

// item is a word of a list written out, or the word itself.
func item(n ast.Node, i int) ast.Node {
	if list, ok := n.(*ast.ArrayNode); ok && i < len(list.Nodes) {
		return list.Nodes[i]
	}
	return n
}

func (r *resolver) describe(w *predicate.Words) string {
	if w.Ref != nil {
		return w.Ref.Name
	}
	return "a member of this list"
}

// known lists what words can be; nil when they can be anything.
func (r *resolver) known(w *predicate.Words) []string {
	switch {
	case w.Element:
		return r.element
	case w.Ref == nil && len(w.Literal) == 0: // a list that couldn't be read
		return nil
	case w.Ref == nil:
		return w.Literal
	case w.Ref.Path != nil:
		return w.Ref.Path.Words
	case w.Ref.Root == predicate.OfDrill || w.Ref.Root == predicate.OfLift:
		name := w.Ref.Name[strings.IndexByte(w.Ref.Name, '.')+1:]
		return r.drill.paths[r.drill.byName[name]].known
	}
	return nil
}

// words resolves a list, a word path, a quoted word, or #.
func (r *resolver) words(n ast.Node) *predicate.Words {
	r.grow(n)
	none := &predicate.Words{Literal: []string{}}
	switch n := n.(type) {
	case *ast.StringNode:
		return &predicate.Words{Literal: []string{n.Value}}
	case *ast.PointerNode:
		return &predicate.Words{Element: true}
	case *ast.ArrayNode:
		for _, item := range n.Nodes {
			if text, ok := item.(*ast.StringNode); ok {
				none.Literal = append(none.Literal, text.Value)
			}
		}
		return none
	case *ast.MemberNode, *ast.IdentifierNode:
		ref := r.path(n)
		if ref != nil && ref.Kind != client.Word && ref.Kind != client.List {
			r.suggestAt(n, "compare it with a number, or leave the comparison out", "%s is a %s, not a word or a list", ref.Name, ref.Kind)
		}
		if ref == nil {
			return none
		}
		return &predicate.Words{Ref: ref}
	}
	r.suggestAt(n, "write 'word' in a list", "%s is not a word or a list", Short(r.slice(n)))
	return none
}
