package selection

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Substitute answers: this lift hurts, what instead? Errors: *client.Invalid, *UnknownID.
func Substitute(e *rules.Edition, q *client.Request, opts Options) (*SubstituteAnswer, error) {
	a, err := ask(e, q, "SUBSTITUTE", strconv.Itoa(opts.Limit), opts.view())
	if err != nil {
		return nil, err
	}
	lift, err := a.drill(q.Lift)
	if err != nil {
		return nil, err
	}
	answer := &SubstituteAnswer{Lift: lift}
	answer.Provokers, answer.Unclear = a.provoke(lift)
	if a.gate.none {
		answer.Header = a.head
		return answer, nil
	}
	j := e.Judge(a.facts, lift)
	defer j.Done()
	of := a.lifted(lift, answer.Provokers)
	ranked := a.ranked(j, of)
	answer.Considered = len(ranked)
	kept := a.keep(j, ranked, of, opts.Limit)
	shown := make([]*catalog.Drill, 0, len(kept))
	answer.Substitutes = make([]Choice, 0, len(kept))
	for i, c := range kept {
		s := a.substitute(j, c, of, opts.Brief)
		if i+1 < len(kept) {
			s.Lead = c.worth.score - kept[i+1].worth.score
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
	worth *worth
}

// tier is a place in tiers.
type tier int

var tiers = []string{SameLift, NearVariant, SamePattern, SameMuscles, Elsewhere}

// The tiers, and what is no substitute.
const (
	sameLift tier = iota
	nearVariant
	samePattern
	sharesMuscles
	elsewhere
	noSubstitute
)

// rank is a candidate's place in the list as one number, the least first; the last bits are its drill.
type rank uint64

// ranked scores every drill that may stand in for the lift and puts them in one list: open before test first; what
// trains the lift's work before training elsewhere; removed before lowered; points; tier; id.
func (a *asked) ranked(j *rules.Judgement, of *ofLift) []rank {
	list := make([]rank, 0, len(a.e.Catalogue.Drills))
	for i := range a.e.Catalogue.Drills {
		var w worth
		if i != of.drill.Index && a.weigh(j, i, of, &w) {
			list = append(list, w.rank(i))
		}
	}
	slices.Sort(list)
	return list
}

// rank packs the order: three bits of first or later, the points from the most down, the tier, the drill in order of id.
func (w *worth) rank(drill int) rank {
	const most = 1 << 20 // more points than weights and favours can give
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
func (a *asked) weigh(j *rules.Judgement, drill int, of *ofLift, w *worth) bool {
	if !a.stand(j, drill, &w.standing) {
		return false
	}
	kin := &a.e.Catalogue.Kin[drill]
	if w.tier = a.tier(kin, of.kin); w.tier == noSubstitute {
		return false
	}
	a.score(w, kin, of)
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
	for _, r := range list {
		if len(kept) == limit {
			break
		}
		d := a.e.Catalogue.Drills[uint32(r)]
		w := &worth{}
		a.weigh(j, d.Index, of, w)
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

// tier says what kind of substitute a drill is. A drill of the same lift's family comes before one of its pattern,
// that before one of its muscles, that before training elsewhere.
func (a *asked) tier(d, lift *catalog.Kin) tier {
	switch {
	case !d.Loads || !d.Train:
		if eases(d, lift) {
			return sharesMuscles
		}
		return noSubstitute
	case d.Family == lift.Family && d.Tool == lift.Tool && d.OneSide == lift.OneSide && d.TwoSide == lift.TwoSide:
		return sameLift
	case d.Family == lift.Family:
		return nearVariant
	case d.Kind == lift.Kind && !d.SingleJoint:
		return samePattern
	case sameMuscles(d, lift):
		return sharesMuscles
	case a.elsewhere(d):
		return elsewhere
	}
	return noSubstitute
}

// eases is true for unloaded work of the lift's own region and muscles: what is left on the lowest rung.
func eases(d, lift *catalog.Kin) bool { return !d.Loads && d.Main == lift.Main && sameMuscles(d, lift) }

// sameMuscles is true when a prime mover of the drill drives or assists the lift.
func sameMuscles(d, lift *catalog.Kin) bool { return d.Prime.Meets(lift.Moving) }

// elsewhere is true when a drill loads no sore region beyond bracing it.
func (a *asked) elsewhere(d *catalog.Kin) bool { return !d.Regions.Meets(a.sore) }

// ofLift is what candidates are scored against.
type ofLift struct {
	drill   *catalog.Drill
	kin     *catalog.Kin
	working float64 // kilograms
	known   bool
	// provokers are the stressors that probably set it off; provoked is true when anything is known to.
	provokers catalog.Terms
	provoked  bool
}

func (a *asked) lifted(lift *catalog.Drill, provokers []Provoker) *ofLift {
	of := &ofLift{drill: lift, kin: &a.e.Catalogue.Kin[lift.Index], provoked: len(provokers) > 0}
	of.working, of.known = a.workingLoad(lift)
	var stressors []string
	for _, p := range provokers {
		stressors = append(stressors, p.Stressor) // none where an arc provokes
	}
	of.provokers = a.e.Frame.Vocabulary.SetOf("stressor", stressors)
	return of
}

// score adds up the parts and the favours. A one-side drill that is open on one side alone trains half of the
// lift's work and takes nothing away from the other side: it counts as training elsewhere.
func (a *asked) score(w *worth, d *catalog.Kin, of *ofLift) {
	w.muscles, w.pattern, w.load = sharedMuscles(d, of.kin), sharedPattern(d, of.kin), a.sharedLoad(d, of)
	w.provoker, w.removed = takenAway(d, of)
	if d.OneSide && w.open[0] != w.open[1] && (w.open[0] && a.soreSide(1) || w.open[1] && a.soreSide(0)) {
		w.tier = elsewhere
		w.muscles, w.pattern, w.load, w.provoker = w.muscles/2, w.pattern/2, w.load/2, 0
	}
	of100 := &a.e.Book.Weights
	w.score = of100.Muscles*w.muscles/100 + of100.Pattern*w.pattern/100 + of100.Provoker*w.provoker/100 + of100.Load*w.load/100 + w.points
}

// parts says in words how a score came about.
func (a *asked) parts(c candidate, of *ofLift) []Part {
	w := a.e.Book.Weights
	return []Part{
		{"muscles", w.Muscles * c.worth.muscles / 100, w.Muscles, a.share(c.worth.muscles) + " of the same muscles"},
		{"pattern", w.Pattern * c.worth.pattern / 100, w.Pattern, a.share(c.worth.pattern) + " of the pattern"},
		{"provoker", w.Provoker * c.worth.provoker / 100, w.Provoker, map[int]string{100: "what sets it off is gone", 50: "what sets it off is less, or not known"}[c.worth.provoker]},
		{"load", w.Load * c.worth.load / 100, w.Load, a.loadInWords(&a.e.Catalogue.Kin[c.drill.Index], of)},
		{"favours", c.worth.points, 0, "by the rulebook's favours"},
	}
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

// sharedMuscles is the percentage of the lift's muscle work that a drill has too.
func sharedMuscles(d, lift *catalog.Kin) int { return d.Shared(lift) * 100 / max(lift.Shared(lift), 1) }

// sharedPattern: 100 for the same pattern (which says its direction), 50 for the same plane.
func sharedPattern(d, lift *catalog.Kin) int {
	switch {
	case d.Pattern == lift.Pattern:
		return 100
	case d.Planes.Meets(lift.Planes):
		return 50
	}
	return 0
}

// workingLoad is the client's working load of a lift in kilograms. That of a lift of the body's own weight is the
// share of the body that it moves.
func (a *asked) workingLoad(lift *catalog.Drill) (kg float64, known bool) {
	if share := lift.Load.BodyShare; share > 0 && !lift.Lifted() {
		mass := a.facts.Number("client.body_mass_kg", 0)
		return share * mass.Lo / 100, mass.Known()
	}
	return a.working(lift.ID)
}

// bodyShares is true when both move a share of the body and nothing else.
func bodyShares(d, lift *catalog.Kin) bool {
	return lift.BodyShare > 0 && !lift.Lifted && d.BodyShare > 0 && !d.Lifted
}

// sharedLoad: 100 when the drill can be made as heavy as the client's working load, 50 when that isn't known.
func (a *asked) sharedLoad(d *catalog.Kin, of *ofLift) int {
	enough, most := false, &a.e.Book.CeilingKg
	switch {
	case bodyShares(d, of.kin):
		enough = d.BodyShare*100 >= a.e.Book.BodySharePercent*of.kin.BodyShare
	case !of.known:
		return 50
	case d.Ceiling == catalog.Light:
		enough = most.Light >= of.working
	case d.Ceiling == catalog.Medium:
		enough = most.Medium >= of.working
	default:
		enough = d.Ceiling == catalog.Heavy
	}
	if enough {
		return 100
	}
	return 0
}

func (a *asked) loadInWords(d *catalog.Kin, of *ofLift) string {
	switch {
	case bodyShares(d, of.kin):
		return fmt.Sprintf("moves %s %% of body weight, the lift %s %%", rules.Figure(d.BodyShare), rules.Figure(of.kin.BodyShare))
	case !of.known:
		return "working load not known"
	case a.sharedLoad(d, of) == 0:
		return "can't be made as heavy as " + rules.Figure(of.working) + " kg"
	}
	return "can be made as heavy as " + rules.Figure(of.working) + " kg"
}

// takenAway: 100 when every provoker is gone (grade 1 at most), 50 when all are lower or none is known.
func takenAway(d *catalog.Kin, of *ofLift) (share int, removed bool) {
	if !of.provoked || d.Harsh.Meets(of.provokers) {
		return 50, false
	}
	return 100, true
}

func (a *asked) substitute(j *rules.Judgement, c candidate, of *ofLift, brief bool) Choice {
	u := &c.unit
	s := Choice{Drill: c.drill, Tier: tiers[c.worth.tier], Verdict: string(c.verdict), Sides: a.sideDoses(u), Points: c.worth.score,
		Removed: c.worth.removed, TestSet: a.testSet(c.drill, c.doses[0]), Cautions: a.cautions(j, u)}
	keeps := func(percent int) string { return strings.ToUpper(a.share(percent)) }
	s.KeepsMuscles, s.KeepsPattern, s.KeepsLoad = keeps(c.worth.muscles), keeps(c.worth.pattern), keeps(c.worth.load)
	s.TakesAway = a.difference(c.drill, of.drill)
	for _, r := range a.untested(j, u) {
		s.Tests = append(s.Tests, tests(j, r)...)
	}
	slices.Sort(s.Tests)
	s.Tests = slices.Compact(s.Tests)
	if !brief {
		s.Parts, s.Reasons = a.parts(c, of), a.reasons(j, u)
	}
	return s
}

// difference names the stressors of the lift, in sore regions, that a drill removes or lowers.
func (a *asked) difference(d, lift *catalog.Drill) []string {
	v := a.e.Frame.Vocabulary
	var places []int
	for _, row := range lift.Rows {
		for _, s := range row.Stressors {
			if place := v.Place("stressor", s.Stressor); a.hurts(v.Stressors[place].Regions) {
				places = append(places, place)
			}
		}
	}
	slices.Sort(places)
	var out []string
	for _, place := range slices.Compact(places) {
		s := &v.Stressors[place]
		switch had, has := liftGrade(lift, s.ID), liftGrade(d, s.ID); {
		case had <= has:
		case has == 0:
			out = append(out, "removes "+s.Name)
		default:
			out = append(out, "lowers "+s.Name)
		}
	}
	return out
}

// hurts is whether one of the regions has a complaint.
func (a *asked) hurts(regions []string) bool {
	return slices.ContainsFunc(a.q.Complaints, func(c client.Complaint) bool { return slices.Contains(regions, c.Region) })
}

// leftOut names the lift's nearest relatives that are not open today, each with the first rule that decides.
func (a *asked) leftOut(j *rules.Judgement, lift *catalog.Drill) []LeftOut {
	kin := a.e.Catalogue.Kin
	own := &kin[lift.Index]
	var near []*catalog.Drill
	for i, d := range a.e.Catalogue.Drills {
		if d != lift && (kin[i].Family == own.Family || kin[i].Pattern == own.Pattern) && a.newsWhyNot(j, d) != nil {
			near = append(near, d)
		}
	}
	slices.SortStableFunc(near, func(x, y *catalog.Drill) int {
		a, b := &kin[x.Index], &kin[y.Index]
		return cmp.Or(cmp.Compare(later(a.Family == own.Family), later(b.Family == own.Family)), cmp.Compare(b.Shared(own), a.Shared(own)))
	})
	var out []LeftOut
	for _, d := range near[:min(5, len(near))] {
		if l, ok := a.whyNot(j, d); ok {
			out = append(out, l)
		}
	}
	return out
}

// newsWhyNot is the first bar on a drill that isn't open on any side; nil when it is open, and when all that closes it
// first is kit that isn't there: that is no news.
func (a *asked) newsWhyNot(j *rules.Judgement, d *catalog.Drill) *rules.Rule {
	left, right := j.Decider(d, catalog.Left), j.Decider(d, catalog.Right)
	if d.Sides == catalog.OneSide && (left == nil || right == nil) {
		return nil
	}
	first := cmp.Or(left, right)
	if first == nil || first.ReadsKit() {
		return nil
	}
	return first
}

func (a *asked) whyNot(j *rules.Judgement, d *catalog.Drill) (LeftOut, bool) {
	r := a.newsWhyNot(j, d)
	if r == nil {
		return LeftOut{}, false
	}
	side := catalog.Left
	if j.Decider(d, side) != r {
		side = catalog.Right
	}
	reasons := j.Reasons(r, d, side)
	if len(reasons) == 0 {
		return LeftOut{}, false
	}
	return LeftOut{Drill: d.ID, Name: d.Name, Side: reasons[0].Side, Reason: reasons[0]}, true
}
