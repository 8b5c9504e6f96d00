package selection

import (
	"cmp"
	"math"

	"drillwright/rules"
	"drillwright/rules/client"
)

// worth is what a drill that may be trained is worth in place of the lift.
type worth struct {
	standing
	tier    tier
	removed bool
	score   int
	// Shares of the lift that are kept, and of what provokes that is taken away, in percent.
	muscles, pattern, load, provoker int
}

// candidate is a drill that stands in for the lift.
type candidate struct {
	unit
	worth worth
}

// rank is a candidate's place in the list as one number, the least first; the last bits are its drill.
type rank uint64

// ranking is the list that an answer takes the first few of: open before test first; what trains the lift's work before
// training elsewhere; removed before lowered; points; tier; id. An answer needs a few of hundreds: looking for each is
// less work than putting all in order, and most that train elsewhere, which come after all kin that is open, are ranked
// only when the list gets there.
type ranking struct {
	list  []rank
	later rules.Drills
	count int // of those in the list, and later
}

// firstElsewhere is where the list gets to what isn't both open and kin.
const firstElsewhere = 1 << 62

func (a *asked) ranked(j *rules.Judgement, of *ofLift) *ranking {
	now, later := of.alike.Kin, of.alike.Others
	for region := range a.e.Frame.Vocabulary.Regions {
		if a.sore>>region&1 != 0 {
			later = later.Without(a.e.Loading(region))
		}
	}
	for drill := range a.logged() {
		if later.Has(drill) {
			now = now.And(drill)
		}
	}
	l := &a.ranking
	l.list, l.later = l.list[:0], later.Without(now)
	a.rank(j, of, now, l)
	if a.gate.closes() || len(a.q.Profile.Clearances) > 0 { // that some of them are left doesn't mean that they stand
		a.rank(j, of, l.later, l)
		l.later = rules.Drills{}
	}
	l.count = len(l.list) + j.CountLeft(l.later)
	return l
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

// rank packs the order: three bits of first or later, the points from the most down, the tier, the drill in order of id.
func (w *worth) rank(drill int) rank {
	const most = 1 << 24 // more points than weights and favours can give
	return later(w.verdict == rules.Open)<<63 | later(w.tier != elsewhere)<<62 | later(w.removed)<<61 |
		rank(most-w.score)<<36 | rank(w.tier)<<32 | rank(drill)
}

func later(first bool) rank {
	if first {
		return 0
	}
	return 1
}

// weigh is false for a drill that can't stand in, or not today.
func (a *asked) weigh(j *rules.Judgement, came rules.Standing, of *ofLift, w *worth) bool {
	alike := of.alike.Drill[came.Drill]
	kin := &a.e.Catalogue.Kin[came.Drill]
	if w.tier = tier(alike.Kinship); w.tier == elsewhere && !a.elsewhere(kin) || !a.stand(j, came, &w.standing) {
		return false
	}
	a.score(w, kin, alike, of)
	return true
}

// keep takes the first of the list, a few of a family within a tier, each dosed and looked at a second time. A limit
// of -1 takes all of them.
func (a *asked) keep(j *rules.Judgement, list *ranking, of *ofLift, limit int) []candidate {
	perFamily := a.e.Book.PerFamily
	if limit < 0 {
		limit, perFamily = list.count, list.count
	}
	limit = cmp.Or(limit, a.e.Book.Limit)
	kept := a.kept[:0]
	for r, more := a.after(j, of, list, 0); more && len(kept) < limit; r, more = a.after(j, of, list, r) {
		d := a.e.Catalogue.Drills[uint32(r)]
		var w worth
		a.weigh(j, j.StandingOf(d.Index), of, &w)
		c := candidate{unit{drill: d, standing: w.standing}, w}
		alike := 0
		for i := range kept {
			if kept[i].worth.tier == w.tier && kept[i].drill.Family == c.drill.Family {
				alike++
			}
		}
		if alike < perFamily && a.ready(j, &c.unit) && a.second(j, &c.unit) {
			kept = append(kept, c)
		}
	}
	a.kept = kept
	return kept
}
