package selection_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
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
	return q
}

func regionsOf(t *testing.T, condition string) []string {
	if condition == "" {
		return nil
	}
	v := edition(t).Frame.Vocabulary
	i := v.Place("condition", condition)
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
		turnsIn(q, client.SideLeft, number(t, value))
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
func turnsIn(q *client.Request, short client.Side, by float64) {
	for _, side := range client.Sides {
		deg := 61.0
		if side == short {
			deg -= by
		}
		measured(q, "shoulder.internal_rotation_90", side, deg)
	}
}

// on is the verdict on a drill for what is on the left: of both sides where it works both, else of the left.
func on(j *rules.Judgement, d *catalog.Drill) rules.Verdict {
	if d.Sides == catalog.OneSide {
		return j.Verdict(d, catalog.Left)
	}
	return rules.Together(j.Verdict(d, catalog.Left), j.Verdict(d, catalog.Right))
}

// speaks is whether a rule bars a drill on the left, warns of it, or favours it.
func speaks(t *testing.T, j *rules.Judgement, d *catalog.Drill, id string) bool {
	t.Helper()
	switch r := rule(t, id); r.Effect {
	case rules.Bar:
		return j.Barred(r, d, catalog.Left) == rules.NotToday
	case rules.Caution:
		return j.Held(r, d, catalog.Left)&rules.Possible != 0
	default:
		return j.Favoured(r, d, catalog.Left)
	}
}

// bars lists the rules that close a drill.
func bars(j *rules.Judgement, d *catalog.Drill) []string {
	var ids []string
	for _, r := range j.Edition.Book.Rules {
		if j.Barred(r, d, catalog.Left) != rules.Open || j.Barred(r, d, catalog.Right) != rules.Open {
			ids = append(ids, r.ID)
		}
	}
	return ids
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
	for _, r := range published(t, "provocation.csv") {
		t.Run(strings.Join([]string{r["id"], r["condition_id"], r["other"]}, " "), func(t *testing.T) {
			q := sore(t, r["condition_id"], number(t, r["pain"]))
			compare := beside(t, r, q)
			if r["condition_id"] != "" {
				told(t, q, r["condition_id"])
			}
			with, without := judged(t, q), judged(t, sore(t, r["condition_id"], number(t, r["pain"])))
			for _, id := range append(r.list("barred"), r.list("open")...) {
				if d := drill(t, id); compare {
					require.Equal(t, rules.Open, on(without, d), "%s is closed without the condition, by %v", id, bars(without, d))
					require.False(t, speaks(t, without, d, r["rule"]), "%s without the condition", id)
				}
			}
			for _, id := range r.list("barred") {
				require.True(t, speaks(t, with, drill(t, id), r["rule"]), "%s is neither barred nor warned of", id)
			}
			for _, id := range r.list("open") {
				d := drill(t, id)
				require.Equal(t, rules.Open, on(with, d), "%s is closed by %v", id, bars(with, d))
				require.Equal(t, rule(t, r["rule"]).Effect == rules.Favour, speaks(t, with, d, r["rule"]), "%s and %s", id, r["rule"])
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
			func(q *client.Request) { measured(q, "shoulder.flexion", client.SideLeft, 149) }, func(q *client.Request) { measured(q, "shoulder.flexion", client.SideLeft, 150) }},
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
			require.True(t, speaks(t, judged(t, at), drill(t, x.drill), x.rule))
			require.False(t, speaks(t, judged(t, before), drill(t, x.drill), x.rule))
		})
	}
}
