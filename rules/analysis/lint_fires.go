package analysis

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/predicate"
)

// fires looks for rules that hold for nobody, and for rules that hold for everybody on everything.
func (l *linter) fires() {
	for _, r := range l.e.AllRules() {
		if !l.seen.at[r].fired {
			l.never(r)
		}
		// The floor, a caution that is always shown, and the dose that catches all are meant so.
		if meant := r.Floor || r.When.Op == predicate.Always && (r.Effect == rules.Advise || r.Effect == rules.Dosing); !l.seen.at[r].spared &&
			!meant {
			l.always(r)
		}
	}
}

func (l *linter) never(r *rules.Rule) {
	drills := l.couldFor(r)
	f := Finding{Kind: neverFires, At: r.WhenAt(0), Rules: []string{r.ID}}
	if len(drills) == 0 {
		l.hopeless[r] = true
		f.Message = fmt.Sprintf("%s holds for no drill: %s", r.ID, l.withoutDrill(r))
		l.find(f)
		return
	}
	switch l.ask(query{holds: []*rules.Rule{r}, drills: drills}).existence {
	case NoClient:
		l.hopeless[r] = true
		f.Message, f.Drills = fmt.Sprintf("%s holds for no client: %s", r.ID, l.withoutClient(r, drills)), drillIDs(drills)
		l.find(f)
	case NotDecided:
		l.left[neverFires]++
	}
}

func (l *linter) always(r *rules.Rule) {
	switch l.ask(query{never: []*rules.Rule{r}, drills: l.couldFor(r)}).existence {
	case NoClient:
		where := "on every drill"
		if !r.AboutDrills() {
			where = "whatever is told"
		}
		l.find(Finding{Kind: alwaysFires, At: r.WhenAt(0), Rules: []string{r.ID}, Message: fmt.Sprintf("%s holds for every client, %s", r.ID,
			where)})
	case NotDecided:
		l.left[alwaysFires]++
	}
}

// withoutDrill is which part of a condition no drill meets.
func (l *linter) withoutDrill(r *rules.Rule) string {
	for _, part := range parts(r.When) {
		if !rules.BeyondUnknown(part, false) && !slices.ContainsFunc(l.e.Catalogue.Drills, func(d *catalog.Drill) bool {
			return l.e.PossibleOn(part, l.e.RowsReadBy(r, d), nil)
		}) {
			return "no drill meets " + quotedPart(part)
		}
	}
	return "no drill meets all of its parts at once"
}

// withoutClient is which part of a condition no client meets, or which two of them no client meets at once.
func (l *linter) withoutClient(r *rules.Rule, drills []*catalog.Drill) string {
	all := parts(r.When)
	part := func(n *predicate.Node) *rules.Rule {
		p := *r
		p.When = n
		return &p
	}
	for _, p := range all {
		if l.ask(query{holds: []*rules.Rule{part(p)}, drills: drills}).existence == NoClient {
			return "nobody meets " + quotedPart(p)
		}
	}
	for i, p := range all {
		for _, q := range all[:i] {
			if l.ask(query{holds: []*rules.Rule{part(q), part(p)}, drills: drills}).existence == NoClient {
				return fmt.Sprintf("nobody meets %s and %s at once", quotedPart(q), quotedPart(p))
			}
		}
	}
	return "nobody meets all of its parts at once"
}

// parts are what must all hold.
func parts(n *predicate.Node) []*predicate.Node {
	if n.Op != predicate.And {
		return []*predicate.Node{n}
	}
	var out []*predicate.Node
	for _, k := range n.Kids {
		out = append(out, parts(k)...)
	}
	return out
}

// quotedPart is a part in its author's words, as far as they are kept: an any that was written out is its first copy.
func quotedPart(n *predicate.Node) string { return "“" + partText(n) + "”" }

func partText(n *predicate.Node) string {
	switch {
	case n.Op == predicate.Always:
		return "true"
	case n.Op == predicate.Not:
		return "not (" + partText(n.Kids[0]) + ")"
	case n.Op != predicate.And && n.Op != predicate.Or:
		return n.Text
	case len(n.Kids) == 0:
		return fmt.Sprint(n.Op == predicate.And)
	case n.Domain != "":
		return fmt.Sprintf("%s(%s, %s)", map[predicate.Op]string{predicate.And: "all", predicate.Or: "any"}[n.Op], n.Domain, partText(n.Kids[0]))
	}
	var kids []string
	for _, k := range n.Kids {
		kids = append(kids, partText(k))
	}
	return strings.Join(kids, map[predicate.Op]string{predicate.And: " and ", predicate.Or: " or "}[n.Op])
}

func drillIDs(drills []*catalog.Drill) []string {
	var out []string
	for _, d := range drills {
		if d != nil {
			out = append(out, d.ID)
		}
	}
	return out
}
