package selection_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/selection"
)

// TestOneVerdict: what Substitute offers is what Explain, given the lift, finds open or waiting for a test, with its dose; what
// it doesn't offer isn't, or is no kin of the lift and loads what hurts.
func TestOneVerdict(t *testing.T) {
	e := edition(t)
	rapid.Check(t, func(r *rapid.T) {
		q := anyone(t, rapid.Uint64Range(0, 1<<40).Draw(r, "client"))
		q.Lift = e.Catalogue.Drills[rapid.IntRange(0, len(e.Catalogue.Drills)-1).Draw(r, "lift")].ID
		a, err := selection.Substitute(e, q, selection.Options{Limit: -1})
		require.NoError(r, err)
		told, err := selection.Doses(e, q)
		require.NoError(r, err)
		offered := map[string]bool{}
		for _, s := range a.Substitutes {
			offered[s.Drill.ID] = true
			is := told[s.Drill.ID]
			require.Equal(r, s.Verdict, string(whole(s.Drill, is)), s.Drill.ID)
			for side, name := range []string{"LEFT", "RIGHT"} {
				for _, given := range s.Sides {
					if given.Side == name || given.Side == "BOTH" {
						require.Equal(r, s.Verdict, string(is[side].Verdict), s.Drill.ID)
						require.Equal(r, given.Dose, is[side].Dose, s.Drill.ID)
					}
				}
			}
		}
		for _, d := range e.Catalogue.Drills {
			if !offered[d.ID] && d.ID != q.Lift && whole(d, told[d.ID]) != rules.NotToday {
				require.True(r, selection.OutOfPlace(e, q, d), "%s instead of %s is %s", d.ID, q.Lift, whole(d, told[d.ID]))
			}
		}
	})
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
