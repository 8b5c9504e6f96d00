package selection

import (
	"drillwright/rules"
	"drillwright/rules/client"
)

// FirstLook names the drills that Substitute without a limit would return if nothing were looked at a second time,
// best first.
func FirstLook(e *rules.Edition, q *client.Request) ([]string, error) {
	a, err := ask(e, q)
	if err != nil || a.gate.none {
		return nil, err
	}
	lift, err := a.drill(q.Lift)
	if err != nil {
		return nil, err
	}
	provokers, _ := a.provoke(lift)
	j := e.Judge(a.facts, lift)
	defer j.Done()
	of := a.inPlaceOf(lift, provokers)
	var out []string
	list := a.ranked(j, of)
	for r, more := a.after(j, of, list, 0); more; r, more = a.after(j, of, list, r) {
		d, w := e.Catalogue.Drills[uint32(r)], worth{}
		if a.weigh(j, j.StandingOf(d.Index), of, &w); a.ready(j, &unit{drill: d, standing: w.standing}) {
			out = append(out, d.ID)
		}
	}
	return out, nil
}

// FirstSession is Select if nothing were looked at a second time: the drill of each place, "" where there is none, and
// the slots of the places.
func FirstSession(e *rules.Edition, q *client.Request, planID string) (drills, slots []string, err error) {
	a, err := ask(e, q)
	if err != nil {
		return nil, nil, err
	}
	plan, err := a.plan(planID)
	if err != nil {
		return nil, nil, err
	}
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
