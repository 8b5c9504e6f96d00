package client_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// TestDigestTellsQuestionsApart: texts are told apart though they run on into each other, or into the request.
func TestDigestTellsQuestionsApart(t *testing.T) {
	q := full(edition().Frame)
	questions := [][]string{nil, {""}, {"", ""}, {"SCREEN"}, {"SCREEN", ""}, {"", "SCREEN"}, {"SELECT", "plan", "BASIC"},
		{"SELECT", "planBASIC"}, {"SELECT", "pla", "nBASIC"}, {"SELECTplan", "BASIC"}, {"SELECT", "plan", "REASONS"},
		{strings.Repeat("long ", 400)}, {strings.Repeat("long ", 400), "longer"}}
	seen := map[string][]string{}
	for _, question := range questions {
		digest := q.Digest(question...)
		require.Len(t, digest, 32)
		require.Equal(t, digest, q.Digest(question...))
		require.NotContains(t, seen, digest, "%q", question)
		seen[digest] = question
	}
	require.Equal(t, q.Digest(), q.Digest([]string{}...))
}

// TestDigestOfQuestionAndRequest: what stands in the question isn't taken for the request, nor the other way round.
func TestDigestOfQuestionAndRequest(t *testing.T) {
	lift, drill := &client.Request{Lift: "push-up"}, &client.Request{}
	require.NotEqual(t, lift.Digest("EXPLAIN"), drill.Digest("EXPLAIN", "push-up"))
	require.NotEqual(t, lift.Digest("EXPLAIN"), lift.Digest("EXPLAIN", "push-up"))
}
