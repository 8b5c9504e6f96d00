package selection_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestWhatIsNotRuledOutCloses: a referral closes what it is about until it is ruled out, whatever it hangs on.
func TestWhatIsNotRuledOutCloses(t *testing.T) {
	for name, of := range map[string]struct {
		tell   func(q *client.Request)
		closed string
	}{
		"an operation that nobody dated, trained on since": {func(q *client.Request) {
			answered(q, "surgery_or_dislocation", "YES")
			q.Profile.Surgeries = []client.Surgery{{ID: "other_operation", Region: "shoulder", Side: client.SideLeft, FullTrainingSince: true}}
		}, "dumbbell-lateral-raise"},
		"a fall, and a condition that may be fragile bones": {func(q *client.Request) {
			answered(q, "fall_on_the_level", "YES")
			answered(q, "known_condition", "YES")
		}, "shoulder-blade-circles"},
		"an unseen injury somewhere, and an operation elsewhere": {func(q *client.Request) {
			answered(q, "recent_trauma", "YES")
			answered(q, "surgery_or_dislocation", "YES")
			q.Profile.Surgeries = []client.Surgery{{ID: "other_operation", Region: "shoulder", Side: client.SideLeft, Day: q.AsOf - 200}}
		}, "machine-leg-press"},
		"a pain that rises somewhere, and a condition elsewhere": {func(q *client.Request) {
			answered(q, "pain_rising_daily", "YES")
			answered(q, "known_condition", "YES")
			has(q, "subacromial_pain", client.SideLeft)
			scores(t, q, "shoulder", 2)
		}, "machine-leg-press"},
	} {
		t.Run(name, func(t *testing.T) {
			q := someone(t)
			require.Equal(t, rules.Open, left(t, edition(t), q).Verdicts[drill(t, of.closed).Index][catalog.Left])
			of.tell(q)
			require.Equal(t, rules.NotToday, left(t, edition(t), q).Verdicts[drill(t, of.closed).Index][catalog.Left])
		})
	}
}

// answered gives an answer of its own, of today, in place of what was.
func answered(q *client.Request, question, is string) {
	q.Profile.Answers = slices.DeleteFunc(slices.Clone(q.Profile.Answers), func(a client.Answer) bool { return a.Question == question })
	q.Profile.Answers = append(q.Profile.Answers, client.Answer{Question: question, Is: is, Day: q.AsOf})
}

func left(r require.TestingT, e *rules.Edition, q *client.Request) *selection.Left {
	l, err := selection.LeftOf(e, q)
	require.NoError(r, err)
	return l
}
