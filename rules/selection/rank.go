package selection

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"drillwright/rules"
	"drillwright/rules/client"
)

// worth is what a drill that may be trained is worth in place of the lift.
type worth struct {
	eligibility
	tier    tier
	removed bool
	score   int
	// Shares of the lift that are kept, and of what provokes that is taken away, in percent.
	muscles, pattern, load, provoker int
	test                             int // points that waiting for a test costs
}

// candidate is a drill that stands in for the lift.
type candidate struct {
	trainable
	worth worth
	rank  rank
}

// rank is a candidate's place in the list as one number, the least first; the last bits are its drill.
type rank uint64

// ranking is the list that an answer takes the first few of: what is near the lift before training elsewhere; points, of which
// waiting for a test costs some; open before test first; removed before lowered; tier; id. An answer needs a few of hundreds: looking
// for each is less work than putting all in order, and most that train elsewhere, which come after all that is near, are ranked only
// when the list gets there.
type ranking struct {
	list  []rank
	later rules.Drills
	count int // of those in the list, and later
}

// firstElsewhere is where the list gets to what trains elsewhere.
const firstElsewhere rank = 1 << 63

func (a *asked) ranked(j *rules.Judgement, of *ofLift) *ranking {
	now, later := of.alike.Similar, of.alike.Others
	for region := range a.e.Frame.Vocabulary.Regions {
		if a.sore>>region&1 != 0 {
			later = later.Without(a.e.Loading(region))
		}
	}
	for drill := range a.logged() {
		if later.Has(drill) {
			now = now.With(drill)
		}
	}
	for d := range a.namedFor(j, of) {
		now = now.With(d)
	}
	l := &a.ranking
	l.list, l.later = l.list[:0], later.Without(now)
	a.rank(j, of, now, l)
	if a.permitted.closes() || len(a.q.Profile.Clearances) > 0 { // that some of them are left doesn't mean that they stand
		a.rank(j, of, l.later, l)
		l.later = rules.Drills{}
	}
	l.count = len(l.list) + j.CountLeft(l.later)
	return l
}

// namedFor yields the drills that are unlike the lift and treat a condition that was named, by their indexes.
func (a *asked) namedFor(j *rules.Judgement, of *ofLift) iter.Seq[int] {
	return func(yield func(int) bool) {
		if len(a.q.Profile.Conditions) == 0 {
			return
		}
		for i, d := range a.e.Catalogue.Drills {
			if d != of.drill && of.alike.Drill[i].Tier >= rules.Unlike && a.treats(j, d) && !yield(i) {
				return
			}
		}
	}
}

// rank puts those drills into the list that may stand in for the lift.
func (a *asked) rank(j *rules.Judgement, of *ofLift, drills rules.Drills, l *ranking) {
	taken := 0
	for came := range j.Left(drills) {
		if taken++; taken%client.Stride == 0 && a.q.Abandoned() {
			return
		}
		var w worth
		if a.weigh(j, came, of, &w) {
			l.list = append(l.list, w.rank(came.Drill))
		}
	}
}

// after is the first that comes after a rank.
func (a *asked) after(j *rules.Judgement, of *ofLift, l *ranking, last rank) (next rank, ok bool) {
	next = math.MaxUint64
	for _, r := range l.list {
		if r > last && r < next {
			next, ok = r, true
		}
	}
	if next < firstElsewhere || l.later.Empty() {
		return next, ok
	}
	a.rank(j, of, l.later, l)
	l.later = rules.Drills{}
	return a.after(j, of, l, last)
}

// rank packs the order: near or elsewhere, the points from the most down, open or not, removed or not, the tier, the drill in order of id.
func (w *worth) rank(drill int) rank {
	const most = 1 << 24 // more points than weights and favours can give
	return later(w.tier != elsewhere)<<63 | rank(most-w.score)<<38 | later(w.verdict == rules.Open)<<37 | later(w.removed)<<36 |
		rank(w.tier)<<32 | rank(drill)
}

func later(first bool) rank {
	if first {
		return 0
	}
	return 1
}

// weigh is false for a drill that can't stand in, or not today.
func (a *asked) weigh(j *rules.Judgement, came rules.DrillResult, of *ofLift, w *worth) bool {
	alike := of.alike.Drill[came.Drill]
	kin := &a.e.Catalogue.Features[came.Drill]
	switch {
	case alike.Tier < rules.Unlike:
		w.tier = tier(alike.Tier)
	case a.treats(j, a.e.Catalogue.Drills[came.Drill]):
		w.tier = treating
	case alike.Tier == rules.Unlike && a.elsewhere(kin):
		w.tier = elsewhere
	default:
		return false
	}
	if !a.stand(j, came, &w.eligibility) {
		return false
	}
	a.score(w, kin, alike, of)
	return true
}

