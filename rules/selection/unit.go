package selection

import (
	"iter"
	"math"
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// standing is how a drill came out of the judging: the sides that are open, or that need a test, whichever is the
// better; a two-side or midline drill has both or none.
type standing struct {
	open    [2]bool
	verdict rules.Verdict
	points  int // favours, the lower side
}

// unit is a drill that may be trained, with its sides in the order to train and their dose, once it is ready.
type unit struct {
	drill *catalog.Drill
	standing
	sides []int
	dose  *Dose
}

// stand makes of how a drill came out what may be trained of it. It is false when that is nothing.
func (a *asked) stand(j *rules.Judgement, came rules.Standing, s *standing) bool {
	if a.gate.closes() {
		a.closed(&came)
	}
	var ok bool
	if a.e.Catalogue.Kin[came.Drill].OneSide {
		ok = s.oneSide(came)
	} else {
		ok = s.together(came)
	}
	if !ok || !a.loadsBound() {
		return ok
	}
	return !a.loadMayFall(came.Drill) || a.ready(j, &unit{drill: a.e.Catalogue.Drills[came.Drill], standing: *s})
}

// closed bars the sides that screening closes.
func (a *asked) closed(came *rules.Standing) {
	for side := range 2 {
		if !came.Barred[side] {
			_, allowed := a.gate.allows(a.e, a.e.Catalogue.Drills[came.Drill], side)
			came.Barred[side] = !allowed
		}
	}
}

// together: a drill that works both sides is barred if either is, waits for a test if either does, and has the lower
// points.
func (s *standing) together(came rules.Standing) bool {
	s.open, s.verdict, s.points = [2]bool{true, true}, rules.Open, min(came.Points[0], came.Points[1])
	if came.Untested[0] || came.Untested[1] {
		s.verdict = rules.TestFirst
	}
	return !came.Barred[0] && !came.Barred[1]
}

// oneSide: of a drill that works one side at a time the open sides count; those that wait for a test only when none
// is open.
func (s *standing) oneSide(came rules.Standing) bool {
	s.open, s.verdict, s.points = [2]bool{!came.Barred[0] && !came.Untested[0], !came.Barred[1] && !came.Untested[1]}, rules.Open, math.MaxInt
	if !s.open[0] && !s.open[1] {
		s.open, s.verdict = [2]bool{!came.Barred[0], !came.Barred[1]}, rules.TestFirst
	}
	for side, open := range s.open {
		if open {
			s.points = min(s.points, came.Points[side])
		}
	}
	return s.open[0] || s.open[1]
}

// ready puts the sides in the order to train, the limiting side first, and doses them. It is false when the load
// that is left lies below what the drill starts at.
func (a *asked) ready(j *rules.Judgement, u *unit) bool {
	if u.sides != nil {
		return true
	}
	first := catalog.Left
	if u.drill.Sides == catalog.OneSide {
		if first = a.limiting(u.drill); first < 0 {
			first = a.weakerHand()
		}
	}
	u.sides = orders[first]
	if !u.open[1-first] {
		u.sides = u.sides[:1]
	}
	if !u.open[first] {
		u.sides = orders[1-first][:1]
	}
	return a.dosed(j, u)
}

// orders are the sides in the order to train, by the first.
var orders = [2][]int{{catalog.Left, catalog.Right}, {catalog.Right, catalog.Left}}

// second is the second look: each side of a drill about to be returned is judged once more on its own.
func (a *asked) second(j *rules.Judgement, u *unit) bool {
	for side, open := range u.open {
		if open && !j.SecondLook(u.drill, side) {
			return false
		}
	}
	return true
}

// weakerHand is the side that isn't the dominant one; the left when nobody told.
func (a *asked) weakerHand() int {
	if a.q.Profile.DominantSide == client.SideLeft {
		return catalog.Right
	}
	return catalog.Left
}

// limiting is the side that sets the pace of a drill; -1: either.
func (a *asked) limiting(d *catalog.Drill) int {
	if !a.paced {
		a.facts.Pace(&a.pace)
		a.paced = true
	}
	return a.pace.Limiting(d.Drives)
}

// sideDoses puts the sides in order with their words.
func (a *asked) sideDoses(u *unit) []SideDose {
	if u.drill.Sides != catalog.OneSide {
		return []SideDose{{Side: "BOTH", Dose: u.dose, Words: "Both sides together."}}
	}
	limiting := a.limiting(u.drill)
	out := make([]SideDose, len(u.sides))
	for i, side := range u.sides {
		out[i] = SideDose{Side: string(client.Sides[side]), Dose: u.dose, Words: a.whyHere(u, i, limiting)}
	}
	return out
}

// sideWords say why a side stands where it does.
var sideWords = [2]struct{ trainsOn, only, first, then, weaker string }{
	{
		trainsOn: "The left side only: the right is not open today; this side trains on.",
		only:     "The left side only.",
		first:    "The left side first: it sets the pace.",
		then:     "Then the left side: the same repetitions and load, no more.",
		weaker:   "The left side first: the other is the dominant one.",
	},
	{
		trainsOn: "The right side only: the left is not open today; this side trains on.",
		only:     "The right side only.",
		first:    "The right side first: it sets the pace.",
		then:     "Then the right side: the same repetitions and load, no more.",
		weaker:   "The right side first: the other is the dominant one.",
	},
}

// whyHere says why a side stands at a place in the order.
func (a *asked) whyHere(u *unit, place, limiting int) string {
	words := &sideWords[u.sides[place]]
	switch {
	case len(u.sides) == 1 && limiting == 1-u.sides[place]:
		return words.trainsOn
	case len(u.sides) == 1:
		return words.only
	case limiting >= 0 && place == 0:
		return words.first
	case limiting >= 0:
		return words.then
	case place == 1:
		return "Then the other side, the same."
	case a.q.Profile.DominantSide != client.SideNone:
		return words.weaker
	}
	return "Either side first."
}

// cautions of a unit, by rule id.
func (a *asked) cautions(j *rules.Judgement, u *unit) []Reason {
	out := a.reasoned[:0]
	for r := range a.warnings(j, u.drill) {
		for _, side := range u.sides {
			if h := j.Held(r, u.drill, side); r.Effect == rules.Caution && h&rules.Possible != 0 || h&rules.Covered != 0 {
				out = j.AppendReasons(out, r, u.drill, side)
			}
		}
	}
	a.reasoned = out
	return append([]Reason(nil), unique(out)...) // nil when there are none
}

// warnings are the rules that can warn of a drill: cautions, and bars that a clearance can turn into one.
func (a *asked) warnings(j *rules.Judgement, d *catalog.Drill) iter.Seq[*rules.Rule] {
	if len(a.facts.Covered[0])+len(a.facts.Covered[1]) == 0 {
		return j.Relevant(rules.Caution, d)
	}
	return func(yield func(*rules.Rule) bool) {
		for _, r := range a.e.Book.Rules {
			if (r.Effect == rules.Caution || r.Effect == rules.Bar) && !yield(r) {
				return
			}
		}
	}
}

// untested are the bars of a unit that wait for a test.
func (a *asked) untested(j *rules.Judgement, u *unit) []Reason {
	var out []Reason
	if u.verdict != rules.TestFirst {
		return nil
	}
	for r := range j.Relevant(rules.Bar, u.drill) {
		for _, side := range u.sides {
			if j.Barred(r, u.drill, side) == rules.TestFirst {
				out = j.AppendReasons(out, r, u.drill, side)
			}
		}
	}
	return out
}

// reasons of a unit: what waits for a test, adjustments, the dose, what speaks for it; each by rule id.
func (a *asked) reasons(j *rules.Judgement, u *unit) []Reason {
	out, dosed := a.untested(j, u), u.sides
	if u.drill.Sides != catalog.OneSide {
		dosed = dosed[:1]
	}
	for r := range j.Relevant(rules.Adjust, u.drill) {
		for _, side := range dosed {
			if !r.Floor && j.Held(r, u.drill, side)&rules.Possible != 0 {
				out = j.AppendReasons(out, r, u.drill, side)
			}
		}
	}
	if r := a.e.Book.Dose(u.dose.Rule); r != nil {
		for _, side := range dosed {
			out = j.AppendReasons(out, r, u.drill, side)
		}
	}
	for r := range j.Relevant(rules.Favour, u.drill) {
		for _, side := range u.sides {
			if j.Favoured(r, u.drill, side) {
				out = j.AppendReasons(out, r, u.drill, side)
			}
		}
	}
	return unique(out)
}

// unique drops reasons that say the same of the same side, and joins those that say the same of both.
func unique(list []Reason) []Reason {
	out := list[:0]
	for _, r := range list {
		at := slices.IndexFunc(out, func(have Reason) bool { return have.Rule == r.Rule && have.Words == r.Words })
		switch {
		case at < 0:
			out = append(out, r)
		case out[at].Side != r.Side:
			out[at].Side = ""
		}
	}
	return out
}
