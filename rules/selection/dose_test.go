package selection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// limited lets a region be loaded with so many kilograms on a side.
func limited(q *client.Request, region string, side client.Side, kg float64) {
	q.Profile.ClearancesTold = true
	q.Profile.Clearances = append(q.Profile.Clearances, client.Clearance{By: "CLINICIAN", Region: region, Side: side, Given: q.AsOf - 3,
		LoadKg: &kg})
}

func lifted(q *client.Request, id string, kg float64) {
	q.Profile.Log = append(q.Profile.Log, client.LoggedSet{Drill: id, Day: q.AsOf - 4, Side: client.SideBoth, Reps: 10, LoadKg: kg})
}

func explained(t *testing.T, q *client.Request, id string) *selection.ExplainAnswer {
	t.Helper()
	a, err := selection.Explain(edition(t), q, id)
	require.NoError(t, err)
	return a
}

// TestLimitOfEitherSideBindsBoth: what works both sides keeps to a clinician's limit on either.
func TestLimitOfEitherSideBindsBoth(t *testing.T) {
	for _, side := range client.Sides {
		q := someone(t)
		limited(q, "shoulder", side, 6)
		stands(t, q, "shoulder", "unrestricted")
		lifted(q, "farmer-carry", 20)
		for _, reported := range explained(t, q, "farmer-carry").Sides {
			require.Equal(t, "OPEN", reported.Verdict)
			require.NotNil(t, reported.Dose.LoadKg, reported.Dose.LoadWords)
			require.InDelta(t, 6, *reported.Dose.LoadKg, 0, "limit on the %s", side)
		}
	}
}

// TestLimitOfThePropCounts: a side that only props or holds while the other works isn't loaded beyond its limit either.
func TestLimitOfThePropCounts(t *testing.T) {
	e, found := edition(t), 0
	for _, d := range e.Catalogue.Drills {
		if d.Sides != catalog.OneSide || len(d.Rows) < 2 || !d.Lifted() || d.Load.FloorKg > 6 || d.Unit != "reps" {
			continue
		}
		for region := range d.Rows[1].Asks() {
			if !e.Frame.Vocabulary.Sided(region) {
				continue
			}
			q := someone(t)
			limited(q, region, client.SideRight, 6)
			stands(t, q, region, "unrestricted")
			lifted(q, d.ID, 20)
			left := explained(t, q, d.ID).Sides[catalog.Left]
			if left.Dose != nil && left.Dose.LoadKg != nil {
				require.LessOrEqual(t, *left.Dose.LoadKg, 6.0, "%s on the left, with a limit for the right %s", d.ID, region)
				found++
			}
		}
	}
	require.Positive(t, found)
}

// TestEachVariableIsTheMoreCautious: carpal tunnel of either hand lowers the ceiling of what both hands do, and the reasons say by what.
func TestEachVariableIsTheMoreCautious(t *testing.T) {
	for _, side := range client.Sides {
		q := someone(t)
		has(q, "carpal_tunnel_syndrome", side)
		q.Lift = "barbell-back-squat"
		a, err := selection.Substitute(edition(t), q, selection.Options{Limit: -1})
		require.NoError(t, err)
		both := 0
		for _, s := range a.Substitutes {
			if s.Drill.Sides == catalog.OneSide || !s.Drill.Loads {
				continue
			}
			both++
			require.LessOrEqual(t, s.Sides[0].Dose.PainCeiling, 2, "%s, %s", s.Drill.ID, side)
			var named bool
			for _, r := range s.Reasons {
				named = named || r.Rule == "nerve-condition-ceiling" && r.Side == string(side)
			}
			require.True(t, named, "%s: %v", s.Drill.ID, s.Reasons)
		}
		require.Positive(t, both)
	}
}

// TestTooLightIsNotToday: a load below what a drill starts at closes it in every answer, with that reason.
func TestTooLightIsNotToday(t *testing.T) {
	q := someone(t)
	has(q, "heart_condition", client.SideNone)
	q.Profile.Conditions = nil
	q.Profile.Medicines = []client.Medicine{{Class: "joint_steroid_injection", Since: q.AsOf - 3}}
	lifted(q, "farmer-carry", 3)
	a := explained(t, q, "farmer-carry")
	require.Equal(t, "NOT_TODAY", a.Verdict)
	for _, side := range a.Sides {
		require.Nil(t, side.Dose)
		require.Equal(t, "steroid-injection-dose", side.Rules[0].Reason.Rule)
		require.Contains(t, side.Rules[0].Reason.Words, "starts at 2 kg")
	}
}

// TestSecondLookAtDoses: with the limits lost on the way to the doses, nothing above them is returned, and it is counted.
func TestSecondLookAtDoses(t *testing.T) {
	e, q := edition(t), someone(t)
	limited(q, "shoulder", client.SideRight, 6)
	stands(t, q, "shoulder", "unrestricted")
	for _, d := range e.Catalogue.Drills {
		if d.Lifted() {
			lifted(q, d.ID, 20)
		}
	}
	q.Lift = "barbell-back-squat"
	before := e.Withheld()
	a, looked, err := selection.WithoutLimits(e, q)
	require.NoError(t, err)
	require.Greater(t, e.Withheld(), before)
	require.Less(t, len(a.Substitutes), len(looked))
	heavier := 0
	for _, s := range a.Substitutes {
		for _, side := range s.Sides {
			over := side.Dose.LoadKg != nil && *side.Dose.LoadKg > 6
			for i := range s.Drill.Rows {
				for region := range s.Drill.Rows[i].Asks() {
					right := side.Side == "BOTH" || (side.Side == "RIGHT") == (i == 0)
					require.False(t, over && right && region == "shoulder", "%s on %s", s.Drill.ID, side.Side)
				}
			}
			if over {
				heavier++
			}
		}
	}
	require.Positive(t, heavier, "what isn't limited is as heavy as before")
}
