package selection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/selection"
)

// TestReceiptTellsQuestionsApart: of one and the same client, each question has a digest of its own, always the same.
func TestReceiptTellsQuestionsApart(t *testing.T) {
	e, q := edition(t), someone(t)
	hurts(q, "shoulder", sidesOf(t, "shoulder")[0], 3)
	q.Lift = "barbell-overhead-press"
	plans, options := e.Book.Plans, []selection.Options{{}, {Brief: true}, {Limit: 1}, {Limit: 1, Brief: true}, {Limit: -1}}
	seen := map[string]bool{}
	for range 2 {
		digests := map[string]bool{}
		note := func(h selection.Header, err error) {
			require.NoError(t, err)
			require.False(t, digests[h.Receipt.RequestDigest], "two questions have the same digest")
			digests[h.Receipt.RequestDigest] = true
		}
		screened, err := selection.Screen(e, q)
		note(screened.Header, err)
		for _, id := range []string{"push-up", "push-press"} {
			explained, err := selection.Explain(e, q, id)
			note(explained.Header, err)
		}
		for _, o := range options {
			instead, err := selection.Substitute(e, q, o)
			note(instead.Header, err)
		}
		for _, id := range []string{"", plans[0].ID, plans[1].ID} {
			for _, o := range options[:2] {
				session, err := selection.Select(e, q, id, o)
				note(session.Header, err)
			}
		}
		if len(seen) > 0 {
			require.Equal(t, seen, digests, "the same questions, asked again")
		}
		seen = digests
	}
}
