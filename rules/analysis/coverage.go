package analysis

import (
	"regexp"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/predicate"
)

// Coverage is which rules, and which clauses of them, a row of cases exercises. A rule is covered when it holds for sure
// where it counts: a referral or a caution of the answer as a whole that is raised; a bar on some drill; a caution,
// favour or adjustment of a drill on a side that neither a bar nor screening closes; a dose that is the first to hold
// there. A clause is covered when the rule, so holding, would not hold if that clause alone spoke against it.
//
// What is merely possible covers nothing: of a client of whom nothing is known almost every rule is.
type Coverage struct {
	edition *rules.Edition
	truths  *rules.Truths
	rules   []*covered // raised ones first, then as judged
	byRule  map[*rules.Rule]*covered
	only    []string  // ids of the rules that are told of; empty: all
	barred  [2][]bool // by side and drill, in the case at hand
	dosed   [2][]bool
}

type covered struct {
	rule    *rules.Rule
	held    bool
	clauses []clause
	left    int // clauses that nothing has covered yet
}

// clause is an atom of a condition as its author wrote it: the copies that unrolling makes of it are one clause.
type clause struct {
	first   *predicate.Node
	under   bool // below an odd number of nots
	covered bool
}

func (c *clause) is(atom *predicate.Node, under bool) bool {
	return under == c.under && atom.Text == c.first.Text
}

// NewCoverage is the coverage of no case.
func NewCoverage(e *rules.Edition) *Coverage {
	c := &Coverage{edition: e, truths: e.NewTruths(), byRule: map[*rules.Rule]*covered{}}
	for _, r := range e.AllRules() {
		one := &covered{rule: r, clauses: clauses(r.When)}
		one.left = len(one.clauses)
		c.rules, c.byRule[r] = append(c.rules, one), one
	}
	for side := range 2 {
		c.barred[side], c.dosed[side] = make([]bool, len(e.Catalogue.Drills)), make([]bool, len(e.Catalogue.Drills))
	}
	return c
}

// Only leaves what is told, and proposed for, at some rules; their ids.
func (c *Coverage) Only(ids ...string) { c.only = ids }

func (c *Coverage) told(one *covered) bool {
	return len(c.only) == 0 || slices.Contains(c.only, one.rule.ID)
}

// clauses lists the atoms of a condition, each once, in the order they were written.
func clauses(n *predicate.Node) []clause {
	var list []clause
	var visit func(n *predicate.Node, under bool)
	visit = func(n *predicate.Node, under bool) {
		switch n.Op {
		case predicate.And, predicate.Or, predicate.Not:
			for _, k := range n.Kids {
				visit(k, under != (n.Op == predicate.Not))
			}
		case predicate.Always:
		default:
			if !slices.ContainsFunc(list, func(c clause) bool { return c.is(n, under) }) {
				list = append(list, clause{first: n, under: under})
			}
		}
	}
	visit(n, false)
	return list
}

// Screened takes in a case whose screening leaves no drills: only referrals and cautions of the answer count.
// It returns the rules that hold.
func (c *Coverage) Screened(f *client.Facts) []*rules.Rule {
	var held []*rules.Rule
	for _, one := range c.rules {
		if !one.rule.AboutDrills() {
			if c.raised(one, f) {
				held = append(held, one.rule)
			}
		}
	}
	return held
}

func (c *Coverage) raised(one *covered, f *client.Facts) bool {
	held := false
	for side := range 2 {
		if side == 1 && !one.rule.Sided {
			break
		}
		rd := predicate.Read(f, side, c.edition.NoLift, c.edition.NoLift)
		held = one.take(&rd) || held
	}
	return held
}

// Judged takes in a case; the lift may be nil. What screening closes counts as barred. It returns the rules that hold.
func (c *Coverage) Judged(f *client.Facts, lift *catalog.Drill, closed func(d *catalog.Drill, side int) bool) []*rules.Rule {
	held := c.Screened(f)
	c.eachSide(func(drill, side int) {
		c.barred[side][drill] = closed(c.edition.Catalogue.Drills[drill], side)
		c.dosed[side][drill] = false
	})
	c.truths.Each(f, lift, func(r *rules.Rule, t *compile.Truth) {
		if r.Effect == rules.Bar {
			c.eachSide(func(drill, side int) {
				if !t.Covered(drill, side) && (t.Sure(drill, side) || t.Firm(drill, side)) {
					c.barred[side][drill] = true
				}
			})
		}
	})
	c.truths.Each(f, lift, func(r *rules.Rule, t *compile.Truth) {
		one, counts := c.byRule[r], false
		c.eachSide(func(drill, side int) {
			if !t.Sure(drill, side) || r.Effect != rules.Bar && (c.barred[side][drill] || r.Effect == rules.Dosing && c.dosed[side][drill]) {
				return
			}
			c.dosed[side][drill] = c.dosed[side][drill] || r.Effect == rules.Dosing
			if counts = true; !one.held || one.left > 0 {
				c.take(one, f, lift, drill, side)
			}
		})
		if counts {
			held = append(held, r)
		}
	})
	return held
}

