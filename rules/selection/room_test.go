package selection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestRoomHoldsNothing: answers that share their room are those that have one each, and leave nothing of the client in it.
func TestRoomHoldsNothing(t *testing.T) {
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
	require.False(t, selection.InOneRoom(func() { shared = answers() }))
	require.Equal(t, answers(), shared)
}
