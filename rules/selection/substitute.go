package selection

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Substitute answers: this lift hurts, what instead? Errors: *client.Invalid, *UnknownID.
func Substitute(e *rules.Edition, q *client.Request, opts Options) (*SubstituteAnswer, error) {
	a, err := ask(e, q)
	if err != nil {
		return nil, err
	}
	lift, err := a.drill(q.Lift)
	if err != nil {
		return nil, err
	}
	answer := &SubstituteAnswer{Lift: card(e, lift)}
	answer.Provokers, answer.Unclear = a.provoke(lift)
	if a.gate.none {
		answer.Header = a.head
		return answer, nil
	}
	j := e.Judge(a.facts, lift)
	defer j.Done()
	ranked := a.rank(j, lift, answer.Provokers)
	answer.Considered = len(ranked)
	kept := ranked
	if opts.Limit >= 0 {
		kept = capped(ranked, e.Book.PerFamily, cmp.Or(opts.Limit, e.Book.Limit))
	}
	var shown []*catalog.Drill
	for i, c := range kept {
		s := a.substitute(j, lift, c)
		if i+1 < len(kept) {
			s.Lead = c.points - kept[i+1].points
		}
		answer.Substitutes = append(answer.Substitutes, s)
		shown = append(shown, c.drill)
	}
	a.presumed(shown...)
	answer.LeftOut = a.leftOut(j, lift)
	a.head.MeasureNext = a.measureNext(j, j.Waits(), 3)
	answer.Header = a.head
	return answer, nil
}

// candidate is a drill that the hard rules left, with its score.
type candidate struct {
	*unit
	tier    string
	removed bool
	points  int
	parts   []Part
	// Shares of the lift that are kept, in percent.
	muscles, pattern, load int
}

var tiers = []string{SameLift, NearVariant, SamePattern, SameMuscles, Elsewhere}

// rank scores every drill that may stand in for the lift, in one list: open before test first; what trains the
// lift's work before training elsewhere; removed before lowered; points; tier; id.
func (a *asked) rank(j *rules.Judgement, lift *catalog.Drill, provokers []Provoker) []candidate {
	var list []candidate
	for _, d := range a.e.Catalogue.Drills {
		if d == lift {
			continue
		}
		tier := a.tier(d, lift)
		if tier == "" {
			continue
		}
		u := a.unit(j, d)
		if u == nil || a.second(j, u) {
			continue
		}
		list = append(list, a.score(u, tier, lift, provokers))
	}
	slices.SortStableFunc(list, func(x, y candidate) int {
		return cmp.Or(
			cmp.Compare(placeOf(x.verdict == rules.Open), placeOf(y.verdict == rules.Open)),
			cmp.Compare(placeOf(x.tier != Elsewhere), placeOf(y.tier != Elsewhere)),
			cmp.Compare(placeOf(x.removed), placeOf(y.removed)),
			cmp.Compare(y.points, x.points),
			cmp.Compare(slices.Index(tiers, x.tier), slices.Index(tiers, y.tier)),
			strings.Compare(x.drill.ID, y.drill.ID))
	})
	return list
}

// second is the second look: each side of a drill about to be returned is judged once more on its own.
func (a *asked) second(j *rules.Judgement, u *unit) bool {
	return slices.ContainsFunc(u.sides, func(side int) bool { return !j.SecondLook(u.drill, side) })
}

func placeOf(first bool) int {
	if first {
		return 0
	}
	return 1
}

// tier says what kind of substitute a drill is; "" when it is none. A drill of the same lift's family comes
// before one of its pattern, that before one of its muscles, that before training elsewhere.
func (a *asked) tier(d, lift *catalog.Drill) string {
	switch {
	case !d.Loads || d.Purpose != "train":
		if a.eases(d, lift) {
			return SameMuscles
		}
		return ""
	case d.Family == lift.Family && d.Tool == lift.Tool && d.Sides == lift.Sides:
		return SameLift
	case d.Family == lift.Family:
		return NearVariant
	case d.Pattern.Kind == lift.Pattern.Kind && !d.Pattern.SingleJoint:
		return SamePattern
	case sameMuscles(d, lift):
		return SameMuscles
	case a.elsewhere(d):
		return Elsewhere
	}
	return ""
}

// eases is true for unloaded work of the lift's own region and muscles: what is left on the lowest rung.
func (a *asked) eases(d, lift *catalog.Drill) bool {
	return !d.Loads && d.Main.Region == lift.Main.Region && sameMuscles(d, lift)
}

// sameMuscles is true when a prime mover of the drill drives or assists the lift.
func sameMuscles(d, lift *catalog.Drill) bool {
	return slices.ContainsFunc(d.Muscles.Prime, func(m string) bool {
		return slices.Contains(lift.Muscles.Prime, m) || slices.Contains(lift.Muscles.Assist, m)
	})
}

