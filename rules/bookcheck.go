package rules

import (
	"drillwright/catalog"
	"drillwright/rules/condition"
)

// check reports what a book lacks as a whole.
func (b *Book) check(r *catalog.Report) {
	if len(b.Rules) == 0 {
		r.Add(catalog.Pos{}, "the book has no rules")
	}
	switch {
	case len(b.Doses) == 0:
		r.Add(catalog.Pos{}, "the book has no doses")
	case b.Doses[len(b.Doses)-1].When != nil && b.Doses[len(b.Doses)-1].When.Op != condition.Always:
		r.Suggest(b.Doses[len(b.Doses)-1].At, `end the list with when: "true"`, "the last dose must hold for every drill")
	}
	if len(b.Plans) == 0 {
		r.Add(catalog.Pos{}, "the book has no session plan")
	}
	if b.Substitution.Limit == 0 {
		r.Add(catalog.Pos{}, "no file says substitute: the numbers by which substitutes are ranked")
	}
}
