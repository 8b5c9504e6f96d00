package selection_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// alikePicks are done with the same tool in the same place and position, on as many sides.
func alikePicks(x, y *catalog.Drill) bool {
	return x.Tool == y.Tool && x.Station == y.Station && x.Position == y.Position && x.Sides == y.Sides
}

// TestFiveRealChoices: against the whole list, what is near the lift comes before training elsewhere, which comes only where hardly
// anything near is; no two picks are alike while something different is left; and two are open while anything near and different is.
func TestFiveRealChoices(t *testing.T) {
	e := edition(t)
	book := &e.Book.Substitution
	rapid.Check(t, func(r *rapid.T) {
		q := lightly(t, r)
		if rapid.Bool().Draw(r, "of any kind") {
			if q = member(t, r); q.Lift == "" {
				return
			}
		}
		all, err := selection.Substitute(e, q, selection.Options{Limit: -1, Brief: true})
		require.NoError(r, err)
		a, err := selection.Substitute(e, q, selection.Options{Brief: true})
		require.NoError(r, err)
		index := map[string]int{}
		near, open := []*catalog.Drill(nil), 0
		for i, s := range all.Substitutes {
			if index[s.Drill.ID] = i; s.Tier != selection.Elsewhere {
				near = append(near, s.Drill)
				open += one(s.Verdict == "OPEN")
			}
		}
		elsewhere, openPicks, families := 0, 0, map[string]int{}
		picked := map[string]bool{}
		for i, s := range a.Substitutes {
			picked[s.Drill.ID] = true
			if i > 0 {
				require.Greater(r, index[s.Drill.ID], index[a.Substitutes[i-1].Drill.ID], "the order of the whole list")
			}
			families[s.Tier+s.Drill.Family]++
			if s.Tier == selection.Elsewhere {
				elsewhere++
			} else {
				openPicks += one(s.Verdict == "OPEN")
			}
		}
		require.LessOrEqual(r, elsewhere, book.ElsewhereAtMost)
		require.False(r, elsewhere > 0 && len(a.Substitutes)-elsewhere >= book.NearEnough, "elsewhere beside enough near")
		require.GreaterOrEqual(r, len(a.Substitutes)-elsewhere, min(book.NearEnough, len(near), 2), "near before elsewhere")
		for i, s := range a.Substitutes {
			for _, before := range a.Substitutes[:i] {
				if !alikePicks(s.Drill, before.Drill) || s.Tier == selection.Elsewhere {
					continue
				}
				for _, d := range near { // whatever is left is like one that was picked, or one too many of its family
					like := slices.ContainsFunc(a.Substitutes, func(p selection.Choice) bool { return alikePicks(p.Drill, d) })
					full := families[all.Substitutes[index[d.ID]].Tier+d.Family] >= book.PerFamily
					require.True(r, picked[d.ID] || like || full, "%s and %s are alike, and %s is left", before.Drill.ID, s.Drill.ID, d.ID)
				}
			}
		}
		for _, n := range families {
			require.LessOrEqual(r, n, book.PerFamily)
		}
		if len(a.Substitutes) == book.Limit && open >= book.OpenAtLeast && openPicks < book.OpenAtLeast {
			for _, s := range all.Substitutes { // those that are open are like one that was picked, or one too many of their family
				like := slices.ContainsFunc(a.Substitutes, func(p selection.Choice) bool { return alikePicks(p.Drill, s.Drill) })
				if s.Tier != selection.Elsewhere && s.Verdict == "OPEN" && !picked[s.Drill.ID] && !like {
					require.GreaterOrEqual(r, families[s.Tier+s.Drill.Family], book.PerFamily, "%s is open and left", s.Drill.ID)
				}
			}
		}
	})
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// TestAnUnmeasuredElbow: a joint that isn't sore and that nobody measured sends no press behind what works one joint.
func TestAnUnmeasuredElbow(t *testing.T) {
	q := achingPress(t)
	scores(t, q, "shoulder", 3)
	reaches(t, q, "shoulder")
	stands(t, q, "shoulder", "multi_joint_two_side")
	q.Profile.Beighton = to(6) // then no range is presumed of any joint
	a, err := selection.Substitute(edition(t), q, selection.Options{})
	require.NoError(t, err)
	require.Len(t, a.Substitutes, 5)
	for _, s := range a.Substitutes[:3] {
		require.Equal(t, "push", s.Drill.Pattern.Kind, s.Drill.ID)
	}
	require.Equal(t, client.NeverTaken, client.Derive(edition(t).Frame, q).StatusOf("client.range.elbow.flexion", 0))
}
