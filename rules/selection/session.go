package selection

import (
	"cmp"
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// choice is a drill that may fill a place, with what it adds to the sum of each limit.
type choice struct {
	trainable
	family int32
	adds   []float64
}

func (c *choice) addTo(out, totals []float64) {
	for k, v := range c.adds {
		out[k] = totals[k] + v
	}
}

// session is the search for the best filling of a plan's places.
type session struct {
	a      *asked
	j      *rules.Judgement
	limits []bounds
	places []slotPlace
	// From each place on: the most points that can come, the least and the most that each limit's sum can change.
	rest        []int
	least, most [][]float64
	totals      [][]float64 // before each place
	now         []*choice
	family      []int32 // of each of now; noFamily of a place left empty
	at          []int   // where each of now stands among the candidates of its place
	best        []*choice
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
	noFamily      = -1
)

// session fills the plan. Every drill of it is looked at a second time; those that the second look finds worse than
// the first did are left out, and the plan is filled again.
func (a *asked) session(j *rules.Judgement, plan *rules.Plan) *session {
	open := a.openChoices(j)
	for {
		s := a.fill(j, plan, open)
		worse := map[*choice]bool{}
		for _, c := range s.best {
			if c != nil && !a.second(j, &c.trainable) {
				worse[c] = true
			}
		}
		if len(worse) == 0 {
			return s
		}
		open = slices.DeleteFunc(open, func(c *choice) bool { return worse[c] })
	}
}

// fill searches the places in order for the most points under the plan's limits.
func (a *asked) fill(j *rules.Judgement, plan *rules.Plan, open []*choice) *session {
	s := &session{a: a, j: j}
	for i := range plan.Limits {
		l := &plan.Limits[i]
		s.limits = append(s.limits, bounds{l, j.Bound(l.Low), j.Bound(l.High)})
	}
	for i := range plan.Slots {
		p := s.candidates(&plan.Slots[i], open)
		for range plan.Slots[i].Count {
			s.places = append(s.places, p)
		}
	}
	s.lookAhead()
	n := len(s.places)
	s.now, s.best, s.at, s.family = make([]*choice, n), make([]*choice, n), make([]int, n), make([]int32, n)
	s.try(0, 0)
	return s
}

// lookAhead works out, from each place on, the most points that can still come, and the least and the most that
// each limit's sum can still change.
func (s *session) lookAhead() {
	n := len(s.places)
	s.rest = make([]int, n+1)
	for _, table := range []*[][]float64{&s.least, &s.most, &s.totals} {
		*table = make([][]float64, n+1)
		for i := range *table {
			(*table)[i] = make([]float64, len(s.limits))
		}
	}
	for i := n - 1; i >= 0; i-- {
		top := -optionalEmpty
		low, high := s.least[i], s.most[i]
		for _, c := range s.places[i].candidates {
			top = max(top, c.points)
			for k, v := range c.adds {
				low[k], high[k] = min(low[k], v), max(high[k], v)
			}
		}
		for k := range s.limits {
			low[k] += s.least[i+1][k]
			high[k] += s.most[i+1][k]
		}
		s.rest[i] = s.rest[i+1] + top
	}
}

// hopeless is true when no filling of the places from i on can bring the sums within the limits.
func (s *session) hopeless(i int) bool {
	for k, b := range s.limits {
		if b.high != nil && s.totals[i][k]+s.least[i][k] > *b.high || b.low != nil && s.totals[i][k]+s.most[i][k] < *b.low {
			return true
		}
	}
	return false
}

// openChoices are the drills that are open today, test first left out.
func (a *asked) openChoices(j *rules.Judgement) []*choice {
	var open []*choice
	for i, d := range a.e.Catalogue.Drills {
		if i%client.Stride == 0 && a.q.Abandoned() {
			break
		}
		var s eligibility
		if !a.stand(j, j.ResultOf(i), &s) || s.verdict != rules.Open {
			continue
		}
		if d.Sides == catalog.OneSide && s.open[0] != s.open[1] {
			if limiting := a.limiting(d); limiting >= 0 && !s.open[limiting] {
				s.points -= a.e.Book.GoodSideOnly
			}
		}
		open = append(open, &choice{trainable: trainable{drill: d, eligibility: s}, family: a.e.Catalogue.Features[i].Family})
	}
	return open
}

// candidates are the open drills that fit a slot, by points, then id.
func (s *session) candidates(slot *rules.Slot, open []*choice) slotPlace {
	p := slotPlace{slot: slot}
	fits := func(d *catalog.Drill, sides [2]bool) bool {
		for side, open := range sides {
			if open && s.j.Satisfies(slot.Predicate, d, side).Sure {
				return true
			}
		}
		return false
	}
	for _, c := range open {
		if fits(c.drill, c.open) {
			p.candidates = append(p.candidates, c)
		}
	}
	if p.fitting = len(p.candidates); p.fitting == 0 {
		for _, d := range s.a.e.Catalogue.Drills {
			if fits(d, [2]bool{true, true}) {
				p.closed++
			}
		}
	}
	slices.SortStableFunc(p.candidates, func(x, y *choice) int {
		return cmp.Or(cmp.Compare(y.points, x.points), cmp.Compare(x.drill.Index, y.drill.Index))
	})
	p.candidates = p.candidates[:min(perPlace, len(p.candidates))]
	for _, c := range p.candidates {
		s.weigh(c)
	}
	return p
}

// weigh doses a drill and works out what it adds to each limit.
func (s *session) weigh(c *choice) {
	if c.adds != nil {
		return
	}
	s.a.ready(s.j, &c.trainable)
	c.adds = make([]float64, len(s.limits))
	for k, b := range s.limits {
		c.adds[k] = s.j.Sum(b.limit.Sum, c.drill, c.seconds)
	}
}

// try fills the places from i on; points are of those before.
func (s *session) try(i, points int) {
	if s.nodes++; s.nodes%client.Stride == 0 && s.a.q.Abandoned() {
		s.nodes = sessionNodes
	}
	if s.nodes > sessionNodes || s.found && points+s.rest[i] <= s.points || s.hopeless(i) {
		return
	}
	if i == len(s.places) {
		s.found, s.points = true, points
		copy(s.best, s.now)
		return
	}
	for n, c := range s.places[i].candidates {
		if s.used(i, n, c) {
			continue
		}
		s.now[i], s.at[i], s.family[i] = c, n, c.family
		c.addTo(s.totals[i+1], s.totals[i])
		s.try(i+1, points+c.points)
	}
	s.now[i], s.family[i] = nil, noFamily
	penalty := emptyPenalty
	if s.places[i].slot.Optional || len(s.places[i].candidates) == 0 {
		penalty = optionalEmpty
	}
	copy(s.totals[i+1], s.totals[i])
	s.try(i+1, points-penalty)
}

// used: a family stands in a session once; places of one slot are filled in falling order, so that each choice is tried once.
func (s *session) used(i, n int, c *choice) bool {
	if slices.Contains(s.family[:i], c.family) {
		return true
	}
	if i > 0 && s.places[i-1].slot == s.places[i].slot {
		return s.now[i-1] == nil || n < s.at[i-1]
	}
	return false
}