// elsewhere is true when a drill loads no sore region beyond bracing it.
func (a *asked) elsewhere(d *catalog.Drill) bool {
	for _, row := range d.Rows {
		for _, load := range row.Regions {
			sore := slices.ContainsFunc(a.q.Complaints, func(c client.Complaint) bool { return c.Region == load.Region })
			if sore && load.Role != "brace" {
				return false
			}
		}
	}
	return true
}

// score adds up the parts and the favours. A one-side drill that is open on one side alone trains half of the
// lift's work and takes nothing away from the other side: it counts as training elsewhere.
func (a *asked) score(u *unit, tier string, lift *catalog.Drill, provokers []Provoker) candidate {
	w := a.e.Book.Weights
	muscles, pattern := sharedMuscles(u.drill, lift), sharedPattern(u.drill, lift)
	load, loadWords := a.sharedLoad(u.drill, lift)
	provoker, removed := a.takenAway(u, provokers)
	c := candidate{unit: u, tier: tier, removed: removed}
	if u.drill.Sides == catalog.OneSide && len(u.sides) == 1 && a.soreSide(1-u.sides[0]) {
		c.tier = Elsewhere
		muscles, pattern, load, provoker = muscles/2, pattern/2, load/2, 0
	}
	c.muscles, c.pattern, c.load = muscles, pattern, load
	c.parts = []Part{
		{"muscles", w.Muscles * muscles / 100, w.Muscles, a.share(muscles) + " of the same muscles"},
		{"pattern", w.Pattern * pattern / 100, w.Pattern, a.share(pattern) + " of the pattern"},
		{"provoker", w.Provoker * provoker / 100, w.Provoker, map[int]string{100: "what sets it off is gone", 50: "what sets it off is less, or not known"}[provoker]},
		{"load", w.Load * load / 100, w.Load, loadWords},
		{"favours", u.points, 0, "by the rulebook's favours"},
	}
	for _, p := range c.parts {
		c.points += p.Points
	}
	return c
}

func (a *asked) soreSide(side int) bool {
	return slices.ContainsFunc(a.q.Complaints, func(c client.Complaint) bool { return c.Side.On(side) })
}

// share in words: the honest precision.
func (a *asked) share(percent int) string {
	switch {
	case percent >= a.e.Book.KeepsMost:
		return "most"
	case percent >= a.e.Book.KeepsSome:
		return "some"
	default:
		return "little"
	}
}

// sharedMuscles is the percentage of the lift's muscle work that a drill has too: 3 for a prime mover, 2 for one
// that assists, 1 for one that steadies.
func sharedMuscles(d, lift *catalog.Drill) int {
	own, theirs := roles(d), roles(lift)
	both, all := 0, 0
	for m, weight := range theirs {
		both += min(weight, own[m])
		all += weight
	}
	return both * 100 / max(all, 1)
}

func roles(d *catalog.Drill) map[string]int {
	w := map[string]int{}
	for _, m := range d.Muscles.Steady {
		w[m] = 1
	}
	for _, m := range d.Muscles.Assist {
		w[m] = 2
	}
	for _, m := range d.Muscles.Prime {
		w[m] = 3
	}
	return w
}

// sharedPattern: 100 for the same pattern (which says its direction), 50 for the same plane.
func sharedPattern(d, lift *catalog.Drill) int {
	switch {
	case d.Pattern == lift.Pattern:
		return 100
	case slices.ContainsFunc(d.Planes, func(p string) bool { return slices.Contains(lift.Planes, p) }):
		return 50
	}
	return 0
}

// sharedLoad: 100 when the drill can be made as heavy as the client's working load, 50 when that isn't known. The
// working load of a lift of the body's own weight is the share of the body that it moves.
func (a *asked) sharedLoad(d, lift *catalog.Drill) (int, string) {
	working, known := a.working(lift.ID)
	if share := lift.Load.BodyShare; share > 0 && !lift.Lifted() {
		if own := d.Load.BodyShare; own > 0 && !d.Lifted() {
			words := fmt.Sprintf("moves %s %% of body weight, the lift %s %%", rules.Figure(own), rules.Figure(share))
			return map[bool]int{true: 100, false: 0}[own*100 >= a.e.Book.BodySharePercent*share], words
		}
		mass := a.facts.Number("client.body_mass_kg", 0)
		working, known = share*mass.Lo/100, mass.Known()
	}
	if !known {
		return 50, "working load not known"
	}
	reach := map[string]float64{"light": a.e.Book.CeilingKg.Light, "medium": a.e.Book.CeilingKg.Medium}
	if most, bounded := reach[d.Load.Ceiling]; d.Load.Ceiling == "" || bounded && most < working {
		return 0, "can't be made as heavy as " + rules.Figure(working) + " kg"
	}
	return 100, "can be made as heavy as " + rules.Figure(working) + " kg"
}

