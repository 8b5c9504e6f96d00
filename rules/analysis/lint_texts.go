package analysis

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/predicate"
)

// texts looks for what can be told from the rules as they stand: rules on strength, holds and tests that no rung guards,
// sources from memory that don't say what is unsure, ids in the catalogue that no source has. Divisions by a fact or by 0,
// and equality of fractions, no book has: the reader refuses them.
func (l *linter) texts() {
	for _, r := range slices.Concat(l.e.Book.Rules, l.e.Book.Doses, l.e.Book.Advices) {
		if l.free.Abandoned() {
			return
		}
		f := Finding{At: r.WhenAt(0), Rules: []string{r.ID}}
		if path := unguarded(r.When, false); path != "" && (r.Tightens() || r.Effect == rules.Adjust || r.Points < 0) {
			f.Kind, f.Message = unguardedPath,
				fmt.Sprintf("%s reads %s, which is never presumed: ask for a rung below the top, or that the region is in question, beside it; else "+
					"every client who wasn't measured meets it", r.ID, path)
			l.find(f)
		}
		if r.Source.Kind == "memory" && !r.Source.Unsure() {
			f.At, f.Kind, f.Message = r.Source.At, missingSource, fmt.Sprintf("%s is from memory, and its note doesn't say what is unsure", r.ID)
			if f.At.Line == 0 {
				f.At = r.At
			}
			l.find(f)
		}
	}
	rules.EachCitation(l.e.Catalogue, func(c authored.Text, by string) {
		if rules.LikeID.MatchString(c.Value) && l.e.Book.Source(c.Value) == nil {
			l.find(Finding{Kind: missingSource, At: c.At, Message: fmt.Sprintf("%s cites %q, which no entry of sources has for an id", by, c.Value)})
		}
	})
}

// unguarded is a path that is never presumed and stands beside no condition on a rung; "" when there is none.
func unguarded(n *predicate.Node, guarded bool) string {
	switch n.Op {
	case predicate.And:
		guarded = guarded || slices.ContainsFunc(n.Kids, func(k *predicate.Node) bool {
			return k.Reads(func(r *predicate.Ref) bool {
				return strings.HasPrefix(r.Name, "client.rung.") || strings.HasPrefix(r.Name, "client.in_question.")
			})
		})
		fallthrough
	case predicate.Or, predicate.Not:
		for _, k := range n.Kids {
			if path := unguarded(k, guarded); path != "" {
				return path
			}
		}
		return ""
	case predicate.Measured:
		return ""
	}
	path := ""
	n.OwnRefs(func(r *predicate.Ref) {
		for _, prefix := range []string{"client.strength.", "client.hold.", "client.best.", "client.gap.strength.", "client.gap.hold."} {
			if !guarded && path == "" && strings.HasPrefix(r.Name, prefix) {
				path = r.Name
			}
		}
	})
	return path
}
