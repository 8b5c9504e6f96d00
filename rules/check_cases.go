package rules

import (
	"slices"
	"strings"

	"drillwright/catalog/authored"
)

// caseChecker holds the words of a case against the edition it stands in.
type caseChecker struct {
	*authored.Report
	e      *Edition
	drills []string
}

func (c *caseChecker) check(one *Case) {
	c.ask(one)
	w := &one.Want
	if w.empty() {
		c.Suggest(one.At, "add want: with picks, barred_by, refer or others", "case %q wants nothing", one.ID.Value)
	}
	c.oneOf(w.Outcome, "outcome", caseOutcomes)
	for _, r := range w.Refer {
		c.refer(r)
	}
	for _, q := range w.Questions {
		if !strings.Contains(q.Value, ".") { // the others are fields of the profile
			c.oneOf(q, "question", c.e.Frame.QuestionIDs())
		}
	}
	for _, id := range w.Advice {
		c.rule(id, "caution of the answer as a whole", Advise)
	}
	for _, list := range append([][]authored.Text{w.Picks, w.Never, w.Behind, w.Open, w.Test, w.Barred, {w.First}}, w.Order...) {
		c.drillsOf(list)
	}
	c.byRule(w.BarredBy, "bar or referral", Bar, Refer)
	c.byRule(w.Cautions, "caution", Caution, Bar)
	c.byRule(w.Doses, "dose", Dosing)
	for _, id := range slices.Concat(w.Holds, w.Silent) {
		c.rule(id, "rule")
	}
	c.fits(one)
}

// empty is whether nothing is wanted.
func (w *CaseWant) empty() bool {
	return w.Outcome.Value == "" && !w.NoDrills && w.First.Value == "" &&
		len(w.Refer)+len(w.Questions)+len(w.Advice)+len(w.Picks)+len(w.Never)+
			len(w.Order)+len(w.Behind)+len(w.Open)+len(w.Test)+len(w.Barred)+len(w.BarredBy)+len(w.Cautions)+len(w.Doses)+
			len(w.Holds)+len(w.Silent) == 0
}

func (c *caseChecker) ask(one *Case) {
	a := &one.Ask
	asked := 0
	for _, given := range []bool{a.Screen, a.Substitute.Value != "", a.Select.Value != "", a.Explain.Value != ""} {
		if given {
			asked++
		}
	}
	at := a.At
	if at.Source == nil {
		at = one.At
	}
	if asked != 1 {
		c.Suggest(at, "write ask: with one of {screen: true}, {substitute: LIFT}, {select: PLAN}, {explain: DRILL}",
			"case %q asks %d questions", one.ID.Value, asked)
	}
	c.drillsOf([]authored.Text{a.Substitute, a.Explain})
	if a.Select.Value != "" && c.e.Book.Plan(a.Select.Value) == nil {
		var plans []string
		for _, p := range c.e.Book.Plans {
			plans = append(plans, p.ID)
		}
		c.Unknown(a.Select.At, "plan", a.Select.Value, plans)
	}
	c.oneOf(a.Side, "side", []string{"LEFT", "RIGHT"})
	switch {
	case a.Minutes < 0 || a.Minutes > 600:
		c.Suggest(at, "there are 1 to 600", "minutes: %d are not a session", a.Minutes)
	case a.Minutes != 0 && a.Select.Value == "":
		c.Add(at, "minutes belong to {select: PLAN}")
	}
	for _, k := range a.KitTaken {
		c.oneOf(k, "kit", c.e.Catalogue.Vocabulary.IDs("kit"))
	}
	for _, s := range a.StationsTaken {
		c.oneOf(s, "station", c.e.Catalogue.Vocabulary.IDs("station"))
	}
}

// fits is whether the question lists drills, where what is wanted speaks of a list.
func (c *caseChecker) fits(one *Case) {
	a, w := &one.Ask, &one.Want
	if a.Substitute.Value != "" || a.Select.Value != "" || w.First.Value == "" && len(w.Picks)+len(w.Never)+len(w.Order)+len(w.Behind) == 0 {
		return
	}
	c.Suggest(w.At, "ask {substitute: LIFT} or {select: PLAN}, or want open, test_first, barred",
		"first, picks, never, order and behind speak of a list, and this question has none")
}

func (c *caseChecker) refer(r CaseRefer) {
	if r.Rule.Value != "" {
		c.rule(r.Rule, "referral", Refer)
	}
	c.oneOf(r.Urgency, "urgency", Urgencies)
	c.oneOf(r.Scope, "scope", []string{"person", "region", "class"})
}

func (c *caseChecker) byRule(list ByRule, what string, effects ...Effect) {
	for _, e := range list {
		c.rule(authored.Text{Value: e.Key, At: e.At}, what, effects...)
		c.drillsOf(e.Value)
	}
}

func (c *caseChecker) drillsOf(ids []authored.Text) {
	for _, id := range ids {
		c.oneOf(id, "drill", c.drills)
	}
}

// rule checks that there is a rule, of one of the effects if any are given.
func (c *caseChecker) rule(id authored.Text, what string, effects ...Effect) {
	fits := func(r *Rule) bool { return len(effects) == 0 || slices.Contains(effects, r.Effect) }
	if named := c.e.Book.Rule(id.Value); named != nil {
		if !fits(named) {
			c.Add(id.At, "%q is no %s: its effect is %s", id.Value, what, named.Effect)
		}
		return
	}
	var known []string
	for _, r := range slices.Concat(c.e.Book.Rules, c.e.Book.Doses, c.e.Book.Advices) {
		if fits(r) {
			known = append(known, r.ID)
		}
	}
	c.oneOf(id, what, known)
}

func (c *caseChecker) oneOf(t authored.Text, what string, known []string) {
	if t.Value != "" && !slices.Contains(known, t.Value) {
		c.Unknown(t.At, what, t.Value, known)
	}
}
