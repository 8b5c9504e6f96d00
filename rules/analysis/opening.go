package analysis

import (
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// How far the search for what would open a drill goes. The nodes are those of a side altogether, however many bars it has: an
// answer that takes more is not decided.
const (
	openingChanges = 6
	openingNodes   = 3000
	openingSets    = 3
	// What deriving a client anew takes, in nodes: so many more, and one for so many entries of the longest list (measured).
	openingDerived = 4
	openingEntries = 64
)

// Opening is what would open a side of a drill.
type Opening struct {
	// Found has the smallest changes of what training or kit can change, or of what nobody measured.
	Found Found
	// Deciders say, each once and in the order of the book, what stands behind the bars that none of these changes lifts.
	Deciders []string
}

// FindOpening finds the smallest change that would open a drill on a side: of range, strength, hold or kit, or of a measure
// that nobody took. Pain, age, conditions and answers are never changed, a rung only by a review. derive works out the
// facts of a request as those of the judgement were.
func FindOpening(j *rules.Judgement, d *catalog.Drill, side int, derive func(*client.Request) *client.Facts) Opening {
	e := j.Edition
	search := Search{Request: j.Facts.Request, lift: j.Lift, now: j.Facts, derive: derive, mayChange: trainable, rising: true,
		Changes: openingChanges, Nodes: openingNodes, Sets: openingSets,
		derivingCosts: openingDerived + len(j.Facts.Request.Profile.Log)/openingEntries}
	var out Opening
	var all []Demand
	nearest := func(demands []Demand) Found {
		search.Demands = demands
		found := Nearest(e, search)
		search.Nodes -= found.nodes
		return found
	}
	for r := range e.BarsFor(d) { // whoever judges, the search looks at the same bars
		held := j.Held(r, d, side)
		if held&rules.Covered != 0 {
			continue
		}
		demand := MustNot(r, d, side)
		all = append(all, demand)
		if held&rules.Possible == 0 {
			continue
		}
		alone := nearest([]Demand{demand})
		if alone.Existence == Exists || alone.Existence == TooFar {
			continue
		}
		if alone.spent {
			return out
		}
		if !slices.Contains(out.Deciders, r.WhoDecides) {
			out.Deciders = append(out.Deciders, r.WhoDecides)
		}
	}
	if len(out.Deciders) == 0 {
		search.ranges = true
		out.Found = nearest(all)
	}
	return out
}

// trainable is true of what training or kit can change, and of what somebody could measure and nobody has.
func trainable(p *client.Path, _ int, known bool) bool {
	return p.CanChange || !known && p.Measure != ""
}
