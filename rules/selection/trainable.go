package selection

import (
	"iter"
	"math"
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// eligibility is how a drill came out of the judging: the sides that are open, or that need a test, whichever is the
// better; a two-side or midline drill has both or none.
type eligibility struct {
	open     [2]bool
	untested [2]bool // of a one-side drill: sides that wait for a test while the other is open
	verdict  rules.Verdict
	points   int // favours, the lower side
}

// trainable is a drill that may be trained, with its sides in the order to train and their doses, once it is ready.
type trainable struct {
	drill *catalog.Drill
	eligibility
	sides   []int
	dose    [2]*Dose // of the sides to train; one for both that work together
	load    [2]load  // of each
	seconds int      // that all of it takes
}

// alike is whether both sides have the same dose.
func (u *trainable) alike() bool {
	x, y := *u.dose[0], *u.dose[1]
	x.LoadKg, y.LoadKg = nil, nil // the words say it too
	return x == y
}

// loads is whether a drill loads a region on sides that were told, while a side works.
func loads(d *catalog.Drill, region string, reported client.Side, side int) bool {
	for i := range d.Rows {
		if row := &d.Rows[i]; reported.On(side^i) && (row.Load(region) != nil || row.Carries(region)) {
			return true
		}
	}
	return false
}

// first is the dose of the side that goes first.
func (u *trainable) first() *Dose { return u.dose[u.sides[0]] }

// stand makes of how a drill came out what may be trained of it. It is false when that is nothing.
func (a *asked) stand(j *rules.Judgement, came rules.DrillResult, s *eligibility) bool {
	a.close(j, &came)
	if a.e.Catalogue.Features[came.Drill].OneSide {
		return s.oneSide(came)
	}
	return s.together(came)
}

// close bars what no rule on drills bars: the sides that screening closes, and those where the load that is left lies
// below what the drill starts at.
func (a *asked) close(j *rules.Judgement, came *rules.DrillResult) {
	d := a.e.Catalogue.Drills[came.Drill]
	if a.permitted.closes() {
		for side := range 2 {
			if !came.Barred[side] {
				_, allowed := a.permitted.allows(a.e, d, side)
				came.Barred[side] = !allowed
			}
		}
	}
	if a.loadsBound() && a.loadMayFall(came.Drill) {
		for side := range 2 {
			if !came.Barred[side] {
				_, enough := a.doseOn(j, d, side)
				came.Barred[side] = !enough
			}
		}
	}
}

// verdict is how a side came out.
func verdict(came rules.DrillResult, side int) rules.Verdict {
	switch {
	case came.Barred[side]:
		return rules.NotToday
	case came.Untested[side]:
		return rules.TestFirst
	}
	return rules.Open
}

// together: a drill that works both sides is barred if either is, waits for a test if either does, and has the lower
// points.
func (s *eligibility) together(came rules.DrillResult) bool {
	s.open, s.untested, s.verdict, s.points = [2]bool{true, true}, [2]bool{}, rules.Open, min(came.Points[0], came.Points[1])
	if came.Untested[0] || came.Untested[1] {
		s.verdict = rules.TestFirst
	}
	return !came.Barred[0] && !came.Barred[1]
}

// oneSide: of a drill that works one side at a time the open sides count; those that wait for a test only when none
// is open.
func (s *eligibility) oneSide(came rules.DrillResult) bool {
	s.open, s.verdict, s.points = [2]bool{!came.Barred[0] && !came.Untested[0], !came.Barred[1] && !came.Untested[1]}, rules.Open, math.MaxInt
	s.untested = [2]bool{!came.Barred[0] && came.Untested[0] && s.open[1], !came.Barred[1] && came.Untested[1] && s.open[0]}
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

// ready puts the sides in the order to train, the limiting side first, and doses them. It is false when the load that is
// left lies below what the drill starts at, which closes a side before.
func (a *asked) ready(j *rules.Judgement, u *trainable) bool {
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

// second is the second look at a unit that is ready: each side of a drill about to be returned is judged once more on its
// own, and so is its dose.
func (a *asked) second(j *rules.Judgement, u *trainable) bool {
	for side, open := range u.open {
		if open && !j.SecondLook(u.drill, side) {
			return false
		}
	}
	for _, side := range u.sides {
		if !a.withinLimits(j, u, side) {
			a.e.Withhold()
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
func (a *asked) sideDoses(u *trainable) []SideDose {
	if u.drill.Sides != catalog.OneSide {
		return []SideDose{{Side: "BOTH", Dose: u.first(), Words: "Both sides together."}}
	}
	limiting := a.limiting(u.drill)
	out := make([]SideDose, len(u.sides))
	for i, side := range u.sides {
		out[i] = SideDose{Side: string(client.Sides[side]), Dose: u.dose[side], Words: a.whyHere(u, i, limiting)}
	}
	return out
}

// sideWords say why a side stands where it does.
var sideWords = [2]struct{ trainsOn, waits, only, first, then, fewer, weaker string }{
	{
		trainsOn: "The left side only: the right is not open today; this side trains on.",
		waits:    "The left side today: the right waits for its test.",
		only:     "The left side only.",
		first:    "The left side first: it sets the pace.",
		then:     "Then the left side: the same repetitions and load, no more.",
		fewer:    "Then the left side, by its own dose: no more than the first.",
		weaker:   "The left side first: the other is the dominant one.",
	},
	{
		trainsOn: "The right side only: the left is not open today; this side trains on.",
		waits:    "The right side today: the left waits for its test.",
		only:     "The right side only.",
		first:    "The right side first: it sets the pace.",
		then:     "Then the right side: the same repetitions and load, no more.",
		fewer:    "Then the right side, by its own dose: no more than the first.",
		weaker:   "The right side first: the other is the dominant one.",
	},
}

// whyHere says why a side stands at a place in the order.
func (a *asked) whyHere(u *trainable, index, limiting int) string {
	words := &sideWords[u.sides[index]]
	switch {
	case u.untested[1-u.sides[index]]:
		return words.waits
	case len(u.sides) == 1 && limiting == 1-u.sides[index]:
		return words.trainsOn
	case len(u.sides) == 1:
		return words.only
	case limiting >= 0 && index == 0:
		return words.first
	case limiting >= 0 && u.alike():
		return words.then
	case limiting >= 0:
		return words.fewer
	case index == 1 && !u.alike():
		return "Then the other side, by its own dose."
	case index == 1:
		return "Then the other side, the same."
	case a.q.Profile.DominantSide != client.SideNone:
		return words.weaker
	}
	return "Either side first."
}

// cautions of a unit, by rule id.
func (a *asked) cautions(j *rules.Judgement, u *trainable) []Reason {
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
		return j.Applicable(rules.Caution, d)
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
func (a *asked) untested(j *rules.Judgement, u *trainable) []Reason {
	var out []Reason
	if u.verdict != rules.TestFirst {
		return nil
	}
	for r := range j.Applicable(rules.Bar, u.drill) {
		for _, side := range u.sides {
			if j.Barred(r, u.drill, side) == rules.TestFirst {
				out = j.AppendReasons(out, r, u.drill, side)
			}
		}
	}
	return out
}

// reasons of a unit: what waits for a test, what sets its doses, what speaks for it; each by rule id.
func (a *asked) reasons(j *rules.Judgement, u *trainable) []Reason {
	out := a.untested(j, u)
	var own [2]sideDose
	for _, side := range u.sides {
		own[side], _ = a.doseOn(j, u.drill, side)
	}
	for r := range j.Applicable(rules.Adjust, u.drill) {
		for _, side := range u.sides {
			if !r.Floor && adjusts(r, j.Held(r, u.drill, side)) && u.setBy(&own[side], r) {
				out = j.AppendReasons(out, r, u.drill, side)
			}
		}
	}
	for _, side := range u.sides {
		if u.setBy(&own[side], own[side].by) {
			out = j.AppendReasons(out, own[side].by, u.drill, side)
		}
	}
	for r := range j.Applicable(rules.Favour, u.drill) {
		for _, side := range u.sides {
			if j.Favoured(r, u.drill, side) {
				out = j.AppendReasons(out, r, u.drill, side)
			}
		}
	}
	return unique(out)
}

// setBy is whether a rule on a side set a variable of the dose given there, which may be that of the other side.
func (u *trainable) setBy(own *sideDose, r *rules.Rule) bool {
	mine, given := values(own.Dose), values(*u.dose[own.side])
	if r.Effect == rules.Dosing {
		return own.Rule == u.dose[own.side].Rule || own.Rule == u.dose[own.side].With
	}
	return slices.ContainsFunc(r.Adjust, func(c rules.Adjustment) bool {
		if c.Variable == loadPercent {
			to, isCap := apply(c.Change, 100)
			given := &u.load[own.side]
			return !isCap && given.set != nil && given.bound == byLog && given.set == own.set && math.Abs(given.percent-to) < 1e-6
		}
		return mine[c.Variable] == given[c.Variable]
	})
}

// ofLoad is whether an adjustment is of the load alone: it says nothing where no load is named.
func ofLoad(r *rules.Rule) bool {
	return !slices.ContainsFunc(r.Adjust, func(c rules.Adjustment) bool { return c.Variable != loadPercent })
}

// adjusts is whether an adjustment that came out so counts: one that isn't sure only lowers.
func adjusts(r *rules.Rule, held rules.Held) bool {
	if held&rules.Possible == 0 {
		return false
	}
	return held&rules.Sure != 0 || slices.ContainsFunc(r.Adjust, func(c rules.Adjustment) bool { return !raises(c) })
}

// unique drops reasons that say the same of the same side, and joins those that say the same of both, with the facts of both; one that
// holds on a side holds.
func unique(list []Reason) []Reason {
	out := list[:0]
	for _, r := range list {
		at := slices.IndexFunc(out, func(have Reason) bool { return have.Rule == r.Rule && have.Words == r.Words })
		switch {
		case at < 0:
			out = append(out, r)
		case out[at].Side != r.Side:
			out[at].Side = ""
			out[at].Standing = min(out[at].Standing, r.Standing)
			fallthrough
		default:
			out[at].Member = min(out[at].Member, r.Member) // whichever side named it first
			joinFacts(&out[at], r.Facts)
		}
	}
	return out
}

// joinFacts adds the facts that a reason doesn't show yet. It shares its list with others.
func joinFacts(r *Reason, facts []rules.Fact) {
	r.Facts = slices.Clip(r.Facts)
	for _, f := range facts {
		if !slices.Contains(r.Facts, f) {
			r.Facts = append(r.Facts, f)
		}
	}
}
