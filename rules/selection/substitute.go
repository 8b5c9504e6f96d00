package selection

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Substitute answers: this lift hurts, what instead? Errors: *client.Invalid, *UnknownID, client.ErrAbandoned.
func Substitute(e *rules.Edition, q *client.Request, opts Options) (*SubstituteAnswer, error) {
	a, err := ask(e, q, []Named{{"lift", "drill", q.Lift}}, "SUBSTITUTE", strconv.Itoa(opts.Limit), opts.view())
	if err != nil {
		return nil, err
	}
	defer a.done()
	return a.substitutes(e.Catalogue.Drill(q.Lift), opts)
}

// substitutes answers for a lift.
func (a *asked) substitutes(lift *catalog.Drill, opts Options) (*SubstituteAnswer, error) {
	answer := &SubstituteAnswer{Lift: lift}
	answer.Provokers, answer.Unclear = a.provoke(lift)
	answer.Spared = a.spared(lift)
	near := func() []*catalog.Drill { return a.e.Near(lift) }
	if a.permitted.none {
		if a.head.Screening.emergency() {
			answer.Provokers, answer.Unclear, answer.Spared = nil, false, ""
		}
		a.presumed()
		a.head.TellFirst = a.tellFirst(nil, lift, near)
		answer.Header = a.head
		return answer, nil
	}
	j := a.e.Judge(a.facts, lift)
	defer j.Done()
	of := a.inPlaceOf(lift, answer.Provokers)
	a.head.TellFirst = a.tellFirst(j, lift, near)
	ranked := a.ranked(j, of)
	answer.Considered = ranked.count
	kept := a.keep(j, ranked, of, opts.Limit)
	shown := make([]*catalog.Drill, 0, len(kept))
	answer.Substitutes = make([]Choice, 0, len(kept))
	for i := range kept {
		c := &kept[i]
		s := a.substitute(j, c, of, opts.Brief)
		if i+1 < len(kept) {
			s.Lead = c.worth.score - kept[i+1].worth.score
		}
		answer.Substitutes = append(answer.Substitutes, s)
		shown = append(shown, c.drill)
	}
	if len(kept) > 0 && !slices.ContainsFunc(kept, func(c candidate) bool { return c.worth.verdict == rules.Open }) {
		a.head.Notes = append(a.head.Notes, "Nothing near the lift is open today: what is listed waits for its test.")
	}
	a.presumed(shown...)
	answer.LeftOut = a.leftOut(j, of)
	a.head.MeasureNext = a.measureNext(j, j.Untested(), 3)
	answer.Header = a.head
	if a.q.Abandoned() {
		return nil, client.ErrAbandoned
	}
	return answer, nil
}

