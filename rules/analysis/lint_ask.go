package analysis

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// query is a client wished for: on some drill and side all of some conditions surely hold, and none of others can.
type query struct {
	holds, never []*rules.Rule
	drills       []*catalog.Drill // the drills it may be
	bothSides    bool             // what never holds can't on the other side either
}

// verdict is how a wish came out.
type verdict struct {
	existence Existence // NoClient: on none of the drills. NotDecided, or TooFar: on some of them nobody can say
	client    *client.Request
	drill     *catalog.Drill
}

// ask asks for a client, drill by drill, those that the rules read alike once.
func (l *linter) ask(w query) verdict {
	asked := slices.Concat(w.holds, w.never)
	out := verdict{existence: NoClient}
	read := 0
	for _, r := range asked {
		r.When.Refs(func(*predicate.Ref) { read++ })
	}
	if !l.step(read + len(w.drills)) {
		return verdict{}
	}
	sides, lifts := l.sides(asked), l.alike.lifts(asked)
	open := 0
	for _, d := range l.alike.drills(asked, w.drills) {
		for _, lift := range lifts {
			for side := range sides {
				switch found := l.nearest(w, d, lift, side); found.Existence {
				case Exists:
					q := found.Sets[0].Request
					if lift != nil {
						next := *q
						q, next.Lift = &next, lift.ID
					}
					l.look(q)
					return verdict{Exists, q, d}
				case NoClient:
				default:
					out.existence = NotDecided
					if open++; open == maxOpen || l.ended() {
						return out
					}
				}
			}
		}
	}
	return out
}

// maxOpen is on how many drills a question may stay open before it is given up.
const maxOpen = 4

func (l *linter) nearest(w query, d, lift *catalog.Drill, side int) Found {
	var demands []Demand
	for _, r := range w.holds {
		demands = append(demands, Must(r, d, side))
	}
	for _, r := range w.never {
		if demands = append(demands, MustNot(r, d, side)); w.bothSides {
			demands = append(demands, MustNot(r, d, 1-side))
		}
	}
	found := Found{}
	if !l.ended() {
		found = l.search(Search{Demands: demands, Request: l.free, now: l.facts, lift: lift, Nodes: lintNodes})
	}
	if !l.ended() && found.Existence != Exists && found.Existence != NoClient { // from a client of whom nothing is known
		found = l.search(Search{Demands: demands, Request: l.nobody(), lift: lift, Nodes: lintNodes / 4})
	}
	return found
}

// search pays for a search out of what is left.
func (l *linter) search(q Search) Found {
	q.Changes, q.Sets, q.steps = lintChanges, 1, l.steps
	found := Nearest(l.e, q)
	l.steps -= found.steps + searchingSteps
	return found
}

// searchingSteps is what a search costs beside its own.
const searchingSteps = 50

// nobody is a client of whom nothing is known.
func (l *linter) nobody() *client.Request {
	q := emptyRequest()
	q.Done = l.free.Done
	return q
}

// sides is on how many sides to ask: the body is the same on both, unless a rule asks which is which.
func (l *linter) sides(asked []*rules.Rule) int {
	which := func(r *predicate.Ref) bool { return r.Name == "side" || r.Name == "client.dominant_side" }
	if slices.ContainsFunc(asked, func(r *rules.Rule) bool { return r.When.Reads(which) }) {
		return 2
	}
	return 1
}

// couldFor are the drills that a rule could hold for.
func (l *linter) couldFor(r *rules.Rule) []*catalog.Drill {
	if !r.AboutDrills() {
		return []*catalog.Drill{nil} // it isn't about a drill
	}
	return couldBe(l.e, r)
}

func couldBe(e *rules.Edition, r *rules.Rule) []*catalog.Drill {
	var out []*catalog.Drill
	for _, d := range e.Catalogue.Drills {
		if e.AppliesTo(r, d) {
			out = append(out, d)
		}
	}
	return out
}

// alike tells which drills some rules can't tell apart.
type alike struct {
	e     *rules.Edition
	steps *int // left
}

func (a *alike) refs(rules []*rules.Rule, root predicate.Root) []*predicate.Ref {
	var out []*predicate.Ref
	seen := map[string]bool{}
	for _, r := range rules {
		r.When.Refs(func(ref *predicate.Ref) {
			if ref.Root == root && !seen[ref.Name] {
				seen[ref.Name] = true
				out = append(out, ref)
			}
		})
	}
	return out
}

// drills leaves one of each kind.
func (a *alike) drills(rules []*rules.Rule, drills []*catalog.Drill) []*catalog.Drill {
	refs := a.refs(rules, predicate.OfDrill)
	*a.steps -= len(drills) * len(refs)
	return a.once(drills, func(d *catalog.Drill) string {
		if d == nil {
			return ""
		}
		text := fmt.Sprint(len(a.e.Rows(d)))
		for _, row := range a.e.Rows(d) {
			text += read(refs, row) + "/"
		}
		return text
	})
}

// lifts are one of each kind of lift, and no lift, as far as some rules read them.
func (a *alike) lifts(rules []*rules.Rule) []*catalog.Drill {
	refs := a.refs(rules, predicate.OfLift)
	if len(refs) == 0 {
		return []*catalog.Drill{nil}
	}
	*a.steps -= len(a.e.Catalogue.Drills) * len(refs)
	return append([]*catalog.Drill{nil}, a.once(a.e.Catalogue.Drills, func(d *catalog.Drill) string { return read(refs, a.e.Rows(d)[0]) })...)
}

func (a *alike) once(drills []*catalog.Drill, key func(*catalog.Drill) string) []*catalog.Drill {
	var out []*catalog.Drill
	seen := map[string]bool{}
	for _, d := range drills {
		if k := key(d); !seen[k] {
			seen[k] = true
			out = append(out, d)
		}
	}
	return out
}

// read spells what some paths say of a row.
func read(refs []*predicate.Ref, row *predicate.Row) string {
	var b strings.Builder
	for _, r := range refs {
		switch r.Kind {
		case client.Number:
			fmt.Fprint(&b, row.Number(r.Slot), ";")
		case client.Bool:
			fmt.Fprint(&b, row.Yes(r.Slot), ";")
		default:
			fmt.Fprintf(&b, "%q;", row.Words(r.Slot))
		}
	}
	return b.String()
}
