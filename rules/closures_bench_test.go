package rules

import (
	"testing"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// handWritten judges drill by drill as a program in Go would that was written for the book: each condition is a Go
// function with every path resolved, and the loop around them does nothing else. A drill is read once for all rules.
type handWritten struct {
	rules []handRule
	rows  [][]*predicate.Row
	holds int // so that nothing is left out as unused

	first, second predicate.Reading
}

type handRule struct {
	when      *predicate.Node
	bar, both bool
}

func newHandWritten(e *Edition) *handWritten {
	h := &handWritten{rows: e.rows}
	for _, r := range e.judged {
		h.rules = append(h.rules, handRule{r.When, r.Effect == Bar, r.BothRows()})
	}
	return h
}

// judge works out every truth of every rule on some drills.
func (h *handWritten) judge(f *client.Facts, lift *predicate.Row, drills []*catalog.Drill) {
	for _, d := range drills {
		rows := h.rows[d.Index]
		for side := range 2 {
			h.first = predicate.Read(f, side, rows[0], lift)
			two := len(rows) > 1
			if two {
				h.second = predicate.Read(f, 1-side, rows[1], lift)
			}
			for i := range h.rules {
				r := &h.rules[i]
				held := r.on(&h.first)
				if r.both && two {
					held |= r.on(&h.second)
				}
				h.holds += int(held)
			}
		}
	}
}

func (r *handRule) on(rd *predicate.Reading) Held {
	switch t := rd.Eval(r.when); {
	case !t.Possible:
		return 0
	case t.Sure:
		return Possible | Sure | Firm
	case r.bar && rd.Firm(r.when):
		return Possible | Firm
	}
	return Possible
}

func benchmarkClosures(b *testing.B, e *Edition) {
	all, drills, hand := askings(e), sampled(e, "closures"), newHandWritten(e)
	b.ReportAllocs()
	for b.Loop() {
		for _, a := range all {
			hand.judge(a.facts, e.LiftRow(a.lift), drills)
		}
	}
	reportJudged(b, e, len(drills), len(all))
}
