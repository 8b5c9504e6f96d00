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
// for everyone. Errors: *client.Invalid, *UnknownID.
func Select(e *rules.Edition, q *client.Request, planID string) (*SelectAnswer, error) {
	a, err := ask(e, q)
	if err != nil {
		return nil, err
	}
	plan, err := a.plan(planID)
	if err != nil {
		return nil, err
	}
	answer := &SelectAnswer{Plan: plan.ID, PlanName: plan.Name, Minutes: cmp.Or(q.Minutes, plan.Minutes)}
	if a.gate.none {
		answer.Header = a.head
		return answer, nil
	}
	if q.Minutes == 0 {
		a.setMinutes(plan.Minutes)
	}
	a.spare()
	j := e.Judge(a.facts, nil)
	defer j.Done()
	s := a.fill(j, plan)
	var shown []*catalog.Drill
	for i, p := range s.places {
		if u := s.best[i]; u != nil {
			shown = append(shown, u.drill)
			answer.Drills = append(answer.Drills, a.sessionDrill(j, p, u, s))
			answer.Seconds += u.doses[0].Seconds
			answer.Points += u.points
		} else if !p.slot.Optional {
			answer.Empty = append(answer.Empty, EmptySlot{p.slot.ID, p.slot.Name, p.whyEmpty()})
		}
	}
	a.presumed(shown...)
	answer.Limits = s.states(j, plan)
	answer.LeftOut = a.goalsLeftOut(j)
	a.head.MeasureNext = a.measureNext(j, j.Waits(), 3)
	answer.Header = a.head
	return answer, nil
}

// setMinutes makes the plan's own length what the request's limits read.
func (a *asked) setMinutes(minutes int) {
	a.facts = a.facts.With("request.minutes", 0, float64(minutes)).With("request.minutes", 1, float64(minutes))
}

// plan finds the plan asked for; without one, that of the first sore region that has one, else the first for everyone.
func (a *asked) plan(id string) (*rules.Plan, error) {
	if id == "" {
		return a.usualPlan(), nil
	}
	if p := a.e.Book.Plan(id); p != nil {
		return p, nil
	}
	unknown := &UnknownID{Kind: "plan", ID: id}
	for _, p := range a.e.Book.Plans {
		unknown.Nearest = append(unknown.Nearest, p.ID)
	}
	return nil, unknown
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
		if len(p.Regions) == 0 {
			return p
		}
	}
	return a.e.Book.Plans[0]
}

// place is one place of the plan with the drills that may fill it, best first.
type place struct {
	slot       *rules.Slot
	candidates []*unit
	fitting    int // before the cut
	closed     int // that fit the slot and are not open today
}

func (p *place) whyEmpty() string {
	switch {
	case p.fitting > 0:
		return "no drill that fits this place fits the limits too"
	case p.closed > 0:
		return fmt.Sprintf("%d drills fit this place and none is open today", p.closed)
	default:
		return "no drill of the catalogue fits this place"
	}
}

// session is the search for the best filling of a plan's places.
type session struct {
	a      *asked
	j      *rules.Judgement
	limits []bounds
	places []place
	// From each place on: the most points that can come, the least and the most that each limit's sum can change.
	rest        []int
	least, most [][]float64
	now         []*unit
	best        []*unit
	points      int
	found       bool
	nodes       int
}

type bounds struct {
	limit     *rules.PlanLimit
	low, high *float64
}

// What the search may spend, in nodes; and how many drills a place tries. A place left empty costs more than any
// points can win.
const (
	sessionNodes  = 200_000
	perPlace      = 24
	emptyPenalty  = 1000
	optionalEmpty = 30
)

// fill searches the places in order for the most points under the plan's limits.
func (a *asked) fill(j *rules.Judgement, plan *rules.Plan) *session {
	s := &session{a: a, j: j}
	for i := range plan.Limits {
		l := &plan.Limits[i]
		s.limits = append(s.limits, bounds{l, j.Bound(l.Low), j.Bound(l.High)})
	}
	units := a.openUnits(j)
	for i := range plan.Slots {
		p := s.candidates(&plan.Slots[i], units)
		for range plan.Slots[i].Count {
			s.places = append(s.places, p)
		}
	}
	s.lookAhead()
	s.now, s.best = make([]*unit, len(s.places)), make([]*unit, len(s.places))
	s.try(0, 0, make([]float64, len(s.limits)))
	return s
}

// lookAhead works out, from each place on, the most points that can still come, and the least and the most that
// each limit's sum can still change.
func (s *session) lookAhead() {
	s.rest = make([]int, len(s.places)+1)
	s.least, s.most = make([][]float64, len(s.places)+1), make([][]float64, len(s.places)+1)
	s.least[len(s.places)], s.most[len(s.places)] = make([]float64, len(s.limits)), make([]float64, len(s.limits))
	for i := len(s.places) - 1; i >= 0; i-- {
		top := -optionalEmpty
		s.least[i], s.most[i] = slices.Clone(s.least[i+1]), slices.Clone(s.most[i+1])
		low, high := make([]float64, len(s.limits)), make([]float64, len(s.limits))
		for _, u := range s.places[i].candidates {
			top = max(top, u.points)
			for k, v := range s.with(make([]float64, len(s.limits)), u) {
				low[k], high[k] = min(low[k], v), max(high[k], v)
			}
		}
		for k := range s.limits {
			s.least[i][k] += low[k]
			s.most[i][k] += high[k]
		}
		s.rest[i] = s.rest[i+1] + top
	}
}

