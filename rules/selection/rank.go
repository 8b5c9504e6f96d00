package selection

import (
	"cmp"
	"math"

	"drillwright/rules"
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

// ranked scores every drill that may stand in for the lift. In order, they are one list: open before test first; what
// trains the lift's work before training elsewhere; removed before lowered; points; tier; id.
func (a *asked) ranked(j *rules.Judgement, of *ofLift) []rank {
	list := make([]rank, 0, len(a.e.Catalogue.Drills))
	for came := range j.Left() {
		var w worth
		if came.Drill != of.drill.Index && a.weigh(j, came, of, &w) {
			list = append(list, w.rank(came.Drill))
		}
	}
	return list
}

// after is the first of a list that comes after a rank. An answer takes a few of hundreds: looking for each is less
// work than putting all in order.
func after(list []rank, last rank) (next rank, ok bool) {
	next = math.MaxUint64
	for _, r := range list {
		if r > last && r < next {
			next, ok = r, true
		}
	}
	return next, ok
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
	alike := of.alike[came.Drill]
	if alike.Kinship == rules.NoSubstitute {
		return false
	}
	kin := &a.e.Catalogue.Kin[came.Drill]
	if w.tier = tier(alike.Kinship); w.tier == elsewhere && !a.elsewhere(kin) || !a.stand(j, came, &w.standing) {
		return false
	}
	a.score(w, kin, alike, of)
	return true
}

// keep takes the first of the list, a few of a family within a tier, each looked at a second time and dosed. A limit
// of -1 takes all of them.
func (a *asked) keep(j *rules.Judgement, list []rank, of *ofLift, limit int) []candidate {
	perFamily := a.e.Book.PerFamily
	if limit < 0 {
		limit, perFamily = len(list), len(list)
	}
	limit = cmp.Or(limit, a.e.Book.Limit)
	kept := make([]candidate, 0, min(limit, len(list)))
	for r, more := after(list, 0); more && len(kept) < limit; r, more = after(list, r) {
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
		if alike < perFamily && a.second(j, &c.unit) && a.ready(j, &c.unit) {
			kept = append(kept, c)
		}
	}
	return kept
}
