package selection_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules"
	"drillwright/rules/client"
)

// sore is someone who reaches far in every joint, on top of every ladder, with that worst pain in the regions of a
// condition this week: what is closed there is closed by the condition, not by range, rung or a missing measure.
func sore(t *testing.T, condition string, worst float64) *client.Request {
	t.Helper()
	q := someone(t)
	regions := regionsOf(t, condition)
	for _, region := range edition(t).Frame.Vocabulary.IDs("region") {
		reaches(t, q, region)
		stands(t, q, region, "unrestricted")
		if slices.Contains(regions, region) {
			scores(t, q, region, worst)
		} else {
			scores(t, q, region, 0)
		}
	}
	turnsIn(q, client.SideLeft, 15, 120) // far enough for every drill, short enough for the stretches that want a short side
	return q
}

func regionsOf(t *testing.T, condition string) []string {
	if condition == "" {
		return nil
	}
	v := edition(t).Frame.Vocabulary
	i := v.Index("condition", condition)
	require.GreaterOrEqual(t, i, 0, "there is no condition %q", condition)
	return v.Conditions[i].Regions
}

// told adds a condition on the left, or without a side where its region has none.
func told(t *testing.T, q *client.Request, condition string) *client.Request {
	side := client.SideNone
	for _, region := range regionsOf(t, condition) {
		side = sidesOf(t, region)[0]
	}
	has(q, condition, side)
	return q
}

// beside sets what a row needs besides its condition, and says whether a client without it is a fair comparison.
func beside(t *testing.T, r row, q *client.Request) (compare bool) {
	name, value, _ := strings.Cut(r["other"], "=")
	switch name {
	case "":
	case "programme_week":
		q.Profile.ProgrammeWeek = to(int(number(t, value)))
	case "internal_rotation_90_gap":
		turnsIn(q, client.SideLeft, number(t, value), 61)
		return false
	case "blood_pressure":
		p := &client.BloodPressure{Day: q.AsOf - 1}
		_, err := fmt.Sscanf(value, "%d/%d", &p.Systolic, &p.Diastolic)
		require.NoError(t, err)
		q.Profile.BloodPressure = p
	default:
		t.Fatalf("%s: %q isn't understood", r["id"], r["other"])
	}
	return true
}

// turnsIn measures inward rotation so many degrees short on one side.
func turnsIn(q *client.Request, short client.Side, by, of float64) {
	for _, side := range client.Sides {
		deg := of
		if side == short {
			deg -= by
		}
		measured(q, "shoulder.internal_rotation_90", side, deg)
	}
}

func TestEveryProvocationRowIsSaid(t *testing.T) {
	ids := map[string]bool{}
	for _, r := range published(t, "provocation.csv") {
		require.NotEmpty(t, r["rule"], r["id"])
		require.NotEmpty(t, r["barred"]+r["open"], r["id"])
		require.NotEmpty(t, r["condition_id"]+r["other"], r["id"])
		ids[r["id"]] = true
	}
	require.Len(t, ids, 23)
}

// TestProvokersAreClosedAndAlternativesOpen holds each row against the same client without the condition.
func TestProvokersAreClosedAndAlternativesOpen(t *testing.T) {
	healthy := derived(t, sore(t, "", 0))
	for _, r := range published(t, "provocation.csv") {
		t.Run(strings.Join([]string{r["id"], r["condition_id"], r["other"]}, " "), func(t *testing.T) {
			pain := number(t, r["pain"])
			q, bare := sore(t, r["condition_id"], pain), sore(t, r["condition_id"], pain)
			compare := beside(t, r, q)
			if r["condition_id"] != "" {
				told(t, q, r["condition_id"])
				beside(t, r, bare)
			}
			with, without := derived(t, q), derived(t, bare)
			if compare {
				for _, id := range append(r.list("barred"), r.list("open")...) {
					require.Empty(t, closedBy(t, healthy, drill(t, id)), "%s is closed for someone without the condition", id)
					require.False(t, speaks(t, without, drill(t, id), r["rule"]), "%s and %s without the condition", id, r["rule"])
				}
			}
			for _, id := range r.list("barred") {
				require.True(t, speaks(t, with, drill(t, id), r["rule"]), "%s is neither barred nor warned of", id)
			}
			for _, id := range r.list("open") {
				require.Empty(t, closedBy(t, with, drill(t, id)), id)
				require.Equal(t, rule(t, r["rule"]).Effect == rules.Favour, speaks(t, with, drill(t, id), r["rule"]), "%s and %s", id, r["rule"])
			}
		})
	}
}

// TestProvocationTurnsWithItsFigure: the figures that a row names are where its rule turns.
func TestProvocationTurnsWithItsFigure(t *testing.T) {
	turns := []struct {
		row, condition, rule, drill string
		at, before                  func(q *client.Request)
	}{
		{"PRV008 in stages, no ban", "subacromial_pain", "cuff-pain-wall-plus-early", "wall-push-up-plus",
			func(q *client.Request) { q.Profile.ProgrammeWeek = to(3) }, func(q *client.Request) { q.Profile.ProgrammeWeek = to(8) }},
		{"PRV015 past the pain limit", "frozen_shoulder_painful", "frozen-painful-beyond-pain", "supine-arm-raise",
			func(q *client.Request) { measured(q, "shoulder.flexion", client.SideLeft, 149) },
			func(q *client.Request) { measured(q, "shoulder.flexion", client.SideLeft, 150) }},
		{"PRV018 while it hurts", "patellofemoral_pain", "knee-front-deep-bend", "barbell-back-squat",
			func(q *client.Request) { hurts(q, "knee", client.SideLeft, 4) }, func(q *client.Request) { hurts(q, "knee", client.SideLeft, 3) }},
		{"PRV019 while it hurts", "patellofemoral_pain", "knee-front-last-straightening", "leg-extension-full",
			func(q *client.Request) { hurts(q, "knee", client.SideLeft, 4) }, func(q *client.Request) { hurts(q, "knee", client.SideLeft, 3) }},
	}
	for _, x := range turns {
		t.Run(x.row, func(t *testing.T) {
			at, before := told(t, sore(t, x.condition, 2), x.condition), told(t, sore(t, x.condition, 2), x.condition)
			x.at(at)
			x.before(before)
			require.True(t, speaks(t, derived(t, at), drill(t, x.drill), x.rule))
			require.False(t, speaks(t, derived(t, before), drill(t, x.drill), x.rule))
		})
	}
}
