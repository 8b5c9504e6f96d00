package rules

import (
	"slices"
	"sync/atomic"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// relevant are the rules that could hold for a drill, for some client: most rules are about other drills. They are
// found by the closures, on a client of whom nothing is known, when a drill is first looked at on its own.
type relevant struct {
	byDrill []atomic.Pointer[map[Effect][]*Rule]
	unknown *client.Facts // nothing told, nothing measured
	always  map[*Rule]bool
}

func (e *Edition) newRelevant() *relevant {
	r := &relevant{byDrill: make([]atomic.Pointer[map[Effect][]*Rule], len(e.Catalogue.Drills)), unknown: client.Unknown(e.Frame), always: map[*Rule]bool{}}
	for _, rule := range e.judged {
		r.always[rule] = beyondUnknown(rule.When, false)
	}
	return r
}

// beyondUnknown is true of conditions for which a client of whom nothing is known doesn't stand for every client: they
// read the lift, ask what was measured, look into lists whose possible members nobody knows, or deny a comparison,
// which a number that isn't stated would make true.
func beyondUnknown(n *condition.Node, under bool) bool {
	ofClient := func(r *condition.Ref) bool { return r.Root == condition.OfFacts }
	open := func(r *condition.Ref) bool {
		return r.Root == condition.OfLift || ofClient(r) && (r.Kind == client.Word || r.Kind == client.List) && r.Path.Words == nil
	}
	switch n.Op {
	case condition.And, condition.Or, condition.Not:
		return slices.ContainsFunc(n.Kids, func(k *condition.Node) bool { return beyondUnknown(k, under != (n.Op == condition.Not)) })
	case condition.Measured:
		return true
	case condition.Compare:
		return under && n.Reads(ofClient) || n.Reads(open)
	case condition.Has:
		return n.Reads(open) || beyondUnknown(n.Body, false) || beyondUnknown(n.Body, true)
	}
	return n.Reads(open)
}

// Relevant lists the rules of an effect that could hold for a drill, in the order of the book.
func (e *Edition) Relevant(effect Effect, d *catalog.Drill) []*Rule {
	if e.plain != nil {
		return e.Book.Of(effect) // the reference passes over nothing
	}
	at := &e.relevant.byDrill[d.Index]
	found := at.Load()
	if found == nil {
		found = e.findRelevant(d)
		at.Store(found)
	}
	return (*found)[effect]
}

func (e *Edition) findRelevant(d *catalog.Drill) *map[Effect][]*Rule {
	found := map[Effect][]*Rule{}
	for _, r := range e.judged {
		if e.relevant.always[r] || e.couldEver(r, d) {
			found[r.Effect] = append(found[r.Effect], r)
		}
	}
	return &found
}

func (e *Edition) couldEver(r *Rule, d *catalog.Drill) bool {
	for i, row := range e.rows[d.Index] {
		if i > 0 && !r.allRows() {
			break
		}
		for side := range 2 {
			if rd := condition.Read(e.relevant.unknown, side, row, e.noLift); rd.Eval(r.When).Possible {
				return true
			}
		}
	}
	return false
}
