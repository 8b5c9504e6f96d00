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

// needlessBars claims of each bar that another bars all it bars. One that a clearance may cover makes no other needless
// that it can't, nor one that asks for a test where the other bars.
func needlessBars(e *rules.Edition) []*claim {
	var out []*claim
	bars := e.Book.Of(rules.Bar)
	for _, a := range bars {
		for _, b := range bars {
			if a != b && !(b.ReadsConditions && !a.ReadsConditions) && strict(a, b) {
				out = append(out, &claim{kind: redundant, rule: a, others: []*rules.Rule{b}})
			}
		}
	}
	return out
}

// strict is whether a bar bars on unknown facts wherever another does so.
func strict(a, b *rules.Rule) bool {
	bars := func(r *predicate.Ref) bool { return r.Path != nil && !r.Path.TestFirst }
	missing := false
	a.When.Refs(func(r *predicate.Ref) {
		missing = missing || bars(r) && !b.When.Reads(func(o *predicate.Ref) bool { return o.Name == r.Name })
	})
	return !missing || !b.When.Reads(func(r *predicate.Ref) bool { return r.Path != nil && r.Path.TestFirst })
}

// needlessCautions claims of cautions with the same words that one is shown wherever another is.
func needlessCautions(e *rules.Edition) []*claim {
	var out []*claim
	for _, a := range e.Book.Of(rules.Caution) {
		for _, b := range e.Book.Of(rules.Caution) {
			if a != b && a.Because.Key() == b.Because.Key() {
				out = append(out, &claim{kind: redundant, rule: a, others: []*rules.Rule{b}})
			}
		}
	}
	return out
}

// deadDoses claims of each dose that one before it always holds; but for the last, which every book must have.
func deadDoses(e *rules.Edition) []*claim {
	var out []*claim
	for i, r := range e.Book.Doses {
		if i > 0 && i < len(e.Book.Doses)-1 {
			out = append(out, &claim{kind: redundant, rule: r, others: e.Book.Doses[:i]})
		}
	}
	return out
}

// unheard claims of each favour that gives points, and of what is said of a drill or its dose, that a bar bars all of it,
// or that a referral lets nobody train it.
func unheard(e *rules.Edition) []*claim {
	var out []*claim
	for _, a := range slices.Concat(e.Book.Of(rules.Favour), e.Book.Of(rules.Caution), e.Book.Of(rules.Adjust)) {
		if a.Effect == rules.Favour && a.Points < 0 {
			continue
		}
		kind := redundant
		if a.Effect == rules.Favour {
			kind = contradicts
		}
		for _, b := range slices.Concat(e.Book.Of(rules.Bar), e.Book.Of(rules.Refer)) {
			if b.Effect == rules.Bar || closes(e, b, a) {
				out = append(out, &claim{kind: kind, rule: a, others: []*rules.Rule{b}})
			}
		}
	}
	return out
}

// closes is whether a referral leaves nothing of what a rule is about: one of the person that is urgent leaves no drill,
// another none that loads.
func closes(e *rules.Edition, refer, r *rules.Rule) bool {
	if refer.Scope != "person" {
		return false
	}
	urgent := refer.Urgency == "emergency" || refer.Urgency == "today"
	return urgent || !slices.ContainsFunc(couldBe(e, r), func(d *catalog.Drill) bool { return !d.Loads })
}

// claims proves what nobody has refuted.
func (l *linter) claims() {
	proved := map[[2]*rules.Rule]bool{}
	for _, c := range slices.Clone(l.seen.claims) {
		if c.refuted || c.rule.When.Reads(ofComplaintAndLift) || l.hopeless[c.rule] || proved[[2]*rules.Rule{c.others[0], c.rule}] {
			continue
		}
		switch l.ask(query{holds: []*rules.Rule{c.rule}, never: c.others, drills: l.couldFor(c.rule)}).existence {
		case NoClient:
			proved[[2]*rules.Rule{c.rule, c.others[0]}] = true
			l.find(c.finding())
		case NotDecided:
			l.left[c.kind]++
		}
	}
}

// ofComplaintAndLift is what only a question about a lift, or the log of its sets, settles. No request tells it, so the search for a client
// can't.
func ofComplaintAndLift(r *predicate.Ref) bool {
	prefixes := []string{"request.allowed.", "client.rung_by_lift.", "client.shown.", "client.made_worse_by"}
	return slices.ContainsFunc(prefixes, func(prefix string) bool {
		return strings.HasPrefix(r.Name, prefix)
	})
}

