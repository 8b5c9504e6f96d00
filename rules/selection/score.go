package selection

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// tier is a place in tiers, in the order of similarity.
type tier int

var tiers = []string{SameLift, NearVariant, SamePattern, SameMuscles, Treats, Elsewhere}

// What is unlike the lift treats a condition that was named, or trains elsewhere.
const (
	treating  = tier(rules.Unlike)
	elsewhere = treating + 1
)

// treats is whether a drill treats a condition that was named, on a side that hurts, by the rules that say so.
func (a *asked) treats(j *rules.Judgement, d *catalog.Drill) bool {
	if len(a.q.Profile.Conditions) == 0 {
		return false
	}
	for r := range j.Applicable(rules.Favour, d) {
		if r.Treats && (a.soreSide(0) && j.Favoured(r, d, 0) || a.soreSide(1) && j.Favoured(r, d, 1)) {
			return true
		}
	}
	return false
}

// elsewhere is true when a drill loads no sore region beyond bracing it.
func (a *asked) elsewhere(d *catalog.Features) bool { return d.Regions&a.sore == 0 }

// ofLift is what candidates are scored against.
type ofLift struct {
	drill   *catalog.Drill
	kin     *catalog.Features
	alike   *rules.Similarities
	working float64 // kilograms
	known   bool
	// provokers are the stressors that probably set it off, light those of grade 1 among them; provoked is true when anything is known to.
	provokers catalog.Terms
	light     catalog.Terms
	provoked  bool
	stresses  []stress
}

func (a *asked) inPlaceOf(lift *catalog.Drill, provokers []Provoker) *ofLift {
	of := &ofLift{drill: lift, kin: &a.e.Catalogue.Features[lift.Index], alike: a.e.SimilarTo(lift), provoked: len(provokers) > 0,
		stresses: a.stresses(lift)}
	of.working, of.known = a.workingLoad(lift)
	var stressors, light []string
	for _, p := range provokers {
		if stressors = append(stressors, p.Stressor); p.Grade == 1 { // none where an arc provokes
			light = append(light, p.Stressor)
		}
	}
	of.light = a.e.Frame.Vocabulary.SetOf("stressor", light)
	of.provokers = a.e.Frame.Vocabulary.SetOf("stressor", stressors)
	return of
}

// score adds up the parts and the favours, less what waiting for a test costs. A one-side drill that one side alone can do today
// trains half of the lift's work and takes nothing away from the other side: it counts as training elsewhere, unless that side only
// waits for a test.
func (a *asked) score(w *worth, d *catalog.Features, alike rules.Similarity, of *ofLift) {
	w.muscles, w.pattern, w.load = int(alike.Muscles), int(alike.Pattern), a.sharedLoad(d, of)
	w.provoker, w.removed = takenAway(d, of)
	out := -1 // the sore side, where the drill leaves it out
	if d.OneSide && w.open[0] != w.open[1] {
		if out = 0; w.open[0] {
			out = 1
		}
		if !a.soreSide(out) {
			out = -1
		}
	}
	if out >= 0 && !w.untested[out] {
		w.tier = elsewhere
		w.muscles, w.pattern, w.load, w.provoker = w.muscles/2, w.pattern/2, w.load/2, 0
	}
	of100 := &a.e.Book.Weights
	w.score = of100.Muscles*w.muscles/100 + of100.Pattern*w.pattern/100 + of100.Provoker*w.provoker/100 + of100.Load*w.load/100 + w.points
	switch w.test = 0; {
	case w.verdict == rules.TestFirst:
		w.test = a.e.Book.WaitingCosts
	case out >= 0 && w.untested[out]: // the side that this is about does nothing yet
		w.test = 2 * a.e.Book.WaitingCosts
	}
	w.score -= w.test
}

// parts says in words how a score came about.
func (a *asked) parts(c *candidate, of *ofLift) []Part {
	w := a.e.Book.Weights
	parts := []Part{
		{"muscles", w.Muscles * c.worth.muscles / 100, w.Muscles, a.share(c.worth.muscles) + " of the same muscles"},
		{"pattern", w.Pattern * c.worth.pattern / 100, w.Pattern, a.share(c.worth.pattern) + " of the pattern"},
		{"provoker", w.Provoker * c.worth.provoker / 100, w.Provoker, map[int]string{
			100: "what sets it off is gone", 50: "what sets it off is less, or not known",
			-100: "what sets it off stays as it is"}[c.worth.provoker]},
		{"load", w.Load * c.worth.load / 100, w.Load, a.loadInWords(&a.e.Catalogue.Features[c.drill.Index], of)},
		{"favours", c.worth.points, 0, "by the rulebook's favours"},
	}
	if c.worth.test > 0 {
		parts = append(parts, Part{"test", -c.worth.test, 0, "it waits for a test"})
	}
	return parts
}

func (a *asked) soreSide(side int) bool {
	return slices.ContainsFunc(a.q.Complaints, func(c client.Complaint) bool { return c.Side.On(side) })
}

// share in words: the honest precision.
func (a *asked) share(percent int) string { return strings.ToLower(a.keeps(percent)) }

// keeps is the same as a code.
func (a *asked) keeps(percent int) string {
	switch {
	case percent >= a.e.Book.KeepsMost:
		return "MOST"
	case percent >= a.e.Book.KeepsSome:
		return "SOME"
	default:
		return "LITTLE"
	}
}

// workingLoad is the client's working load of a lift in kilograms. That of a lift of the body's own weight is the
// share of the body that it moves.
func (a *asked) workingLoad(lift *catalog.Drill) (kg float64, known bool) {
	if share := lift.Load.BodyShare; share > 0 && !lift.Lifted() {
		mass := a.facts.Number("client.body_mass_kg", 0)
		return share * mass.Lo / 100, mass.Known()
	}
	return a.working(lift)
}

// bodyShares is true when both move a share of the body and nothing else.
func bodyShares(d, lift *catalog.Features) bool {
	return lift.BodyShare > 0 && !lift.Lifted && d.BodyShare > 0 && !d.Lifted
}

// sharedLoad: 100 when the drill can be made as heavy as the client's working load, 50 when that isn't known.
func (a *asked) sharedLoad(d *catalog.Features, of *ofLift) int {
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

func (a *asked) loadInWords(d *catalog.Features, of *ofLift) string {
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

// takenAway: 100 when every provoker is gone (grade 1 at most), 50 when all are lower or none is known; less
// than nothing where a light one stays.
func takenAway(d *catalog.Features, of *ofLift) (share int, removed bool) {
	if d.Stressing.Meets(of.light) {
		return -100, false
	}
	if !of.provoked || d.Harsh.Meets(of.provokers) {
		return 50, false
	}
	return 100, true
}
