package selection_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// testSetOf is the test set of a drill in place of a lift.
func testSetOf(t *testing.T, q *client.Request, lift, id string) selection.TestSet {
	t.Helper()
	q.Lift = lift
	a, err := selection.Substitute(edition(t), q, selection.Options{Limit: -1})
	require.NoError(t, err)
	for _, s := range a.Substitutes {
		if s.Drill.ID == id {
			return s.TestSet
		}
	}
	require.Failf(t, "it isn't offered", "%s instead of %s", id, lift)
	return selection.TestSet{}
}

// TestTestSetsOfASoreRegion: when they are passed, what follows, and what the next morning decides.
func TestTestSetsOfASoreRegion(t *testing.T) {
	q := shoulderHurts(t)
	set := testSetOf(t, q, "barbell-overhead-press", "dumbbell-bench-press")
	require.Equal(t, "8 to 10 slow repetitions with the lightest there is, 1 kg.", set.Words)
	require.Equal(t, "Passed: pain of no more than 1 of 10, not rising from one repetition to the next, gone back within two minutes.",
		set.Passed)
	require.Equal(t, "Failed: take the next drill in the list; after two drills that fail, nothing more for the left shoulder today. "+
		"Anything sharp, catching, slipping, tingling, numb or weak ends it, and the left shoulder for today.", set.Failed)
	require.Equal(t,
		"New to the log: one such drill for the left shoulder a session, at most two working sets at an effort of 6, then one day "+
			"between, until the next morning is scored. 2 or more above usual, or over 24 hours to settle: not this "+
			"drill again. No worse: at most 5 % more next time.", set.NextMorning)

	q.Profile.Log = []client.LoggedSet{did(q, "dumbbell-bench-press", 3, 12, 10)}
	require.Equal(t,
		"Score the next morning: 2 or more above usual, or over 24 hours to settle: not this drill again. No worse: at most 5 % more next time.",
		testSetOf(t, q, "barbell-overhead-press", "dumbbell-bench-press").NextMorning, "it isn't new")

	for name, c := range map[string]struct {
		intensity float64
		kind      string
		most      int
	}{
		"one less than told":           {3, "ACHE", 2},
		"the ceiling":                  {5, "ACHE", 3},
		"one is always allowed":        {1, "ACHE", 1},
		"sharp: a lower ceiling":       {5, "SHARP", 2},
		"halves are rounded down":      {2.5, "ACHE", 1},
		"no pain told is no pass mark": {0, "ACHE", 1},
	} {
		q := shoulderHurts(t)
		q.Complaints[0].Intensity, q.Complaints[0].Kind = c.intensity, c.kind
		scores(t, q, "shoulder", max(c.intensity, 1))
		q.Lift = "barbell-overhead-press"
		a, err := selection.Substitute(edition(t), q, selection.Options{Limit: -1})
		require.NoError(t, err)
		holds := 0
		for _, s := range a.Substitutes {
			if s.TestSet.Passed == "" {
				continue
			}
			require.Equal(t, min(c.most, s.Sides[0].Dose.PainCeiling), s.TestSet.PainCeiling, "%s: %s", name, s.Drill.ID)
			if s.TestSet.HoldSeconds > 0 && s.Drill.Speed == "hold" && !s.Drill.Lifted() {
				holds++
				require.Contains(t, s.TestSet.Passed, "not rising while it is held", s.Drill.ID)
				require.NotContains(t, s.TestSet.NextMorning, "%", "%s: no load is set", s.Drill.ID)
			}
		}
		require.Positive(t, holds, name)
	}
}

// TestTestSetsOfTheRest say no more than they did.
func TestTestSetsOfTheRest(t *testing.T) {
	set := testSetOf(t, shoulderHurts(t), "barbell-bench-press", "machine-leg-press")
	require.Equal(t,
		"8 to 10 slow repetitions with the lightest there is, 20 kg. Pain above 3 of 10: stop and take the next drill in the list.", set.Words)
	require.Empty(t, set.Passed+set.Failed+set.NextMorning)

	set = testSetOf(t, someone(t), "barbell-bench-press", "farmer-carry")
	require.Regexp(t, "^[0-9]+ metres with the lightest there is, 2 kg. Pain above 3 of 10: ", set.Words)
}

// TestTestSetLoads: half of the load, rounded down, or the lightest; few repetitions where that is heavy.
func TestTestSetLoads(t *testing.T) {
	for _, c := range []struct {
		logged, dose, test float64
		reps               int
	}{{100, 100, 50, 10}, {95, 95, 47.5, 10}, {40, 40, 20, 10}, {35, 35, 20, 10}, {32.5, 32.5, 20, 5}, {20, 20, 20, 5}} {
		q := someone(t)
		q.Profile.Log = []client.LoggedSet{did(q, "barbell-bench-press", 3, 12, c.logged)}
		q.Lift = "barbell-overhead-press"
		a, err := selection.Substitute(edition(t), q, selection.Options{Limit: -1})
		require.NoError(t, err)
		found := false
		for _, s := range a.Substitutes {
			if s.Drill.ID == "barbell-bench-press" {
				found = true
				require.InDelta(t, c.dose, *s.Sides[0].Dose.LoadKg, 0)
				require.InDelta(t, c.test, *s.TestSet.LoadKg, 0, "of %g kg", c.logged)
				require.Equal(t, c.reps, s.TestSet.RepsHigh, "of %g kg", c.logged)
			}
		}
		require.True(t, found)
	}
}

// TestTestSetsAreLight: never more than half of what is to be lifted, unless nothing is lighter.
func TestTestSetsAreLight(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		q := aLog(t, r)
		q.Lift = rapid.SampledFrom([]string{"barbell-bench-press", "barbell-back-squat", "barbell-deadlift"}).Draw(r, "lift")
		a, err := selection.Substitute(edition(t), q, selection.Options{Limit: 12})
		require.NoError(r, err)
		for _, s := range a.Substitutes {
			dose, set := s.Sides[0].Dose, s.TestSet
			require.Regexp(r, oneSentence, dose.LoadWords)
			if set.LoadKg == nil {
				require.False(r, s.Drill.Loads && s.Drill.Lifted(), s.Drill.ID)
				continue
			}
			most := s.Drill.Load.FloorKg
			if dose.LoadKg != nil {
				most = max(most, *dose.LoadKg/2)
			}
			require.LessOrEqual(r, *set.LoadKg, most, s.Drill.ID)
			steps := (*set.LoadKg - s.Drill.Load.FloorKg) / s.Drill.Load.StepKg
			require.InDelta(r, math.Round(steps), steps, 1e-6, s.Drill.ID)
			require.Equal(r, set.Passed == "", set.NextMorning == "", s.Drill.ID)
		}
	})
}
