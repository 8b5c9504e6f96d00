package selection_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

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
