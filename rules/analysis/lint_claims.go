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

// claim makes the claims that clients may refute. Of a book with more pairs of rules than lintClaims the rest is left undecided.
func (l *linter) claim() {
	l.needlessBars()
	l.needlessCautions()
	l.deadDoses()
	l.unheard()
}

func (l *linter) add(kind FindingKind, r *rules.Rule, others ...*rules.Rule) {
	if len(l.seen.claims) == lintClaims || l.ended() {
		l.left[kind]++
		return
	}
	l.seen.claims = append(l.seen.claims, &claim{kind: kind, rule: r, others: others})
}

// needlessBars claims of each bar that another bars all it bars. One that a clearance may cover makes no other needless
// that it can't, nor one that asks for a test where the other bars.
func (l *linter) needlessBars() {
	bars := l.e.Book.Of(rules.Bar)
	reads := map[*rules.Rule]barReads{}
	for _, r := range bars {
		reads[r] = readsOf(r)
	}
	for _, a := range bars {
		for _, b := range bars {
			if a != b && !(b.ReadsConditions && !a.ReadsConditions) && reads[a].strict(reads[b]) {
				l.add(redundant, a, b)
			}
		}
	}
}

// barReads is what a bar reads, and of that what bars while it is unknown.
type barReads struct {
	all       map[string]bool
	bars      []string
	testFirst bool // some of it asks for a test first
}

func readsOf(r *rules.Rule) barReads {
	out := barReads{all: map[string]bool{}}
	r.When.Refs(func(ref *predicate.Ref) {
		if ref.Path != nil && !ref.Path.TestFirst && !out.all[ref.Name] {
			out.bars = append(out.bars, ref.Name)
		}
		out.testFirst = out.testFirst || ref.Path != nil && ref.Path.TestFirst
		out.all[ref.Name] = true
	})
	return out
}

// strict is whether a bar bars on unknown facts wherever another does so.
func (a barReads) strict(b barReads) bool {
	return !b.testFirst || !slices.ContainsFunc(a.bars, func(name string) bool { return !b.all[name] })
}

// needlessCautions claims of cautions with the same words that one is shown wherever another is.
func (l *linter) needlessCautions() {
	alike := map[string][]*rules.Rule{}
	for _, r := range l.e.Book.Of(rules.Caution) {
		alike[r.Because.Key()] = append(alike[r.Because.Key()], r)
	}
	for _, a := range l.e.Book.Of(rules.Caution) {
		for _, b := range alike[a.Because.Key()] {
			if a != b {
				l.add(redundant, a, b)
			}
		}
	}
}

// deadDoses claims of each dose that one before it always holds; but for the last, which every book must have.
func (l *linter) deadDoses() {
	doses := l.e.Book.Doses
	for i, r := range doses {
		if i > 0 && i < len(doses)-1 {
			l.add(redundant, r, doses[:i]...)
		}
	}
}

// unheard claims of each favour that gives points, and of what is said of a drill or its dose, that a bar bars all of it,
// or that a referral lets nobody train it.
func (l *linter) unheard() {
	for _, a := range slices.Concat(l.e.Book.Of(rules.Favour), l.e.Book.Of(rules.Caution), l.e.Book.Of(rules.Adjust)) {
		if a.Effect == rules.Favour && a.Points < 0 {
			continue
		}
		kind := redundant
		if a.Effect == rules.Favour {
			kind = contradicts
		}
		light := slices.ContainsFunc(couldBe(l.e, a), func(d *catalog.Drill) bool { return !d.Loads })
		for _, b := range slices.Concat(l.e.Book.Of(rules.Bar), l.e.Book.Of(rules.Refer)) {
			if b.Effect == rules.Bar || closes(b, light) {
				l.add(kind, a, b)
			}
		}
	}
}

// closes is whether a referral leaves nothing of what a rule is about: one of the person that is urgent leaves no drill,
// another none that loads.
func closes(refer *rules.Rule, light bool) bool {
	urgent := refer.Urgency == "emergency" || refer.Urgency == "today"
	return refer.Scope == "person" && (urgent || !light)
}

// claims proves what nobody has refuted.
func (l *linter) claims() {
	proved := map[[2]*rules.Rule]bool{}
	for _, c := range slices.Clone(l.seen.claims) {
		if c.refuted || c.rule.When.Reads(ofComplaintAndLift) || l.hopeless[c.rule] || proved[[2]*rules.Rule{c.others[0], c.rule}] {
			continue
		}
		if l.ended() {
			l.left[c.kind]++
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
	if l.ended() {
		return found.client
	}
	short := l.search(Search{Demands: demands, Request: l.nobody(), lift: lift, Nodes: lintNodes})
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
