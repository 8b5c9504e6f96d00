package selection_test

import (
	"flag"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestMain keeps the random tests short; -rapid.checks asks for more.
func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "4")
	flag.Parse()
	if testing.Short() {
		_ = flag.Set("rapid.checks", "20") // of which -short takes a fifth
	}
	os.Exit(m.Run())
}

// randomSore draws a client with one or two complaints, some kit, and a rung, pain and ranges that may be missing.
func randomSore(t *testing.T, r *rapid.T) *client.Request {
	e, q := edition(t), someone(t)
	q.Profile.Kit = rapid.SliceOfNDistinct(rapid.SampledFrom(e.Frame.Vocabulary.IDs("kit")), 3, 20, rapid.ID[string]).Draw(r, "kit")
	slices.Sort(q.Profile.Kit)
	for range rapid.IntRange(1, 2).Draw(r, "complaints") {
		region := rapid.SampledFrom(e.Frame.Vocabulary.IDs("region")).Draw(r, "region")
		if slices.ContainsFunc(q.Complaints, func(c client.Complaint) bool { return c.Region == region }) {
			continue
		}
		hurts(q, region, sidesOf(t, region)[0], float64(rapid.IntRange(1, 5).Draw(r, "intensity")))
		if rapid.Bool().Draw(r, "scored") {
			scores(t, q, region, float64(rapid.IntRange(1, 6).Draw(r, "worst")))
		}
		if rapid.Bool().Draw(r, "standing") {
			stands(t, q, region, rapid.SampledFrom(e.Frame.Ladder(region).Rungs).Draw(r, "rung"))
		}
		if rapid.Bool().Draw(r, "measured") {
			reaches(t, q, region)
		}
	}
	lifts := slices.DeleteFunc(slices.Clone(e.Catalogue.Drills), func(d *catalog.Drill) bool { return d.Pattern.SingleJoint || !d.Loads })
	q.Lift = rapid.SampledFrom(lifts).Draw(r, "lift").ID
	return q
}

// TestWhatIsReturnedPassedEveryBar: each side of each substitute, asked about on its own, is not barred; none needs
// kit that isn't there; none is the lift; and the same question gets the same answer.
func TestWhatIsReturnedPassedEveryBar(t *testing.T) {
	e := edition(t)
	rapid.Check(t, func(r *rapid.T) {
		q := randomSore(t, r)
		a, err := selection.Substitute(e, q, selection.Options{Limit: 8})
		require.NoError(r, err)
		again, err := selection.Substitute(e, q, selection.Options{Limit: 8})
		require.NoError(r, err)
		require.Equal(r, a, again)
		for _, s := range a.Substitutes {
			require.NotEqual(r, q.Lift, s.Drill.ID)
			explained, err := selection.Explain(e, q, s.Drill.ID)
			require.NoError(r, err)
			for _, side := range explained.Sides {
				if trained(s.Sides, side.Side) {
					require.NotEqual(r, string(rules.NotToday), side.Verdict, "%s on the %s", s.Drill.ID, side.Side)
				}
			}
			for _, k := range drill(t, s.Drill.ID).Kit {
				require.Contains(r, derived(t, q).Words("client.kit", catalog.Left).Sure, k)
			}
		}
	})
}

// TestConsideredIsWhatIsLeft: how many drills stay is told without ranking all of them; asked for all, as many come.
func TestConsideredIsWhatIsLeft(t *testing.T) {
	e := edition(t)
	rapid.Check(t, func(r *rapid.T) {
		q := randomSore(t, r)
		for _, id := range rapid.SliceOfN(rapid.SampledFrom(e.Catalogue.DrillIDs()), 0, 6).Draw(r, "logged") {
			q.Profile.Log = append(q.Profile.Log, client.LoggedSet{Drill: id, Day: q.AsOf, Reps: 10,
				LoadKg: float64(rapid.IntRange(1, 60).Draw(r, "kg"))})
		}
		if rapid.Bool().Draw(r, "cleared") {
			q.Profile.Clearances = []client.Clearance{{By: "CLINICIAN", Region: q.Complaints[0].Region, Side: q.Complaints[0].Side, Given: q.AsOf,
				LoadKg: to(5.0)}}
			q.Profile.ClearancesTold = true
		}
		few, err := selection.Substitute(e, q, selection.Options{})
		require.NoError(r, err)
		all, err := selection.Substitute(e, q, selection.Options{Limit: -1})
		require.NoError(r, err)
		require.Equal(r, all.Considered, few.Considered)
		require.Len(r, all.Substitutes, few.Considered)
	})
}

func trained(sides []selection.SideDose, side string) bool {
	return slices.ContainsFunc(sides, func(s selection.SideDose) bool { return s.Side == "BOTH" || s.Side == side })
}

// TestSessionsKeepTheirLimits: every drill of a session is open, none stands twice, and every limit is kept.
func TestSessionsKeepTheirLimits(t *testing.T) {
	e := edition(t)
	rapid.Check(t, func(r *rapid.T) {
		q := randomSore(t, r)
		q.Lift, q.Minutes = "", rapid.IntRange(5, 70).Draw(r, "minutes")
		a, err := selection.Select(e, q, rapid.SampledFrom(e.Book.Plans).Draw(r, "plan").ID, selection.Options{})
		require.NoError(r, err)
		seen := map[string]bool{}
		for _, d := range a.Drills {
			require.Equal(r, string(rules.Open), d.Verdict)
			require.False(r, seen[d.Drill.ID], "%s stands twice", d.Drill.ID)
			seen[d.Drill.ID] = true
		}
		for _, l := range a.Limits {
			require.True(r, l.Met, "%s: %v", l.ID, l.Value)
		}
		require.LessOrEqual(r, a.Seconds, q.Minutes*60)
	})
}
