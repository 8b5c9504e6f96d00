package selection

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Select builds today's session by a plan; an empty id takes the plan that serves the first sore region, or the one
// for everyone. Errors: *client.Invalid, *UnknownID, client.ErrAbandoned.
func Select(e *rules.Edition, q *client.Request, planID string, opts Options) (*SelectAnswer, error) {
	var named []Named
	if planID != "" {
		named = []Named{{"plan", "plan", planID}}
	}
	a, err := ask(e, q, named, "SELECT", planID, opts.view())
	if err != nil {
		return nil, err
	}
	defer a.done()
	plan, all := a.plan(planID), func() []*catalog.Drill { return e.Catalogue.Drills }
	answer := &SelectAnswer{Plan: plan.ID, PlanName: plan.Name, Minutes: cmp.Or(q.Minutes, plan.Minutes)}
	if a.permitted.none {
		a.presumed()
		a.head.TellFirst = a.tellFirst(nil, nil, all)
		answer.Header = a.head
		return answer, nil
	}
	if q.Minutes == 0 {
		a.setMinutes(plan.Minutes)
	}
	a.spare()
	j := e.Judge(a.facts, nil)
	defer j.Done()
	a.head.TellFirst = a.tellFirst(j, nil, all)
	s := a.session(j, plan)
	var shown []*catalog.Drill
	for i, p := range s.places {
		if u := s.best[i]; u != nil {
			shown = append(shown, u.drill)
			answer.Drills = append(answer.Drills, a.sessionDrill(j, p, u, s, opts.Brief))
			answer.Seconds += u.seconds
			answer.Points += u.points
		} else if !p.slot.Optional {
			answer.Empty = append(answer.Empty, EmptySlot{p.slot.ID, p.slot.Name, p.whyEmpty()})
		}
	}
	a.presumed(shown...)
	answer.Limits = s.states()
	answer.LeftOut = a.goalsLeftOut(j)
	a.head.MeasureNext = a.measureNext(j, j.Untested(), 3)
	answer.Header = a.head
	if q.Abandoned() {
		return nil, client.ErrAbandoned
	}
	return answer, nil
}

// setMinutes makes the plan's own length what the request's limits read.
func (a *asked) setMinutes(minutes int) {
	a.facts = a.facts.With("request.minutes", 0, float64(minutes)).With("request.minutes", 1, float64(minutes))
}

// plan finds the plan asked for; without one, that of the first sore region that has one, else the first for everyone.
func (a *asked) plan(id string) *rules.Plan {
	if id == "" {
		return a.usualPlan()
	}
	return a.e.Book.Plan(id)
}

func (a *asked) usualPlan() *rules.Plan {
	for _, c := range a.q.Complaints {
		for _, p := range a.e.Book.Plans {
			if p.Serves(c.Region) {
				return p
			}
		}
	}
	for _, p := range a.e.Book.Plans {
		if len(p.Regions) == 0 && !p.OnRequest {
			return p
		}
	}
	return a.e.Book.Plans[slices.IndexFunc(a.e.Book.Plans, func(p *rules.Plan) bool { return !p.OnRequest })]
}

// slotPlace is one place of the plan with the drills that may fill it, best first.
type slotPlace struct {
	slot       *rules.Slot
	candidates []*choice
	fitting    int // before the cut
	closed     int // that fit the slot and are not open today
}

func (p *slotPlace) whyEmpty() string {
	switch {
	case p.fitting > 0:
		return "no drill that fits this place fits the limits too"
	case p.closed > 0:
		return fmt.Sprintf("%d drills fit this place and none is open today", p.closed)
	default:
		return "no drill of the catalogue fits this place"
	}
}

func (s *session) states() []LimitState {
	totals := make([]float64, len(s.limits))
	for _, u := range s.best {
		if u != nil {
			u.addTo(totals, totals)
		}
	}
	var out []LimitState
	for k, b := range s.limits {
		out = append(out, LimitState{ID: b.limit.ID, Name: b.limit.Name, Value: totals[k], Low: b.low, High: b.high,
			Met: (b.low == nil || totals[k] >= *b.low) && (b.high == nil || totals[k] <= *b.high)})
	}
	return out
}

func (a *asked) sessionDrill(j *rules.Judgement, p slotPlace, u *choice, s *session, brief bool) SessionDrill {
	d := SessionDrill{Slot: p.slot.ID, SlotName: p.slot.Name, Purpose: strings.ToUpper(p.slot.Purpose), Drill: u.drill,
		Verdict: string(u.verdict), Sides: a.sideDoses(&u.trainable), Points: u.points, TestSet: a.testSet(&u.trainable)}
	d.Cautions = a.cautions(j, &u.trainable)
	if !brief {
		d.Reasons = a.reasons(j, &u.trainable)
	}
	for _, r := range d.Reasons {
		if r.Effect == "FAVOUR" {
			d.Parts = append(d.Parts, Part{Name: r.Rule, Points: r.Points, Words: r.Words})
		}
	}
	for _, other := range p.candidates {
		taken := slices.ContainsFunc(s.best, func(b *choice) bool { return b == other })
		sameStation := other.drill.Station == u.drill.Station || slices.ContainsFunc(d.Backups,
			func(b Backup) bool { return b.Station == a.e.Frame.Vocabulary.Name("station", other.drill.Station) })
		if !taken && !sameStation && len(d.Backups) < 2 && a.second(j, &other.trainable) {
			d.Backups = append(d.Backups, Backup{other.drill.ID, other.drill.Name, a.e.Frame.Vocabulary.Name("station", other.drill.Station),
				other.points})
		}
	}
	return d
}

// goalsLeftOut says why the client's own lifts are not in the session.
func (a *asked) goalsLeftOut(j *rules.Judgement) []LeftOut {
	var out []LeftOut
	for _, id := range a.q.Profile.GoalLifts {
		if d := a.e.Catalogue.Drill(id); d != nil {
			if l, ok := a.whyNot(j, a.newsWhyNot(j, d), d); ok {
				out = append(out, l)
			}
		}
	}
	return out
}
