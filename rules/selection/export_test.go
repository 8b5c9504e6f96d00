package selection

import (
	"math"
	"slices"
	"sync"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// FirstLook names the drills that Substitute without a limit would return if nothing were looked at a second time,
// best first.
func FirstLook(e *rules.Edition, q *client.Request) ([]string, error) {
	a, err := ask(e, q, nil)
	if err != nil || a.permitted.none {
		return nil, err
	}
	lift := e.Catalogue.Drill(q.Lift)
	provokers, _ := a.provoke(lift)
	j := e.Judge(a.facts, lift)
	defer j.Done()
	of := a.inPlaceOf(lift, provokers)
	var out []string
	list := a.ranked(j, of)
	for r, more := a.after(j, of, list, 0); more; r, more = a.after(j, of, list, r) {
		d, w := e.Catalogue.Drills[uint32(r)], worth{}
		if a.weigh(j, j.ResultOf(d.Index), of, &w); a.ready(j, &trainable{drill: d, eligibility: w.eligibility}) {
			out = append(out, d.ID)
		}
	}
	return out, nil
}

// WithoutLimits is Substitute with a fault: the loads that clinicians allow are lost before anything is dosed. It says too
// which drills it would have returned but for the second look.
func WithoutLimits(e *rules.Edition, q *client.Request) (returned *SubstituteAnswer, looked []string, err error) {
	a, err := ask(e, q, []Named{{"lift", "drill", q.Lift}})
	if err != nil {
		return nil, nil, err
	}
	lift := e.Catalogue.Drill(q.Lift)
	for _, region := range e.Frame.Vocabulary.IDs("region") {
		for side := range 2 {
			a.facts = a.facts.With("client.limit.load_kg."+region, side, math.NaN())
		}
	}
	answer, err := a.substitutes(lift, Options{Limit: -1})
	if err != nil {
		return nil, nil, err
	}
	j := e.Judge(a.facts, lift)
	defer j.Done()
	of := a.inPlaceOf(lift, answer.Provokers)
	list := a.ranked(j, of)
	for r, more := a.after(j, of, list, 0); more; r, more = a.after(j, of, list, r) {
		looked = append(looked, e.Catalogue.Drills[uint32(r)].ID)
	}
	return answer, looked, nil
}

// FirstSession is Select if nothing were looked at a second time: the drill of each place, "" where there is none, and
// the slots of the places.
func FirstSession(e *rules.Edition, q *client.Request, planID string) (drills, slots []string, err error) {
	a, err := ask(e, q, nil)
	if err != nil {
		return nil, nil, err
	}
	plan := a.plan(planID)
	if q.Minutes == 0 {
		a.setMinutes(plan.Minutes)
	}
	a.spare()
	j := e.Judge(a.facts, nil)
	defer j.Done()
	s := a.fill(j, plan, a.openChoices(j))
	for i, c := range s.best {
		id := ""
		if c != nil {
			id = c.drill.ID
		}
		drills, slots = append(drills, id), append(slots, s.places[i].slot.ID)
	}
	return drills, slots, nil
}

// SecondLookAtLoad is whether the second look lets a load of a drill through, whatever named it.
func SecondLookAtLoad(e *rules.Edition, q *client.Request, id string, kg float64) (bool, error) {
	a, err := ask(e, q, nil)
	if err != nil {
		return false, err
	}
	defer a.done()
	j := e.Judge(a.facts, nil)
	defer j.Done()
	u := trainable{drill: e.Catalogue.Drill(id)}
	for side := range 2 {
		u.dose[side] = &Dose{PainCeiling: 3, EffortHigh: 5, LoadKg: &kg}
		if !a.withinLimits(j, &u, side) {
			return false, nil
		}
	}
	return true, nil
}

// InOneScratch answers in the same scratch memory, again and again, and says whether anything of a client is left there.
func InOneScratch(answer func()) (left bool) {
	had, one := scratch, new(asked)
	scratch = &sync.Pool{New: func() any { return one }}
	defer func() { scratch = had }()
	answer()
	return one.q != nil || one.facts != nil || one.derived != nil || one.sore != 0 || one.paced || one.head.Receipt != (Receipt{}) ||
		holds(one.kept, func(c candidate) bool { return c.drill != nil }) ||
		holds(one.reasoned, func(r Reason) bool { return r.Rule != "" }) ||
		holds(one.advices, func(c Caution) bool { return c.Rule != "" }) ||
		holds(one.lifted, func(l lifts) bool { return l != lifts{} }) ||
		holds(one.ranking.list, func(r rank) bool { return r != 0 })
}

// holds is whether a list holds something, up to the end of its room.
func holds[T any](list []T, something func(T) bool) bool {
	return slices.ContainsFunc(list[:cap(list)], something)
}

// SideOf is how a side of a drill comes out, with its dose where it may be trained.
type SideOf struct {
	Verdict rules.Verdict
	Dose    *Dose
}

// Doses are the verdicts and doses of every drill, left first, with the lift of the request or without.
func Doses(e *rules.Edition, q *client.Request) (map[string][2]SideOf, error) {
	var named []Named
	if q.Lift != "" {
		named = []Named{{"lift", "drill", q.Lift}}
	}
	a, err := ask(e, q, named)
	if err != nil {
		return nil, err
	}
	lift := e.Catalogue.Drill(q.Lift)
	a.allowed(lift)
	j := e.Judge(a.facts, lift)
	defer j.Done()
	out := map[string][2]SideOf{}
	for i, d := range e.Catalogue.Drills {
		came, sides := j.ResultOf(i), make([]SideExplained, 2)
		a.close(j, &came)
		a.explainDose(j, d, came, sides)
		out[d.ID] = [2]SideOf{{verdict(came, 0), sides[0].Dose}, {verdict(came, 1), sides[1].Dose}}
	}
	return out, nil
}

// OutOfPlace is whether a drill has no place among the substitutes of a lift, whatever its verdict: it trains nothing, or it
// is unlike the lift and loads what hurts.
func OutOfPlace(e *rules.Edition, q *client.Request, d *catalog.Drill) bool {
	a := &asked{e: e, q: q}
	for _, c := range q.Complaints {
		a.sore |= e.Frame.Vocabulary.SetOf("region", []string{c.Region})[0]
	}
	kinship := e.SimilarTo(e.Catalogue.Drill(q.Lift)).Drill[d.Index].Tier
	return kinship == rules.NoSubstitute || kinship == rules.Unlike && !a.elsewhere(&e.Catalogue.Features[d.Index])
}