func (a *asked) substitute(j *rules.Judgement, c *candidate, of *ofLift, brief bool) Choice {
	u := &c.trainable
	s := Choice{Drill: c.drill, Tier: tiers[c.worth.tier], Verdict: string(c.verdict), Sides: a.sideDoses(u), Points: c.worth.score,
		Removed: c.worth.removed, TestSet: a.testSet(u), Cautions: a.cautions(j, u)}
	s.KeepsMuscles, s.KeepsPattern, s.KeepsLoad = a.keeps(c.worth.muscles), a.keeps(c.worth.pattern), a.keeps(c.worth.load)
	s.TakesAway = difference(c.drill, of.stresses)
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

// spared says that a lift loads nothing that hurts, counting what it braces, supports and crosses; "" where it does. It may be kept where
// nothing is felt at a moment of it, it all began gradually, and screening leaves nothing open.
func (a *asked) spared(lift *catalog.Drill) string {
	var places []string
	keep := a.head.Screening.Outcome == NoWarningSigns
	for _, c := range a.q.Complaints {
		for i := range lift.Rows {
			for region := range lift.Rows[i].Asks() {
				if region == c.Region {
					return ""
				}
			}
		}
		index := strings.TrimSpace(strings.ToLower(string(c.Side)) + " " + a.e.Frame.Vocabulary.Name("region", c.Region))
		if c.Side == client.SideBoth {
			index = "either " + a.e.Frame.Vocabulary.Name("region", c.Region)
		}
		places = append(places, "the "+strings.TrimPrefix(index, "the "))
		keep = keep && c.Onset == "GRADUAL" && slices.Contains(client.AroundTheLift, c.Moment)
	}
	switch {
	case len(places) == 0:
		return ""
	case keep:
		return "Nothing in " + lift.Name + " loads " + strings.Join(places, " or ") + ": it may be kept as it is."
	}
	return "Nothing in " + lift.Name + " loads " + strings.Join(places, " or ") + ", as far as the catalogue tells."
}

// stress is a stressor of the lift, with its highest grade there.
type stress struct {
	*catalog.Stressor
	grade           int
	removes, lowers string // what a drill does that has none, or less
}

// stresses are the stressors of the lift in sore regions, in the order of the vocabulary.
func (a *asked) stresses(lift *catalog.Drill) []stress {
	v := a.e.Frame.Vocabulary
	var places []int
	for _, row := range lift.Rows {
		for _, s := range row.Stressors {
			if index := v.Index("stressor", s.Stressor); a.hurts(v.Stressors[index].Regions) {
				places = append(places, index)
			}
		}
	}
	slices.Sort(places)
	var out []stress
	for _, index := range slices.Compact(places) {
		s := &v.Stressors[index]
		out = append(out, stress{s, liftGrade(lift, s.ID), "removes " + s.Name, "lowers " + s.Name})
	}
	return out
}

// difference names those that a drill removes or lowers.
func difference(d *catalog.Drill, stresses []stress) []string {
	var out []string
	for _, s := range stresses {
		switch has := liftGrade(d, s.ID); {
		case s.grade <= has:
		case has == 0:
			out = append(out, s.removes)
		default:
			out = append(out, s.lowers)
		}
	}
	return out
}

// hurts is whether one of the regions has a complaint.
func (a *asked) hurts(regions []string) bool {
	return slices.ContainsFunc(a.q.Complaints, func(c client.Complaint) bool { return slices.Contains(regions, c.Region) })
}

// leftOut names the lift's nearest relatives that are not open today, each with the first rule that decides.
func (a *asked) leftOut(j *rules.Judgement, of *ofLift) []LeftOut {
	out := make([]LeftOut, 0, mostLeftOut)
	closed := 0
	for _, d := range of.alike.Relatives {
		r := a.newsWhyNot(j, d)
		if r == nil {
			continue
		}
		if l, ok := a.whyNot(j, r, d); ok {
			out = append(out, l)
		}
		if closed++; closed == mostLeftOut {
			break
		}
	}
	return out
}

// mostLeftOut is how many relatives that aren't open are looked at.
const mostLeftOut = 5

// newsWhyNot is the first bar on a drill that isn't open on any side; nil when it is open, and when all that closes it
// first is kit that isn't there: that is no news.
func (a *asked) newsWhyNot(j *rules.Judgement, d *catalog.Drill) *rules.Rule {
	left, right := j.Decider(d, catalog.Left), j.Decider(d, catalog.Right)
	if d.Sides == catalog.OneSide && (left == nil || right == nil) {
		return nil
	}
	first := left
	if left == nil || right != nil && slices.Index(a.e.Book.Rules, right) < slices.Index(a.e.Book.Rules, left) {
		first = right
	}
	if first == nil || first.ReadsKit() {
		return nil
	}
	return first
}

// whyNot says in the words of a rule why a drill isn't open; of two sides that it bars, in the words of the one it is sure of,
// or in those that come first in order of their words and figures, whatever the side.
func (a *asked) whyNot(j *rules.Judgement, r *rules.Rule, d *catalog.Drill) (l LeftOut, ok bool) {
	var reasons []Reason
	for side := range 2 {
		if r != nil && j.Decider(d, side) == r {
			if all := j.Reasons(r, d, side); len(all) > 0 {
				reasons = append(reasons, all[0])
			}
		}
	}
	if reasons = unique(reasons); len(reasons) == 0 {
		return LeftOut{}, false
	}
	first := slices.MinFunc(reasons, func(x, y Reason) int {
		return cmp.Or(cmp.Compare(x.Standing, y.Standing), strings.Compare(sideless.Replace(x.Words), sideless.Replace(y.Words)),
			slices.CompareFunc(x.Facts, y.Facts, func(x, y rules.Fact) int {
				return cmp.Or(strings.Compare(x.Status, y.Status), strings.Compare(x.Value, y.Value), strings.Compare(x.Why, y.Why))
			}))
	})
	return LeftOut{Drill: d.ID, Name: d.Name, Side: first.Side, Reason: first}, true
}

var sideless = strings.NewReplacer("left ", "", "right ", "")
