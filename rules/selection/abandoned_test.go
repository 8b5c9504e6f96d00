package selection_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestNothingComesOfAnAbandonedQuestion: whenever the caller leaves, there is a whole answer or none, and no room holds what
// was begun.
func TestNothingComesOfAnAbandonedQuestion(t *testing.T) {
	e := edition(t)
	q := someone(t)
	q.Lift = "barbell-overhead-press"
	hurts(q, "shoulder", client.SideLeft, 3)
	questions := map[string]func(*client.Request) (any, error){
		"screen":     func(q *client.Request) (any, error) { return selection.Screen(e, q) },
		"substitute": func(q *client.Request) (any, error) { return selection.Substitute(e, q, selection.Options{Limit: -1}) },
		"select":     func(q *client.Request) (any, error) { return selection.Select(e, q, "", selection.Options{}) },
		"explain":    func(q *client.Request) (any, error) { return selection.Explain(e, q, "barbell-overhead-press") },
	}
	for name, ask := range questions {
		want, err := ask(q)
		require.NoError(t, err, name)
		gone := make(chan struct{})
		close(gone)
		left := *q
		left.Done = gone
		_, err = ask(&left)
		require.ErrorIs(t, err, client.ErrAbandoned, name)
		left.AsOf = 0
		_, err = ask(&left)
		require.ErrorIs(t, err, client.ErrAbandoned, "%s: what is found wrong may be less than there is", name)
		for wait := time.Microsecond; wait < 20*time.Millisecond; wait = wait * 3 / 2 {
			soon, leaves := *q, make(chan struct{})
			soon.Done = leaves
			late := time.AfterFunc(wait, func() { close(leaves) })
			got, err := ask(&soon)
			if err != nil {
				require.ErrorIs(t, err, client.ErrAbandoned, name)
			} else {
				require.Equal(t, want, got, name)
			}
			late.Stop()
		}
		got, err := ask(q)
		require.NoError(t, err, name)
		require.Equal(t, want, got, name)
	}
}

// TestAuthorsWorkEndsWithItsContext: what is asked of hundreds of clients, or searched for, is told whole or not at all, and
// goes on no longer than somebody waits.
func TestAuthorsWorkEndsWithItsContext(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e, q := edition(t), someone(t)
	q.Profile.GoalLifts = []string{"barbell-overhead-press"}
	var samples []selection.Sample
	var cases []selection.Case
	for i := range 50_000 { // far more than the time that is given takes
		samples = append(samples, selection.Sample{Name: fmt.Sprint(i), Request: q})
		c := &rules.Case{ID: authored.Text{Value: fmt.Sprint(i)}}
		c.Ask.Substitute.Value = "barbell-overhead-press"
		cases = append(cases, selection.Case{Case: c, Request: q})
	}
	works := map[string]func(context.Context) (any, error){
		"preview": func(ctx context.Context) (any, error) {
			seen, err := selection.Preview(ctx, e, e, samples)
			return seen, err
		},
		"cases": func(ctx context.Context) (any, error) {
			return selection.RunCases(ctx, e, cases, analysis.NewCoverage(e))
		},
		"cases side by side": func(ctx context.Context) (any, error) { return selection.RunCases(ctx, e, cases, nil) },
		"propose":            func(ctx context.Context) (any, error) { return selection.Propose(ctx, e, nil, analysis.NewCoverage(e)) },
	}
	for name, work := range works {
		for _, after := range []time.Duration{0, 100 * time.Millisecond} {
			ctx, cancel := context.WithTimeout(t.Context(), after)
			began := time.Now()
			_, err := work(ctx)
			require.ErrorIs(t, err, context.DeadlineExceeded, name)
			require.Less(t, time.Since(began), after+5*time.Second, name)
			cancel()
		}
	}
}