// hopeless is true when no filling of the places from i on can bring the sums within the limits.
func (s *session) hopeless(i int, totals []float64) bool {
	for k, b := range s.limits {
		if b.high != nil && totals[k]+s.least[i][k] > *b.high || b.low != nil && totals[k]+s.most[i][k] < *b.low {
			return true
		}
	}
	return false
}

// openUnits are the drills that are open today, test first left out.
func (a *asked) openUnits(j *rules.Judgement) []*unit {
	var units []*unit
	for _, d := range a.e.Catalogue.Drills {
		if u := a.unit(j, d); u != nil && u.verdict == rules.Open && !a.second(j, u) {
			if d.Sides == catalog.OneSide && len(u.sides) == 1 && a.limiting(d) == 1-u.sides[0] {
				u.points -= a.e.Book.GoodSideOnly
			}
			units = append(units, u)
		}
	}
	return units
}

// candidates are the open drills that fit a slot, by points, then id.
func (s *session) candidates(slot *rules.Slot, units []*unit) place {
	p := place{slot: slot}
	fits := func(d *catalog.Drill, sides []int) bool {
		return slices.ContainsFunc(sides, func(side int) bool { return s.j.Satisfies(slot.Condition, d, side).Sure })
	}
	for _, u := range units {
		if fits(u.drill, u.sides) {
			p.candidates = append(p.candidates, u)
		}
	}
	if p.fitting = len(p.candidates); p.fitting == 0 {
		for _, d := range s.a.e.Catalogue.Drills {
			if fits(d, []int{0, 1}) {
				p.closed++
			}
		}
	}
	slices.SortStableFunc(p.candidates, func(x, y *unit) int {
		return cmp.Or(cmp.Compare(y.points, x.points), strings.Compare(x.drill.ID, y.drill.ID))
	})
	p.candidates = p.candidates[:min(perPlace, len(p.candidates))]
	return p
}

// try fills the places from i on; points and totals are of those before.
func (s *session) try(i, points int, totals []float64) {
	if s.nodes++; s.nodes > sessionNodes || s.found && points+s.rest[i] <= s.points || s.hopeless(i, totals) {
		return
	}
	if i == len(s.places) {
		s.found, s.points = true, points
		copy(s.best, s.now)
		return
	}
	for _, u := range s.places[i].candidates {
		if s.used(i, u) {
			continue
		}
		s.now[i] = u
		s.try(i+1, points+u.points, s.with(totals, u))
	}
	s.now[i] = nil
	penalty := emptyPenalty
	if s.places[i].slot.Optional || len(s.places[i].candidates) == 0 {
		penalty = optionalEmpty
	}
	s.try(i+1, points-penalty, totals)
}

// used: a family stands in a session once; places of one slot are filled in falling order, so that each choice is tried once.
func (s *session) used(i int, u *unit) bool {
	for k := range i {
		if s.now[k] != nil && s.now[k].drill.Family == u.drill.Family {
			return true
		}
	}
	if i > 0 && s.places[i-1].slot == s.places[i].slot {
		if s.now[i-1] == nil {
			return true
		}
		list := s.places[i].candidates
		return slices.Index(list, u) < slices.Index(list, s.now[i-1])
	}
	return false
}

func (s *session) with(totals []float64, u *unit) []float64 {
	out := slices.Clone(totals)
	for k, b := range s.limits {
		out[k] += s.j.Sum(b.limit.Sum, u.drill, u.doses[0].Seconds)
	}
	return out
}

func (s *session) states(j *rules.Judgement, plan *rules.Plan) []LimitState {
	totals := make([]float64, len(s.limits))
	for _, u := range s.best {
		if u != nil {
			totals = s.with(totals, u)
		}
	}
	var out []LimitState
	for k, b := range s.limits {
		out = append(out, LimitState{ID: b.limit.ID, Name: b.limit.Name, Value: totals[k], Low: b.low, High: b.high,
			Met: (b.low == nil || totals[k] >= *b.low) && (b.high == nil || totals[k] <= *b.high)})
	}
	return out
}

func (a *asked) sessionDrill(j *rules.Judgement, p place, u *unit, s *session) SessionDrill {
	d := SessionDrill{Slot: p.slot.ID, SlotName: p.slot.Name, Purpose: strings.ToUpper(p.slot.Purpose), Drill: card(a.e, u.drill),
		Verdict: string(u.verdict), Sides: a.sideDoses(u), Points: u.points, TestSet: a.testSet(u.drill, u.doses[0])}
	d.Cautions, d.Reasons = a.reasons(j, u)
	for _, r := range d.Reasons {
		if r.Effect == "FAVOUR" {
			d.Parts = append(d.Parts, Part{Name: r.Rule, Points: r.Points, Words: r.Words})
		}
	}
	for _, other := range p.candidates {
		taken := slices.ContainsFunc(s.best, func(b *unit) bool { return b != nil && b.drill == other.drill })
		sameStation := other.drill.Station == u.drill.Station || slices.ContainsFunc(d.Backups, func(b Backup) bool { return b.Station == a.e.Frame.Vocabulary.Name("station", other.drill.Station) })
		if !taken && !sameStation && len(d.Backups) < 2 {
			d.Backups = append(d.Backups, Backup{other.drill.ID, other.drill.Name, a.e.Frame.Vocabulary.Name("station", other.drill.Station), other.points})
		}
	}
	return d
}

// goalsLeftOut says why the client's own lifts are not in the session.
func (a *asked) goalsLeftOut(j *rules.Judgement) []LeftOut {
	var out []LeftOut
	for _, id := range a.q.Profile.GoalLifts {
		if d := a.e.Catalogue.Drill(id); d != nil {
			if l, ok := a.whyNot(j, d); ok {
				out = append(out, l)
			}
		}
	}
	return out
}
