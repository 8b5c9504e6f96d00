package client_test

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// lists are the lists of a request whose order means nothing, each swapped through what it is called with.
func lists(q *client.Request) []any {
	p := q.Profile
	all := []any{q.Complaints, q.KitTaken, q.StationsTaken, p.Kit, p.Conditions, p.Clearances, p.Surgeries, p.Medicines, p.Disliked,
		p.GoalLifts, p.Log}
	if p.Screening != nil {
		all = append(all, p.Screening.Lists)
	}
	for i := range p.Clearances {
		all = append(all, p.Clearances[i].Covers)
	}
	return all
}

// TestOrderChangesNothing: whatever the order of its lists, a request has one canonical form and one digest, and stays as it was sent.
func TestOrderChangesNothing(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 2))
	for name, read := range profiles {
		want, q := read(edition().Frame).Canonical(), read(edition().Frame)
		require.Same(t, want, want.Canonical(), name)
		for range 20 {
			for _, list := range lists(q) {
				dice.Shuffle(reflect.ValueOf(list).Len(), reflect.Swapper(list))
			}
			sent := *q.Profile
			sent.Kit, sent.Log, sent.Clearances = slices.Clone(sent.Kit), slices.Clone(sent.Log), slices.Clone(sent.Clearances)
			require.Equal(t, want, q.Canonical(), name)
			require.Equal(t, want.Digest(), q.Digest(), name)
			require.Equal(t, &sent, q.Profile, name)
		}
	}
}

func TestCanonical(t *testing.T) {
	strong, weak := client.Complaint{Region: "wrist", Intensity: 6}, client.Complaint{Region: "ankle", Intensity: 2}
	set := client.LoggedSet{Drill: "push-up", Day: today, Reps: 8}
	q := &client.Request{Complaints: []client.Complaint{weak, strong, weak}, KitTaken: []string{"rack", "bench", "rack"},
		Profile: &client.Profile{Log: []client.LoggedSet{set, set}, Conditions: []client.Condition{{ID: "osteoporosis", Detail: "hip"},
			{ID: "asthma"}, {ID: "osteoporosis", Detail: "spine"}},
			Clearances: []client.Clearance{{Region: "knee", Covers: []string{"b", "a", "a"}}, {Region: "knee", Covers: []string{"a", "b"}}}}}
	in := q.Canonical()
	require.Equal(t, []client.Complaint{strong, weak}, in.Complaints, "the strongest first, each once")
	require.Equal(t, []string{"bench", "rack"}, in.KitTaken)
	require.Len(t, in.Profile.Log, 2, "a set that was done twice is two")
	require.Len(t, in.Profile.Conditions, 2, "what nothing reads makes no second one")
	require.Equal(t, []client.Clearance{{Region: "knee", Covers: []string{"a", "b"}}}, in.Profile.Clearances)
	require.Equal(t, []string{"b", "a", "a"}, q.Profile.Clearances[0].Covers)
}

// TestCanonicalOfWhatIsInOrder takes no memory.
func TestCanonicalOfWhatIsInOrder(t *testing.T) {
	q := full(edition().Frame).Canonical()
	require.Zero(t, testing.AllocsPerRun(10, func() { q.Canonical() }))
}
