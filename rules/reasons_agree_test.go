package rules

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/compile"
	"drillwright/rules/predicate"
)

// TestReasonsAgree: a rule is given as a reason exactly where the machine and the sets say that it can hold, and once
// for each member that, on the machine, makes it hold: of a rule that gives points and is sure, each that it is sure by. On
// some drills only.
func TestReasonsAgree(t *testing.T) {
	reasonsAgree(t, 5, 0) // has a rule of points that is sure by one member and not ruled out by another
	seeds := rapid.Uint64Range(0, 1<<20)
	rapid.Check(t, func(t *rapid.T) {
		reasonsAgree(t, seeds.Draw(t, "book"), seeds.Draw(t, "client"))
	})
}

func reasonsAgree(t require.TestingT, book, seed uint64) {
	w := newWorld(t, book, 60, 80)
	f, lift := w.client(seed), w.lift(seed)
	j := w.JudgeOne(f, lift)
	defer j.Done()
	ends := [2]predicate.Ends{}
	for side := range ends {
		ends[side] = predicate.EndsOf(f, side).Lift(w.LiftRow(lift).Spread())
	}
	oracle := memberOracle{w, ends}
	w.truths.Each(f, uncovered(f), w.LiftRow(lift), func(i int, truth *compile.Truth) {
		r := w.judged[i]
		for _, d := range w.Catalogue.Drills[:4] {
			for side := range 2 {
				var got []string
				for _, reason := range j.Reasons(r, d, side) {
					got = append(got, reason.Rule+" "+reason.Member)
				}
				require.Equal(t, oracle.reasons(r, d, side), got, "drill %s, side %d: %s", d.ID, side, r.CodeText)
				require.Equal(t, truth.Possible(d.Index, side), len(got) > 0, "drill %s, side %d: %s", d.ID, side, r.CodeText)
			}
		}
	})
}

// memberOracle asks expr's machine which members of a domain make a rule hold.
type memberOracle struct {
	*world
	ends [2]predicate.Ends
}

func (o memberOracle) reasons(r *Rule, d *catalog.Drill, side int) []string {
	rows := o.rows[d.Index]
	if !r.BothRows() {
		rows = rows[:1]
	}
	var out []string
	for i, row := range rows {
		ends := o.ends[side^i].Drill(row.Spread())
		if !o.can(r.When, ends) {
			continue
		}
		before, pays := len(out), r.Points > 0 && o.sure(r.When, ends)
		for m := range o.members(r) {
			kid := r.Domain.Kids[m]
			alone := replaced(r.When, r.Domain, kid)
			if o.can(kid, ends) && o.can(alone, ends) && (!pays || o.sure(alone, ends)) {
				out = append(out, r.ID+" "+r.Domain.Witnesses[m])
			}
		}
		if len(out) == before {
			out = append(out, r.ID+" ")
		}
	}
	return out
}

func (o memberOracle) members(r *Rule) []*predicate.Node {
	if r.Domain == nil {
		return nil
	}
	return r.Domain.Kids
}

func (o memberOracle) can(n *predicate.Node, ends predicate.Ends) bool {
	return o.ask(n, predicate.Possible, ends)
}

func (o memberOracle) sure(n *predicate.Node, ends predicate.Ends) bool {
	return o.ask(n, predicate.Sure, ends)
}

func (o memberOracle) ask(n *predicate.Node, q predicate.Question, ends predicate.Ends) bool {
	program, err := predicate.Program(n, q)
	if err != nil {
		panic(err)
	}
	run := referenceRun{referenceJudge: o.reference.reference}
	return run.run(program, ends)
}

// replaced copies a condition with one node put in another's place.
func replaced(n, old, instead *predicate.Node) *predicate.Node {
	if n == old {
		return instead
	}
	out := *n
	out.Kids = slices.Clone(n.Kids)
	for i, k := range out.Kids {
		out.Kids[i] = replaced(k, old, instead)
	}
	return &out
}
