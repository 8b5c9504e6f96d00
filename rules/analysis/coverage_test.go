package analysis

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/internal/random"
	"drillwright/rules/predicate"
)

// TestCoverageAgainstClosures holds the coverage of some random clients against asking every rule of every drill on every
// side, and every clause of it, by the closures.
func TestCoverageAgainstClosures(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := builtIn(t)
	coverage := NewCoverage(e)
	plain := plainCoverage{e: e, held: map[string]bool{}, clauses: map[string]bool{}}
	closed := func(d *catalog.Drill, side int) bool { return d.Index%7 == side }
	for seed := range uint64(4) {
		q := random.Client(seed, e.Catalogue.Vocabulary, 0.2)
		f := client.Derive(e.Frame, q)
		var lift *catalog.Drill
		if seed%2 == 1 {
			lift = e.Catalogue.Drills[int(seed)*97%len(e.Catalogue.Drills)]
		}
		coverage.Judged(f, lift, closed)
		plain.add(f, lift, closed)
	}
	held, clauses, decided := 0, 0, 0
	for _, one := range coverage.rules {
		require.Equal(t, plain.held[one.rule.ID], one.held, one.rule.ID)
		if one.held {
			held++
		}
		for _, c := range one.clauses {
			clauses++
			require.Equal(t, plain.clauses[key(one.rule, c.first, c.under)], c.covered, "%s: %s", one.rule.ID, c.first.Text)
			if c.covered {
				decided++
			}
		}
	}
	n := coverage.Count()
	require.Equal(t, Exercised{held, len(coverage.rules), decided, clauses}, n)
	require.Positive(t, held)
	require.Positive(t, decided)
	require.Less(t, decided, clauses)
}

func key(r *rules.Rule, atom *predicate.Node, under bool) string {
	return fmt.Sprint(r.ID, " ", under, " ", atom.Text)
}

// plainCoverage asks everything of everything.
type plainCoverage struct {
	e             *rules.Edition
	held, clauses map[string]bool
}

func (p *plainCoverage) add(f *client.Facts, lift *catalog.Drill, closed func(*catalog.Drill, int) bool) {
	e := p.e
	for _, list := range [][]*rules.Rule{e.Book.Of(rules.Refer), e.Book.Advices} {
		for _, r := range list {
			p.rule(r, predicate.Read(f, 0, e.NoLift, e.NoLift))
			p.rule(r, predicate.Read(f, 1, e.NoLift, e.NoLift))
		}
	}
	j := e.JudgeOne(f, lift)
	defer j.Done()
	for _, d := range e.Catalogue.Drills {
		for side := range 2 {
			barred := closed(d, side) || j.Verdict(d, side) == rules.NotToday
			dosed := false
			for _, r := range e.AllRules() {
				if r.Effect != rules.Bar && (barred || r.Effect == rules.Dosing && dosed) {
					continue
				}
				for i, row := range e.Rows(d) {
					if i == 0 || r.BothRows() {
						dosed = p.rule(r, predicate.Read(f, side^i, row, e.LiftRow(lift))) && r.Effect == rules.Dosing || dosed
					}
				}
			}
		}
	}
}

func (p *plainCoverage) rule(r *rules.Rule, rd predicate.Reading) bool {
	if !truthOf(&rd, r.When, nil).Sure {
		return false
	}
	p.held[r.ID] = true
	members := []int{-1}
	if r.Domain != nil {
		for i := range r.Domain.Kids {
			members = append(members, i)
		}
	}
	some := false
	for _, m := range append(members[1:], -1) {
		rd.Only = m
		if m < 0 && some || !truthOf(&rd, r.When, nil).Sure {
			continue
		}
		some = true
		for _, c := range clauses(r.When) {
			if !truthOf(&rd, r.When, &c).Sure {
				p.clauses[key(r, c.first, c.under)] = true
			}
		}
	}
	return true
}

// truthOf joins the atoms by Kleene's tables, with one clause speaking against the condition.
func truthOf(rd *predicate.Reading, n *predicate.Node, denied *clause) client.Truth {
	var walk func(n *predicate.Node, under bool) client.Truth
	walk = func(n *predicate.Node, under bool) client.Truth {
		switch n.Op {
		case predicate.Not:
			k := walk(n.Kids[0], !under)
			return client.Truth{Sure: !k.Possible, Possible: !k.Sure}
		case predicate.And, predicate.Or:
			all := n.Op == predicate.And
			t := client.Truth{Sure: all, Possible: all}
			for i, k := range n.Kids {
				if n.Op == predicate.Or && n.Domain != "" && rd.Only >= 0 && i != rd.Only {
					continue
				}
				v := walk(k, under)
				if all {
					t = client.Truth{Sure: t.Sure && v.Sure, Possible: t.Possible && v.Possible}
				} else {
					t = client.Truth{Sure: t.Sure || v.Sure, Possible: t.Possible || v.Possible}
				}
			}
			return t
		}
		if denied != nil && under == denied.under && n.Text == denied.first.Text {
			return client.Truth{Sure: under, Possible: under}
		}
		return rd.Eval(n)
	}
	return walk(n, false)
}
