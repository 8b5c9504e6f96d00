package selection_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestOneVerdict: what Substitute offers is what Explain, given the lift, finds open or waiting for a test, with its dose; what
// it doesn't offer isn't, or has no place there.
func TestOneVerdict(t *testing.T) {
	e, offers := edition(t), 0
	rapid.Check(t, func(r *rapid.T) {
		q := anyone(t, rapid.Uint64Range(0, 1<<40).Draw(r, "client"))
		q.Lift = e.Catalogue.Drills[rapid.IntRange(0, len(e.Catalogue.Drills)-1).Draw(r, "lift")].ID
		a, err := selection.Substitute(e, q, selection.Options{Limit: -1})
		require.NoError(r, err)
		reported, err := selection.Doses(e, q)
		require.NoError(r, err)
		offered := map[string]bool{}
		for _, s := range a.Substitutes {
			offered[s.Drill.ID] = true
			offers++
			noHarsher(r, e, q, s)
			is := reported[s.Drill.ID]
			require.Equal(r, s.Verdict, string(whole(s.Drill, is)), s.Drill.ID)
			for side, name := range []string{"LEFT", "RIGHT"} {
				for _, given := range s.Sides {
					if given.Side == name {
						require.Equal(r, s.Verdict, string(is[side].Verdict), s.Drill.ID)
					}
					if given.Side == name || given.Side == "BOTH" {
						require.Equal(r, given.Dose, is[side].Dose, s.Drill.ID)
					}
				}
			}
		}
		for _, d := range e.Catalogue.Drills {
			if !offered[d.ID] && d.ID != q.Lift && whole(d, reported[d.ID]) != rules.NotToday {
				require.True(r, selection.OutOfPlace(e, q, d), "%s instead of %s is %s", d.ID, q.Lift, whole(d, reported[d.ID]))
			}
		}
	})
	t.Logf("%d offers", offers)
}

// TestNoHarsherThanTheLift: of clients who are measured and scored, and of lifts that load what hurts.
func TestNoHarsherThanTheLift(t *testing.T) {
	e, offers := edition(t), 0
	rapid.Check(t, func(r *rapid.T) {
		regions := e.Frame.Vocabulary.IDs("region")
		q, region := someone(t), regions[rapid.IntRange(0, len(regions)-1).Draw(r, "region")]
		hurts(q, region, sidesOf(t, region)[0], float64(rapid.IntRange(1, 5).Draw(r, "intensity")))
		q.Complaints[0].Moment = rapid.SampledFrom(client.ComplaintMoments).Draw(r, "moment")
		scores(t, q, region, 3)
		stands(t, q, region, rapid.SampledFrom(e.Frame.Ladder(region).Rungs).Draw(r, "rung"))
		reaches(t, q, region)
		lifts := slices.DeleteFunc(slices.Clone(e.Catalogue.Drills), func(d *catalog.Drill) bool {
			return !slices.ContainsFunc(d.Rows[0].Stressors, func(s catalog.Stress) bool {
				return slices.Contains(e.Frame.Vocabulary.Stressors[e.Frame.Vocabulary.Index("stressor", s.Stressor)].Regions, region)
			})
		})
		q.Lift = lifts[rapid.IntRange(0, len(lifts)-1).Draw(r, "lift")].ID
		a, err := selection.Substitute(e, q, selection.Options{Limit: -1})
		require.NoError(r, err)
		for _, s := range a.Substitutes {
			noHarsher(r, e, q, s)
			offers++
		}
	})
	t.Logf("%d offers", offers)
}

// noHarsher wants a substitute, of whatever family, to have no more of a stressor of what hurts than the lift has of it.
func noHarsher(t require.TestingT, e *rules.Edition, q *client.Request, s selection.Choice) {
	lift := e.Catalogue.Drill(q.Lift)
	for _, c := range q.Complaints {
		for _, stressor := range e.Frame.Vocabulary.Stressors {
			own := 0
			for i := range lift.Rows {
				own = max(own, lift.Rows[i].Worst(stressor.ID))
			}
			if own == 0 || !slices.Contains(stressor.Regions, c.Region) {
				continue
			}
			for side := range 2 {
				for i := range s.Drill.Rows {
					sore := c.Side.On(side^i) || !e.Frame.Vocabulary.Sided(c.Region)
					if sore && trained(s.Sides, string(client.Sides[side])) {
						require.LessOrEqual(t, s.Drill.Rows[i].Worst(stressor.ID), own, "%s of %s instead of %s with the %s", stressor.ID, s.Drill.ID,
							lift.ID, c.Region)
					}
				}
			}
		}
	}
}

// whole is the verdict on a drill as a whole.
func whole(d *catalog.Drill, sides [2]selection.SideOf) rules.Verdict {
	l, r := sides[0].Verdict, sides[1].Verdict
	if together := rules.Together(l, r); d.Sides != catalog.OneSide || l == r {
		return together
	}
	if l == rules.Open || r == rules.Open {
		return rules.Open
	}
	return rules.TestFirst
}

// TestLosingAScoreOpensNothing: a client whose joints were scored, and then weren't, finds no drill open that wasn't and no dose
// heavier, unless the answer lists that joints are presumed to bend no further than usual.
func TestLosingAScoreOpensNothing(t *testing.T) {
	e, compared := edition(t), 0
	rapid.Check(t, func(r *rapid.T) {
		q := anyone(t, rapid.Uint64Range(0, 1<<40).Draw(r, "client"))
		q.Lift = ""
		q.Profile.Beighton = to(rapid.IntRange(0, 9).Draw(r, "score"))
		with, err := selection.Doses(e, q)
		require.NoError(r, err)
		q.Profile.Beighton = nil
		a, err := selection.Screen(e, q)
		require.NoError(r, err)
		if slices.ContainsFunc(a.Presumed, func(s string) bool { return strings.Contains(s, "joints that bend no further than usual") }) {
			return
		}
		without, err := selection.Doses(e, q)
		require.NoError(r, err)
		for id, sides := range with {
			for side, was := range sides {
				is := without[id][side]
				require.Equal(r, is.Verdict, rules.Together(is.Verdict, was.Verdict), "%s on side %d", id, side)
				same := is.Verdict == was.Verdict && without[id][1-side].Verdict == sides[1-side].Verdict // else a side trains alone
				inStep := e.Catalogue.Drill(id).Sides != catalog.OneSide                                  // else the pace may go over to the other side
				if same && inStep && is.Dose != nil && was.Dose != nil {
					compared++
					more := is.Dose.Sets > was.Dose.Sets || is.Dose.RepsHigh > was.Dose.RepsHigh || is.Dose.HoldHigh > was.Dose.HoldHigh
					require.False(r, is.Dose.PainCeiling > was.Dose.PainCeiling || is.Dose.EffortHigh > was.Dose.EffortHigh ||
						// of two doses of the book the effort says which is lighter
						is.Dose.Rule == was.Dose.Rule && is.Dose.With == was.Dose.With && more, "%s on side %d: %+v, then %+v", id, side, was.Dose, is.Dose)
				}
			}
		}
	})
	t.Logf("%d doses compared", compared)
}