// keep takes of the list what an answer shows, in its order. A limit of -1 takes all of it.
func (a *asked) keep(j *rules.Judgement, list *ranking, of *ofLift, limit int) []candidate {
	book := &a.e.Book.Substitution
	limit = cmp.Or(limit, book.Limit)
	p := picking{asked: a, j: j, of: of, list: list, kept: a.kept[:0]}
	switch {
	case limit < 0:
		p.everything()
	default:
		if p.open = min(book.OpenAtLeast, limit/2); len(a.q.Profile.Conditions) > 0 {
			p.treat = min(book.TreatsAtLeast, limit/2)
		}
		p.from(0, firstElsewhere, limit)
		if near := len(p.kept); near < book.NearEnough {
			p.open, p.treat = 0, 0
			p.from(firstElsewhere, math.MaxUint64, min(limit, near+book.ElsewhereAtMost))
		}
	}
	slices.SortFunc(p.kept, func(x, y candidate) int { return cmp.Compare(x.rank, y.rank) })
	a.kept = p.kept
	return p.kept
}

// picking takes drills from a list.
type picking struct {
	*asked
	j           *rules.Judgement
	of          *ofLift
	list        *ranking
	kept        []candidate
	open, treat int // how many must be open, and must treat a condition that was named, while there are any
}

func (p *picking) everything() {
	for r, more := p.after(p.j, p.of, p.list, 0); more; r, more = p.after(p.j, p.of, p.list, r) {
		if c := p.candidate(r); p.ready(p.j, &c.trainable) && p.second(p.j, &c.trainable) {
			p.kept = append(p.kept, c)
		}
	}
}

// from takes the first of a stretch of the list until there are so many, a few of a family within a tier. What differs from one
// that was taken by a word alone, or waits for a test beside enough that do, is put aside, and fills what is left open at the end.
func (p *picking) from(first, end rank, most int) {
	var aside []rank
	last := first - min(first, 1)
	for r, more := p.after(p.j, p.of, p.list, last); more && r < end && len(p.kept) < most; r, more = p.after(p.j, p.of, p.list, r) {
		if c := p.candidate(r); p.differs(&c) && p.leavesRoom(&c, most) {
			p.take(&c)
		} else {
			aside = append(aside, r)
		}
	}
	for _, r := range aside {
		if c := p.candidate(r); len(p.kept) < most && p.differs(&c) {
			p.take(&c)
		}
	}
	for _, r := range aside {
		if c := p.candidate(r); len(p.kept) < most {
			p.take(&c)
		}
	}
}

func (p *picking) candidate(r rank) candidate {
	d := p.e.Catalogue.Drills[uint32(r)]
	var w worth
	p.weigh(p.j, p.j.ResultOf(d.Index), p.of, &w)
	return candidate{trainable{drill: d, eligibility: w.eligibility}, w, r}
}

// differs is whether a candidate isn't done with the same tool in the same place and position, on as many sides, as one that was taken.
func (p *picking) differs(c *candidate) bool {
	d := c.drill
	return !slices.ContainsFunc(p.kept, func(have candidate) bool {
		h := have.drill
		return h == d || h.Tool == d.Tool && h.Station == d.Station && h.Position == d.Position && h.Sides == d.Sides
	})
}

// leavesRoom is whether a candidate leaves places for what must be open, and for what must treat a condition.
func (p *picking) leavesRoom(c *candidate, most int) bool {
	open, treat := p.open, p.treat
	meets := func(c *candidate) {
		open -= count(c.worth.verdict == rules.Open)
		treat -= count(p.treats(p.j, c.drill))
	}
	for i := range p.kept {
		meets(&p.kept[i])
	}
	meets(c)
	return len(p.kept)+1+max(open, 0)+max(treat, 0) <= most
}

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// take adds a candidate, unless there are enough of its family in its tier, it is there already, or it doesn't stand a second look.
func (p *picking) take(c *candidate) {
	alike := 0
	for i := range p.kept {
		if p.kept[i].drill == c.drill {
			return
		}
		if p.kept[i].worth.tier == c.worth.tier && p.kept[i].drill.Family == c.drill.Family {
			alike++
		}
	}
	if alike < p.e.Book.PerFamily && p.ready(p.j, &c.trainable) && p.second(p.j, &c.trainable) {
		p.kept = append(p.kept, *c)
	}
}
