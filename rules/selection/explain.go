package selection

import (
	"math"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Explain answers: why (not) this drill? Errors: *client.Invalid, *UnknownID, client.ErrAbandoned.
func Explain(e *rules.Edition, q *client.Request, drillID string) (*ExplainAnswer, error) {
	return explain(e, q, drillID, (*asked).opens)
}

// unopened is an explanation without what would open the drill, which takes a search.
func unopened(*asked, *rules.Judgement, *catalog.Drill, int, *SideExplained) {}

func explain(e *rules.Edition, q *client.Request, drillID string,
	opens func(*asked, *rules.Judgement, *catalog.Drill, int, *SideExplained)) (*ExplainAnswer, error) {
	named := []Named{{"drill", "drill", drillID}, {"lift", "drill", q.Lift}}
	if q.Lift == "" {
		named = named[:1]
	}
	a, err := ask(e, q, named, "EXPLAIN", drillID)
	if err != nil {
		return nil, err
	}
	defer a.done()
	d, lift := e.Catalogue.Drill(drillID), e.Catalogue.Drill(q.Lift)
	a.allowed(lift)
	j := e.JudgeOne(a.facts, lift)
	defer j.Done()
	a.presumed(d)
	a.head.TellFirst = a.tellFirst(j, lift, func() []*catalog.Drill { return []*catalog.Drill{d} })
	answer := &ExplainAnswer{Drill: d}
	came := j.ResultOf(d.Index)
	a.close(j, &came)
	for side := range 2 {
		answer.Sides = append(answer.Sides, a.explainSide(j, d, side, came))
		opens(a, j, d, side, &answer.Sides[side])
	}
	a.explainDose(j, d, came, answer.Sides)
	answer.Verdict = together(d, answer.Sides)
	a.head.MeasureNext = a.measureNext(j, j.UntestedOf(d), 3)
	answer.Header = a.head
	if q.Abandoned() {
		return nil, client.ErrAbandoned
	}
	return answer, nil
}

// together is the worst side of a drill that works both, the best of one that works one at a time.
func together(d *catalog.Drill, sides []SideExplained) string {
	l, r := rules.Verdict(sides[0].Verdict), rules.Verdict(sides[1].Verdict)
	if d.Sides != catalog.OneSide {
		return string(rules.Together(l, r))
	}
	for _, v := range []rules.Verdict{rules.Open, rules.TestFirst} {
		if l == v || r == v {
			return string(v)
		}
	}
	return string(rules.NotToday)
}

// explainSide lists every rule that fired or is unknown: bars with the clauses that fail, then cautions,
// adjustments, the dose, and what speaks for or against.
func (a *asked) explainSide(j *rules.Judgement, d *catalog.Drill, side int, came rules.DrillResult) SideExplained {
	out := SideExplained{Side: string(client.Sides[side]), Verdict: string(verdict(came, side)), Points: j.Favours(d, side)}
	rule, open := a.permitted.allows(a.e, d, side)
	switch {
	case !open:
		out.Rules = append(out.Rules, a.screened(rule, d, side)...)
	case came.Barred[side] && j.Verdict(d, side) != rules.NotToday:
		out.Rules = append(out.Rules, a.tooLight(j, d, side))
	}
	own, _ := a.doseOn(j, d, side)
	for _, effect := range []rules.Effect{rules.Bar, rules.Caution, rules.Adjust, rules.Favour} {
		for r := range j.Applicable(effect, d) {
			held := j.Held(r, d, side)
			if effect == rules.Adjust && (!adjusts(r, held) || own.set == nil && ofLoad(r)) || held&rules.Possible == 0 {
				continue
			}
			out.Rules = append(out.Rules, outcomes(j, r, d, side)...)
		}
	}
	return out
}

// explainDose gives the sides that may train, open or waiting for a test where none is, the doses that Substitute and Select
// give them. A side that waits while the other is open has its own.
func (a *asked) explainDose(j *rules.Judgement, d *catalog.Drill, came rules.DrillResult, sides []SideExplained) {
	var s eligibility
	if stands := d.Sides == catalog.OneSide && s.oneSide(came) || d.Sides != catalog.OneSide && s.together(came); stands {
		u := trainable{drill: d, eligibility: s}
		a.ready(j, &u)
		for _, side := range u.sides {
			sides[side].Dose = u.dose[side]
		}
	}
	for side := range sides {
		if sides[side].Dose == nil && !came.Barred[side] {
			alone := trainable{drill: d, sides: orders[side][:1]}
			a.dosed(j, &alone)
			sides[side].Dose = alone.dose[side]
		}
	}
}

// tooLightOpens says what opens a side whose load lies below what the drill starts at.
const tooLightOpens = "it opens when more may be lifted, or with lighter kit"

// tooLight is the outcome of a load that lies below what a drill starts at, by the rule that lowers it most.
func (a *asked) tooLight(j *rules.Judgement, d *catalog.Drill, side int) RuleOutcome {
	own, _ := a.doseOn(j, d, side)
	r, least := own.by, 100.0
	for one := range j.Applicable(rules.Adjust, d) {
		for _, c := range one.Adjust {
			if to, _ := apply(c.Change, 100); c.Variable == loadPercent && to < least && j.Held(one, d, side)&rules.Possible != 0 {
				r, least = one, to
			}
		}
	}
	words, onSide := "", "the "+strings.ToLower(string(client.Sides[side]))+" side today is "
	if d.Lifted() {
		beside := ""
		if body := a.ownWeight(d); body > 0 && own.bound == byClinician {
			beside = " beside about " + kilograms(math.Round(body)) + " of the body"
		}
		words = "The most for " + onSide + kilograms(max(0, own.most)) + beside + "; " +
			d.Name + " starts at " + kilograms(d.Load.FloorKg) + "."
	} else {
		words = d.Name + " moves about " + kilograms(math.Round(a.ownWeight(d))) + " of the body; the most for " + onSide +
			kilograms(math.Floor(max(0, own.most+a.ownWeight(d)))) + "."
	}
	return RuleOutcome{Verdict: string(rules.NotToday), Opens: tooLightOpens,
		Reason: Reason{Rule: r.ID, Effect: strings.ToUpper(string(r.Effect)),
			Side: string(client.Sides[side]), Standing: rules.Holds, Words: words}}
}

// screenedOpens says what opens what screening has closed.
const screenedOpens = "only a clinician's clearance, or the answers still asked for, change this"

// screened are the outcomes of the referrals, or of the open question, that close a side of a drill.
func (a *asked) screened(rule string, d *catalog.Drill, side int) []RuleOutcome {
	var out []RuleOutcome
	closed := func(rule, words string) {
		out = append(out, RuleOutcome{Verdict: string(rules.NotToday), Opens: screenedOpens,
			Reason: Reason{Rule: rule, Effect: "REFER", Words: words, Standing: rules.Holds}})
	}
	referrals := a.head.Screening.Referrals
	for _, r := range referrals {
		everything := rule == "" && r.Rule == referrals[0].Rule // the most urgent leaves nothing
		if everything || r.Rule == rule && (r.Region == "" || loads(d, r.Region, client.Side(r.Side), side)) {
			closed(r.Rule, r.Words)
		}
	}
	if len(out) == 0 { // what it closes may reach further than what the drill loads
		for _, r := range referrals {
			if r.Rule == rule {
				closed(r.Rule, r.Words)
			}
		}
	}
	if len(out) == 0 {
		closed(rule, "Screening leaves nothing to train until its questions are answered or someone has been seen.")
	}
	return out
}

// tests names what a reason waits for, each once.
func tests(j *rules.Judgement, r Reason) []string {
	var names []string
	for _, f := range r.Facts {
		p := j.Edition.Frame.Table.Path(f.Path)
		if f.Status != "UNKNOWN" || p == nil || p.Measure == "" {
			continue
		}
		name := p.Measure
		if f.Side != "" {
			name = strings.ToLower(f.Side) + " " + name
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

func outcomes(j *rules.Judgement, r *rules.Rule, d *catalog.Drill, side int) []RuleOutcome {
	var out []RuleOutcome
	if r.Effect != rules.Bar {
		for _, reason := range j.Reasons(r, d, side) {
			if r.Effect == rules.Favour && !j.Favoured(r, d, side) {
				reason.Points = 0 // it gives nothing as long as it isn't sure
			}
			out = append(out, RuleOutcome{Reason: reason})
		}
		return out
	}
	for _, why := range j.WhyBarred(r, d, side) {
		o := RuleOutcome{Reason: why.Reason, Verdict: string(j.Barred(r, d, side)), Opens: why.Words}
		for _, c := range why.Clauses {
			o.Clauses = append(o.Clauses, Clause{Text: c.Text, Holds: c.Truth.Possible, Known: c.Truth.Possible == c.Truth.Sure, Flip: c.Flip})
		}
		if missing := tests(j, why.Reason); o.Verdict == string(rules.TestFirst) && len(missing) > 0 {
			o.Opens = "to be measured: " + strings.Join(missing, ", ")
		}
		if len(why.Opens) > 0 {
			o.Opens = "would open with " + strings.Join(why.Opens, ", or ")
		}
		if j.Held(r, d, side)&rules.Covered != 0 {
			o.Verdict, o.Opens = string(rules.Open), "a clinician's clearance covers this: it is a caution within its limits"
		}
		out = append(out, o)
	}
	return out
}