func (c *claim) finding() Finding {
	f := Finding{Kind: c.kind, At: c.rule.WhenAt(0), Rules: []string{c.rule.ID}}
	other := c.others[0].ID
	if len(c.others) == 1 {
		f.Rules = append(f.Rules, other)
	}
	switch {
	case c.others[0].Effect == rules.Refer:
		f.Message = fmt.Sprintf("%s is never heard: wherever it holds, %s leaves nothing of it to train", c.rule.ID, other)
	case c.rule.Effect != rules.Bar && c.others[0].Effect == rules.Bar && c.rule.Effect != rules.Favour:
		f.Message = fmt.Sprintf("%s is never heard: %s bars all that it is about", c.rule.ID, other)
	case c.kind == contradicts:
		f.Message = fmt.Sprintf("%s favours what %s always bars: its points never count", c.rule.ID, other)
	case c.rule.Effect == rules.Dosing:
		f.Message = fmt.Sprintf("%s is never reached: wherever it holds, a dose before it does", c.rule.ID)
	case c.rule.Effect == rules.Caution:
		f.Message = fmt.Sprintf("%s says the same as %s, which holds wherever it does", c.rule.ID, other)
	default:
		f.Message = fmt.Sprintf("%s bars nothing that %s doesn't bar", c.rule.ID, other)
	}
	return f
}

// opposites looks for rules that pull both ways: points for and against on the same condition, and one variable of a dose
// raised and lowered for the same client on the same drill, where the caution of the two wins and the other is lost.
func (l *linter) opposites() {
	favours := l.e.Book.Of(rules.Favour)
	for i, a := range favours {
		for _, b := range favours[:i] {
			if a.Points*b.Points < 0 && a.When.Key() == b.When.Key() {
				l.find(Finding{Kind: contradicts, At: a.WhenAt(0), Rules: []string{a.ID, b.ID},
					Message: fmt.Sprintf("%s gives %+d and %s %+d on the same condition", a.ID, a.Points, b.ID, b.Points)})
			}
		}
	}
	for _, a := range l.e.Book.Of(rules.Adjust) {
		for _, b := range l.e.Book.Of(rules.Adjust) {
			if v := bothWays(a, b); v >= 0 && !l.hopeless[a] && !l.hopeless[b] {
				l.opposed(a, b, rules.Variables[v])
			}
		}
	}
}

func (l *linter) opposed(a, b *rules.Rule, variable string) {
	switch found := l.ask(query{holds: []*rules.Rule{a, b}, drills: l.couldFor(a)}); found.existence {
	case Exists:
		l.find(Finding{Kind: contradicts, At: b.WhenAt(0), Rules: []string{a.ID, b.ID}, Drills: []string{found.drill.ID},
			Client:  l.brief(found, a, b),
			Message: fmt.Sprintf("%s lowers %s where %s raises it", b.ID, variable, a.ID)})
	case NotDecided:
		l.left[contradicts]++
	}
}

// brief is a client of whom the least is told for rules to hold, if such a one is found.
func (l *linter) brief(found verdict, holds ...*rules.Rule) *client.Request {
	lift := l.e.Catalogue.Drill(found.client.Lift)
	var demands []Demand
	for _, r := range holds {
		demands = append(demands, Must(r, found.drill, 0))
	}
	short := Nearest(l.e, Search{Demands: demands, lift: lift, Changes: lintChanges, Nodes: lintNodes, Sets: 1})
	if short.Existence == Exists {
		return short.Sets[0].Request
	}
	return found.client
}

// bothWays is the variable that one rule raises and another lowers; -1 when there is none. Caps come last in any case.
func bothWays(up, down *rules.Rule) int {
	for _, a := range up.Adjust {
		for _, b := range down.Adjust {
			if a.Variable == b.Variable && direction(a.Change) > 0 && direction(b.Change) < 0 {
				return a.Variable
			}
		}
	}
	return -1
}

// direction of a change: 1 raises, -1 lowers, 0 is neither for sure.
func direction(c rules.Change) int {
	switch {
	case c.Times != nil && *c.Times > 1, c.Add != nil && *c.Add > 0:
		return 1
	case c.Times != nil && *c.Times < 1, c.Add != nil && *c.Add < 0:
		return -1
	}
	return 0
}
