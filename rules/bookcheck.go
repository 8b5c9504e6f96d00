package rules

import (
	"slices"

	"drillwright/catalog"
	"drillwright/rules/condition"
)

// check reports what a book lacks as a whole, where its file stands.
func (b *Book) check(r *catalog.Report, stands map[string]catalog.Pos) {
	if len(b.Rules) == 0 {
		r.Suggest(stands["rules"], "write one, or take the file away: the rules are then those built in", "the book has no rules")
	}
	switch {
	case len(b.Doses) == 0:
		r.Suggest(stands["doses"], "write one, or take the file away: the doses are then those built in", "the book has no doses")
	case b.Doses[len(b.Doses)-1].When != nil && b.Doses[len(b.Doses)-1].When.Op != condition.Always:
		r.Suggest(b.Doses[len(b.Doses)-1].At, `end the list with when: "true"`, "the last dose must hold for every drill")
	}
	if len(b.Plans) == 0 {
		r.Suggest(stands["plans"], "write one, or take the file away: the plans are then those built in", "the book has no session plan")
	}
	if len(b.Plans) > 0 && !slices.ContainsFunc(b.Plans, func(p *Plan) bool { return !p.OnRequest }) {
		r.Suggest(b.Plans[0].At, "take on_request: out of one", "no plan is left for who asks for none: all are on_request")
	}
	if b.Substitution.Limit == 0 {
		r.Suggest(stands["substitute"], "add limit: and a number from 1", "substitute doesn't say how many are offered")
	}
}
