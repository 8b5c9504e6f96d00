package selection

import (
	"math"
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
)

// withinLimits looks at the dose of a side once more, whatever chose it: by the clearances as they were sent, for each region
// that the drill loads while that side works, by the caps of the floor, and its load by the log.
func (a *asked) withinLimits(j *rules.Judgement, u *trainable, side int) bool {
	dose := u.dose[side]
	most := u.load[side].most
	if dose.LoadKg != nil {
		most = max(most, *dose.LoadKg)
	}
	for i := range a.q.Profile.Clearances {
		c := &a.q.Profile.Clearances[i]
		if c.LoadKg == nil || !c.Stands(a.q.AsOf) || !loads(u.drill, c.Region, c.Side, side) {
			continue
		}
		body := 0.0
		for i := range u.drill.Rows {
			if c.Side.On(side ^ i) {
				body = max(body, a.bodyKg(u.drill, &u.drill.Rows[i], c.Region))
			}
		}
		if most+body > *c.LoadKg+1e-6 {
			return false
		}
	}
	have := values(*dose)
	above := func(c rules.Adjustment) bool {
		return c.Cap != nil && c.Variable != loadPercent && have[c.Variable] > *c.Cap
	}
	for _, r := range a.e.Book.Rules {
		if r.Floor && r.Effect == rules.Adjust && slices.ContainsFunc(r.Adjust, above) && j.CouldHold(r, u.drill, side, a.facts) {
			return false
		}
	}
	return dose.PainCeiling <= rules.PainCeiling && (dose.LoadKg == nil || a.fromTheLog(u.drill, *dose.LoadKg, side))
}

// fromTheLog looks at a load once more: sets of the log that count stand behind it, and where the drill loads a region that hurts it is
// no more than a sore region starts at, unless a set as heavy has been done since.
func (a *asked) fromTheLog(d *catalog.Drill, kg float64, side int) bool {
	loads, sore := &a.e.Frame.Measures.Loads, a.soreOn(d, side)
	own, relative := 0.0, 0.0
	for i := range a.q.Profile.Log {
		s := &a.q.Profile.Log[i]
		if int(a.q.AsOf-s.Day) > a.e.Frame.Measures.ValidDays.Working {
			continue
		}
		most := s.LoadKg
		if sore.sore && (s.Drill != d.ID || !sore.since(s)) {
			most = most * loads.Start.SorePercent / 100
		}
		if s.Drill == d.ID {
			own = max(own, most)
			continue
		}
		for _, share := range loads.Shares.Of {
			if share.Drill == d.ID && share.From == s.Drill && !a.noShares() {
				relative = max(relative, most*math.Min(1, share.Percent/100))
			}
		}
	}
	if own > 0 {
		return kg <= own*a.mostRaise()+1e-6
	}
	return kg <= relative+1e-6
}

// mostRaise is the most that a rule of the book may make of a load.
func (a *asked) mostRaise() float64 {
	most := 100.0
	for _, r := range a.e.Book.Rules {
		for _, c := range r.Adjust {
			if to, isCap := apply(c.Change, 100); c.Variable == loadPercent && !isCap {
				most = max(most, to)
			}
		}
	}
	return most / 100
}
