package rules

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
	"drillwright/rules/predicate"
)

// TestGatesAgree holds the packed preconditions against the closures of the same conditions, on generated books and on the
// embedded one.
func TestGatesAgree(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	open, shut := 0, 0
	check := func(e *Edition, seed uint64) {
		q := random.Client(seed, e.Frame.Vocabulary, []float64{0.3, 0.05, 0.7, 0}[seed%4])
		if e.Catalogue.Drill(random.DrillID(0)) == nil { // its likes and its log name drills of a generated catalogue
			q.Profile.Disliked, q.Profile.GoalLifts, q.Profile.Log = nil, nil, nil
		}
		f, lift := random.Facts(seed, e.Frame, q), e.LiftRow(e.Catalogue.Drills[int(seed*7)%len(e.Catalogue.Drills)])
		readings := [2]predicate.Reading{predicate.Read(f, 0, nil, lift), predicate.Read(f, 1, nil, lift)}
		for _, x := range []struct {
			gates *compile.Preconditions
			rules []*Rule
		}{{e.preconditions, e.judged}, {e.advisoryPreconditions, slices.Concat(e.Book.Of(Refer), e.Book.Advices)}} {
			var opened compile.Satisfied
			var of compile.Asked
			of.Begin(&readings)
			x.gates.Ask(&of, &opened)
			for i, r := range x.rules {
				some := false
				for side := range 2 {
					n := r.When.WithoutDrill()
					want := n == nil || readings[side].Eval(n).Possible
					require.Equal(t, want, opened.On[side].Has(i), "client %d, rule %s, side %d: %s", seed, r.ID, side, r.CodeText)
					some = some || want
				}
				require.Equal(t, some, opened.Either.Has(i), "client %d, rule %s", seed, r.ID)
				if some {
					open++
				} else {
					shut++
				}
			}
		}
	}
	embedded := embeddedEdition(t)
	for seed := range uint64(20) {
		check(embedded, seed)
		check(newWorld(t, seed, 20, 100).Edition, seed)
	}
	require.Positive(t, open)
	require.Positive(t, shut)
}