// takenAway: 100 when every provoker is gone (grade 1 at most), 50 when all are lower or none is known.
func (a *asked) takenAway(u *unit, provokers []Provoker) (share int, removed bool) {
	if len(provokers) == 0 {
		return 50, false
	}
	for _, p := range provokers {
		if p.Stressor != "" && liftGrade(u.drill, p.Stressor) > 1 {
			return 50, false
		}
	}
	return 100, true
}

// capped keeps at most a few of a family within a tier, then the first of the list.
func capped(list []candidate, perFamily, limit int) []candidate {
	type key struct{ tier, family string }
	count := map[key]int{}
	var out []candidate
	for _, c := range list {
		k := key{c.tier, c.drill.Family}
		if count[k]++; count[k] <= perFamily && len(out) < limit {
			out = append(out, c)
		}
	}
	return out
}

func (a *asked) substitute(j *rules.Judgement, lift *catalog.Drill, c candidate) Choice {
	s := Choice{Drill: card(a.e, c.drill), Tier: c.tier, Verdict: string(c.verdict), Sides: a.sideDoses(c.unit), Points: c.points, Parts: c.parts,
		Removed: c.removed, TestSet: a.testSet(c.drill, c.doses[0])}
	keeps := func(percent int) string { return strings.ToUpper(a.share(percent)) }
	s.KeepsMuscles, s.KeepsPattern, s.KeepsLoad = keeps(c.muscles), keeps(c.pattern), keeps(c.load)
	s.TakesAway = a.difference(c.drill, lift)
	s.Cautions, s.Reasons = a.reasons(j, c.unit)
	for _, r := range s.Reasons {
		if r.Standing == rules.Untested {
			s.Tests = append(s.Tests, tests(j, r)...)
		}
	}
	slices.Sort(s.Tests)
	s.Tests = slices.Compact(s.Tests)
	return s
}

// difference names, for each sore region, the stressors of the lift that a drill removes or lowers.
func (a *asked) difference(d, lift *catalog.Drill) []string {
	var out []string
	for _, s := range a.e.Frame.Vocabulary.Stressors {
		sore := slices.ContainsFunc(a.q.Complaints, func(c client.Complaint) bool { return slices.Contains(s.Regions, c.Region) })
		had, has := liftGrade(lift, s.ID), liftGrade(d, s.ID)
		switch {
		case !sore || had <= has:
		case has == 0:
			out = append(out, "removes "+s.Name)
		default:
			out = append(out, "lowers "+s.Name)
		}
	}
	return out
}

// leftOut names the lift's nearest relatives that are not open today, each with the first rule that decides.
func (a *asked) leftOut(j *rules.Judgement, lift *catalog.Drill) []LeftOut {
	var near []*catalog.Drill
	for _, d := range a.e.Catalogue.Drills {
		if d != lift && (d.Family == lift.Family || d.Pattern == lift.Pattern) {
			near = append(near, d)
		}
	}
	slices.SortStableFunc(near, func(x, y *catalog.Drill) int {
		return cmp.Or(cmp.Compare(placeOf(x.Family == lift.Family), placeOf(y.Family == lift.Family)), cmp.Compare(sharedMuscles(y, lift), sharedMuscles(x, lift)))
	})
	var out []LeftOut
	for _, d := range near {
		if l, ok := a.whyNot(j, d); ok && len(out) < 5 {
			out = append(out, l)
		}
	}
	return out
}

// whyNot is the first bar on a drill that isn't open on any side; kit that isn't there is no news.
func (a *asked) whyNot(j *rules.Judgement, d *catalog.Drill) (LeftOut, bool) {
	verdict := rules.Together(j.Verdict(d, 0), j.Verdict(d, 1))
	if d.Sides == catalog.OneSide && (j.Verdict(d, 0) != rules.NotToday || j.Verdict(d, 1) != rules.NotToday) || verdict != rules.NotToday {
		return LeftOut{}, false
	}
	for side := range 2 {
		for _, r := range a.e.Book.Rules {
			if j.Barred(r, d, side) != rules.NotToday {
				continue
			}
			if r.ReadsKit() {
				return LeftOut{}, false
			}
			if reasons := j.Reasons(r, d, side); len(reasons) > 0 {
				return LeftOut{Drill: d.ID, Name: d.Name, Side: reasons[0].Side, Reason: reasons[0]}, true
			}
		}
	}
	return LeftOut{}, false
}
