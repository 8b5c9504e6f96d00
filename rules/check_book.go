package rules

import (
	"slices"

	"drillwright/catalog/authored"
	"drillwright/rules/predicate"
)

// check reports what a book lacks as a whole, where its file stands.
func (b *Book) check(r *authored.Report, stands map[string]authored.Pos) {
	if len(b.Rules) == 0 {
		r.Suggest(stands["rules"], "write one, or take the file away: the rules are then those built in", "the book has no rules")
	}
	switch {
	case len(b.Doses) == 0:
		r.Suggest(stands["doses"], "write one, or take the file away: the doses are then those built in", "the book has no doses")
	case b.Doses[len(b.Doses)-1].When != nil && b.Doses[len(b.Doses)-1].When.Op != predicate.Always:
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
	heavy, sore := &b.Substitution.TestSet.Heavy, &b.Substitution.TestSet.Sore
	needs(r, stands["substitute"], "heavy: of test_set:",
		map[string]float64{"from_percent": heavy.FromPercent, "reps": float64(heavy.Reps)})
	needs(r, stands["substitute"], "sore: of test_set:", map[string]float64{"gone_within_minutes": float64(sore.GoneWithinMinutes),
		"fails": float64(sore.Fails), "new_drills": float64(sore.NewDrills), "sets": float64(sore.Sets), "effort": float64(sore.Effort),
		"rest_days": float64(sore.RestDays), "next_day_above": float64(sore.NextDayAbove), "settle_hours": float64(sore.SettleHours)})
}
