package selection_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestScratchHoldsNothing: answers that share their scratch memory are those that have one each, and leave nothing of the client in it.
func TestScratchHoldsNothing(t *testing.T) {
	e, sore, other := edition(t), onRung(t, "single_joint"), someone(t)
	sore.Lift, other.Lift = "barbell-overhead-press", "goblet-squat"
	hurts(other, "knee", client.SideRight, 2)
	other.Profile.Log = append(other.Profile.Log, client.LoggedSet{Drill: "goblet-squat", Day: other.AsOf - 3, Reps: 8, LoadKg: 20})
	answers := func() (list []any) {
		for _, q := range []*client.Request{sore, other} {
			for _, limit := range []int{0, -1, 1} {
				s, err := selection.Substitute(e, q, selection.Options{Limit: limit})
				require.NoError(t, err)
				list = append(list, s)
			}
			s, err := selection.Select(e, q, "", selection.Options{})
			require.NoError(t, err)
			list = append(list, s)
		}
		return list
	}
	var shared []any
	require.False(t, selection.InOneScratch(func() { shared = answers() }))
	require.Equal(t, answers(), shared)
}

// TestAnswersSideBySide: answers given at once, to several clients, are those given one after the other.
func TestAnswersSideBySide(t *testing.T) {
	e := edition(t)
	var asked []*client.Request
	var wanted []*selection.SubstituteAnswer
	for _, region := range []string{"shoulder", "knee", "low_back", "elbow"} {
		q := someone(t)
		q.Lift = "barbell-overhead-press"
		hurts(q, region, client.SideLeft, 3)
		if region == "low_back" {
			q.Complaints[len(q.Complaints)-1].Side = client.SideNone
		}
		a, err := selection.Substitute(e, q, selection.Options{})
		require.NoError(t, err)
		asked, wanted = append(asked, q), append(wanted, a)
	}
	var all sync.WaitGroup
	for at := range 2 * len(asked) {
		all.Go(func() {
			for i := range 10 {
				n := (at + i) % len(asked)
				a, err := selection.Substitute(e, asked[n], selection.Options{})
				assert.NoError(t, err)
				assert.Equal(t, wanted[n], a)
			}
		})
	}
	all.Wait()
}
