package selection

import (
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

func explain(e *rules.Edition, q *client.Request, drillID string, opens func(*asked, *rules.Judgement, *catalog.Drill, int, *SideExplained)) (*ExplainAnswer, error) {
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
	answer := &ExplainAnswer{Drill: d}
	for side := range 2 {
		answer.Sides = append(answer.Sides, a.explainSide(j, d, side))
		opens(a, j, d, side, &answer.Sides[side])
	}
	answer.Verdict = together(d, answer.Sides)
	a.head.MeasureNext = a.measureNext(j, j.WaitsOf(d), 3)
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
func (a *asked) explainSide(j *rules.Judgement, d *catalog.Drill, side int) SideExplained {
	out := SideExplained{Side: string(client.Sides[side]), Verdict: string(j.Verdict(d, side)), Points: j.Favours(d, side)}
	if rule, ok := a.gate.allows(a.e, d, side); !ok {
		out.Verdict = string(rules.NotToday)
		out.Rules = append(out.Rules, a.screened(rule))
	}
	for _, effect := range []rules.Effect{rules.Bar, rules.Caution, rules.Adjust, rules.Favour} {
		for r := range j.Relevant(effect, d) {
			if j.Held(r, d, side)&rules.Possible != 0 {
				out.Rules = append(out.Rules, outcomes(j, r, d, side)...)
			}
		}
	}
	if dose, ok := a.dose(j, d, side); ok && out.Verdict != string(rules.NotToday) {
		dose.Seconds = seconds(d, &dose, 1)
		out.Dose = &dose
	}
	return out
}

// screenedOpens says what opens what screening has closed.
const screenedOpens = "only a clinician's clearance, or the answers still asked for, change this"

// screened is the outcome of the referral, or of the open question, that closes a drill.
func (a *asked) screened(rule string) RuleOutcome {
	words := "Screening leaves nothing to train until its questions are answered or someone has been seen."
	for _, r := range a.head.Screening.Referrals {
		if r.Rule == rule || rule == "" {
			words, rule = r.Words, r.Rule
			break
		}
	}
	return RuleOutcome{Verdict: string(rules.NotToday), Opens: screenedOpens,
		Reason: Reason{Rule: rule, Effect: "REFER", Words: words, Standing: rules.Holds}}
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
