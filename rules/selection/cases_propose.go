package selection

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// Proposal is what came of a rule or clause that no case exercises.
type Proposal struct {
	analysis.Proposed
	// Case is ready to be kept, but for the text of its client; of Exists.
	Case Case
}

// Propose finds a case for everything that the cases leave uncovered, or the proof that there is none. The coverage has
// taken in the cases, and takes in those that are found: one case often does for several clauses. The only error is the
// context's.
func Propose(ctx context.Context, e *rules.Edition, cases []Case, coverage *analysis.Coverage) ([]Proposal, error) {
	p := &proposer{e: e, taken: map[string]bool{}}
	for _, c := range cases {
		p.taken[c.ID.Value] = true
	}
	var others []*client.Request
	for _, c := range cases {
		others = append(others, waitedFor(ctx, c.Request))
	}
	search := analysis.Proposing{Plain: waitedFor(ctx, plainClient(e, dayOf(cases))), Others: others, Facts: p.facts, Exercises: p.exercises,
		Done: ctx.Done(), Steps: analysis.ProposeSteps}
	var all []Proposal
	had := map[uncoveredKey]bool{}
	for {
		open := slices.DeleteFunc(coverage.Uncovered(), func(u analysis.Uncovered) bool { return had[keyOf(u)] })
		if len(open) == 0 || ctx.Err() != nil {
			return all, ctx.Err()
		}
		if search.Steps <= 0 {
			for _, u := range open {
				all = append(all,
					Proposal{Proposed: analysis.Proposed{Uncovered: u, Proof: "it wasn't looked for: what came before took too many steps"}})
			}
			return all, nil
		}
		one := Proposal{Proposed: analysis.Propose(e, open[0], search)}
		search.Steps -= one.Steps + len(open)
		if one.Existence == analysis.Exists {
			one.Case = p.found
			p.taken[one.Case.ID.Value] = true
			runCase(ctx, e, one.Case, coverage, true)
		}
		had[keyOf(open[0])] = true
		all = append(all, one)
	}
}

// waitedFor is a request that nobody waits for when the context has ended.
func waitedFor(ctx context.Context, q *client.Request) *client.Request {
	waited := *q
	waited.Done = ctx.Done()
	return &waited
}

// uncoveredKey tells what is uncovered apart.
type uncoveredKey struct {
	rule   *rules.Rule
	clause *predicate.Node
	not    bool
}

func keyOf(u analysis.Uncovered) uncoveredKey { return uncoveredKey{u.Rule, u.Clause, u.Not} }

// proposer writes cases and tries them.
type proposer struct {
	e     *rules.Edition
	taken map[string]bool // ids
	found Case            // the last that exercised what it should
}

// facts of a request as a question in place of the lift reads them.
func (p *proposer) facts(q *client.Request, lift *catalog.Drill) *client.Facts {
	a := &asked{e: p.e, q: q, facts: client.Derive(p.e.Frame, q)}
	a.allowed(lift)
	return a.facts
}

// exercises tries a client as a case: first with all that the case could want, then with the rule alone.
func (p *proposer) exercises(u analysis.Uncovered, q *client.Request, at analysis.Spot) bool {
	c := p.write(u, q, at)
	for _, want := range wants(u.Rule, at) {
		c.Want = want
		coverage := analysis.NewCoverage(p.e)
		if outcome := runCase(context.Background(), p.e, c, coverage, true); !coverage.Covers(u) {
			return false
		} else if len(outcome.Faults) == 0 {
			p.found = c
			return true
		}
	}
	return false
}

// write makes a case of a client, but for what it wants.
func (p *proposer) write(u analysis.Uncovered, q *client.Request, at analysis.Spot) Case {
	c := &rules.Case{ID: text(p.id(u)), About: about(u)}
	switch {
	case at.Lift != nil:
		asked := *q
		asked.Lift, q = at.Lift.ID, &asked
		c.Ask.Substitute = text(at.Lift.ID)
	case q.Minutes > 0 && len(p.e.Book.Plans) > 0:
		c.Ask.Select, c.Ask.Minutes = text(p.e.Book.Plans[0].ID), q.Minutes
	case at.Drill != nil:
		c.Ask.Explain = text(at.Drill.ID)
	default:
		c.Ask.Screen = true
	}
	c.Ask.KitTaken, c.Ask.StationsTaken = texts(q.KitTaken), texts(q.StationsTaken)
	return Case{c, q}
}

// wants are what a case could want, most first: that the rule holds, and what follows from it.
func wants(r *rules.Rule, at analysis.Spot) []rules.CaseWant {
	holds := rules.CaseWant{Holds: []authored.Text{text(r.ID)}}
	more := holds
	byRule := func() rules.ByRule {
		return rules.ByRule{{Key: r.ID, Value: authored.Several[authored.Text]{text(at.Drill.ID)}}}
	}
	switch r.Effect {
	case rules.Refer:
		more.Refer = authored.Several[rules.CaseRefer]{{Rule: text(r.ID)}}
	case rules.Advise:
		more.Advice = []authored.Text{text(r.ID)}
	case rules.Bar:
		more.BarredBy = byRule()
	case rules.Caution:
		more.Cautions = byRule()
	case rules.Dosing:
		more.Doses = byRule()
	default:
		more.Open = []authored.Text{text(at.Drill.ID)}
	}
	return []rules.CaseWant{more, holds}
}

func text(s string) authored.Text { return authored.Text{Value: s} }

func texts(list []string) []authored.Text {
	var out []authored.Text
	for _, s := range list {
		out = append(out, text(s))
	}
	return out
}

func about(u analysis.Uncovered) string {
	if u.Clause == nil {
		return fmt.Sprintf("The rule %s holds.", u.Rule.ID)
	}
	return fmt.Sprintf("Of %s it hangs on: %s", u.Rule.ID, strings.Join(strings.Fields(u.Text), " "))
}

var notInID = regexp.MustCompile(`[^a-z0-9]+`)

// id is the rule's, and what of the clause is its own.
func (p *proposer) id(u analysis.Uncovered) string {
	id := u.Rule.ID
	if u.Clause != nil {
		words := strings.NewReplacer("client.", "", "drill.", "", "lift.", "", "request.", "", "stressor.", "").Replace(strings.ToLower(u.Text))
		words = strings.Trim(notInID.ReplaceAllString(words, "-"), "-")
		if len(words) > 40 {
			words = strings.Trim(words[:40], "-")
		}
		id += "-" + words
	}
	free := id
	for n := 2; p.taken[free]; n++ {
		free = fmt.Sprintf("%s-%d", id, n)
	}
	return free
}

// plainClient is one who was asked everything, has nothing and trains without equipment.
func plainClient(e *rules.Edition, day client.Day) *client.Request {
	age, no, yes := 35, false, true
	return &client.Request{AsOf: day, Profile: &client.Profile{
		AgeYears: &age, ConditionsTold: true, SurgeriesTold: true, MedicinesTold: true, ClearancesTold: true,
		BloodPressure: &client.BloodPressure{Systolic: 120, Diastolic: 80, Day: day},
		Screening:     &client.Screening{Lists: e.Frame.ListIDs(), Day: day, Others: "NO"}, Supervised: &yes, PainkillerToday: &no,
	}}
}

// dayOf is the day of the first case; a book without cases takes any.
func dayOf(cases []Case) client.Day {
	if len(cases) > 0 {
		return cases[0].Request.AsOf
	}
	day, _ := client.ParseDay("2026-01-01")
	return day
}