func (c *Coverage) eachSide(do func(drill, side int)) {
	for drill := range c.barred[0] {
		do(drill, 0)
		do(drill, 1)
	}
}

// take notes what a rule that holds for a drill on a side covers there.
func (c *Coverage) take(one *covered, f *client.Facts, lift *catalog.Drill, drill, side int) {
	for i, row := range c.edition.Rows(c.edition.Catalogue.Drills[drill]) {
		if i > 0 && !one.rule.BothRows() {
			break
		}
		rd := predicate.Read(f, side^i, row, c.edition.LiftRow(lift))
		one.take(&rd)
	}
}

// take notes what a rule covers on one reading; it is false where the rule doesn't hold for sure.
func (one *covered) take(rd *predicate.Reading) bool {
	if !rd.Eval(one.rule.When).Sure {
		return false
	}
	one.held = true
	if one.left == 0 {
		return true
	}
	for member := range one.rule.Members(rd) {
		if rd.Only = member; rd.Eval(one.rule.When).Sure {
			one.pivots(rd)
		}
		rd.Only = -1
	}
	return true
}

// pivots covers the clauses that decide on a reading.
func (one *covered) pivots(rd *predicate.Reading) {
	for i := range one.clauses {
		c := &one.clauses[i]
		if !c.covered && !rd.Denying(one.rule.When, c.is).Sure {
			c.covered = true
			one.left--
		}
	}
}

// Uncovered is a rule that holds in no case, or a clause that decides in none.
type Uncovered struct {
	Rule *rules.Rule
	// Clause is the first copy of the atom, Not that it stands below an odd number of nots. Clause is nil for a rule that
	// holds in no case: then none of its clauses is covered, and they aren't listed on their own.
	Clause *predicate.Node
	Not    bool
	Text   string // as its author wrote it, not before it when it is denied
	At     authored.Pos
}

// Covers is whether what was uncovered is so no longer.
func (c *Coverage) Covers(u Uncovered) bool {
	one := c.byRule[u.Rule]
	if u.Clause == nil {
		return one.held
	}
	return slices.ContainsFunc(one.clauses, func(c clause) bool { return c.covered && c.is(u.Clause, u.Not) })
}

// Exercised counts rules and clauses: those that are covered, of how many.
type Exercised struct{ Rules, OfRules, Clauses, OfClauses int }

// Count counts.
func (c *Coverage) Count() Exercised {
	var n Exercised
	for _, one := range c.rules {
		if !c.told(one) {
			continue
		}
		n.OfRules++
		if n.OfClauses += len(one.clauses); one.held {
			n.Rules++
		}
		n.Clauses += len(one.clauses) - one.left
	}
	return n
}

// Uncovered lists what no case exercises, by file and line.
func (c *Coverage) Uncovered() []Uncovered {
	var list []Uncovered
	for _, one := range c.rules {
		if !c.told(one) {
			continue
		}
		if !one.held {
			list = append(list, Uncovered{Rule: one.rule, Text: one.rule.CodeText, At: one.rule.At})
			continue
		}
		for i := range one.clauses {
			if cl := &one.clauses[i]; !cl.covered {
				u := Uncovered{Rule: one.rule, Clause: cl.first, Not: cl.under}
				u.Text, u.At = clauseText(one.rule, cl)
				list = append(list, u)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Uncovered) int {
		if by := strings.Compare(a.At.Source.Name, b.At.Source.Name); by != 0 {
			return by
		}
		return a.At.Line - b.At.Line
	})
	return list
}

// clauseText is a clause as it stands in the author's file, and where. Of a != b the atom is a == b.
func clauseText(r *rules.Rule, c *clause) (string, authored.Pos) {
	text, not := c.first.Text, ""
	if c.under {
		not = "not "
	}
	for _, form := range [][2]string{{not, text}, {"", strings.Replace(text, " == ", " != ", 1)}} {
		whole := regexp.MustCompile(`(^|[^\w.'])(` + regexp.QuoteMeta(form[1]) + `)($|[^\w.'])`)
		if found := whole.FindStringSubmatchIndex(r.CodeText); found != nil {
			return form[0] + form[1], r.WhenAt(len([]rune(r.CodeText[:found[4]])))
		}
	}
	return not + text, r.WhenAt(0)
}
