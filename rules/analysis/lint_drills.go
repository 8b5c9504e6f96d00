package analysis

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
)

// drills looks for drills that no client can get, then for favours that are about such drills alone.
func (l *linter) drills() {
	for i, d := range l.e.Catalogue.Drills {
		if l.seen.open[i] {
			continue
		}
		if l.ended() {
			l.left[unreachableDrill]++
			continue
		}
		bars := slices.Collect(l.e.BarsFor(d))
		switch l.ask(query{never: bars, drills: []*catalog.Drill{d}, bothSides: d.Sides != catalog.OneSide}).existence {
		case NoClient:
			l.gone[d] = true
			l.unreachable(d, bars)
		case NotDecided:
			l.left[unreachableDrill]++
		}
	}
	for _, r := range l.e.Book.Of(rules.Favour) {
		drills := l.couldFor(r)
		if r.Points > 0 && len(drills) > 0 && !slices.ContainsFunc(drills, func(d *catalog.Drill) bool { return !l.gone[d] }) {
			l.find(Finding{Kind: contradicts, At: r.WhenAt(0), Rules: []string{r.ID}, Drills: drillIDs(drills),
				Message: fmt.Sprintf("%s favours only drills that no client can get", r.ID)})
		}
	}
}

// unreachable names a bar that holds for everyone, or those that hold for the freest client.
func (l *linter) unreachable(d *catalog.Drill, bars []*rules.Rule) {
	j := l.e.JudgeOne(l.facts, nil)
	defer j.Done()
	var held, always []string
	for _, r := range bars {
		if (j.Held(r, d, 0)|j.Held(r, d, 1))&rules.Possible == 0 {
			continue
		}
		held = append(held, r.ID)
		if l.ask(query{never: []*rules.Rule{r}, drills: []*catalog.Drill{d}, bothSides: d.Sides != catalog.OneSide}).existence == NoClient {
			always = append(always, r.ID)
		}
	}
	f := Finding{Kind: unreachableDrill, At: d.At, Rules: held, Drills: []string{d.ID}, Client: l.free,
		Message: d.ID + " is open to no client: whatever a client is like, some bar holds"}
	if len(always) > 0 {
		f.Rules, f.Client = always, nil
		f.Message = fmt.Sprintf("%s is open to no client: it is always barred by %s", d.ID, strings.Join(always, ", "))
	}
	l.find(f)
}
