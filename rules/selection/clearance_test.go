package selection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// loose is a client whose left shoulder has slipped, told half a year ago, who reaches and stands freely, and whose other
// joints were found to be firm.
func loose(t *testing.T) *client.Request {
	q := someone(t)
	q.Profile.Beighton = to(1)
	has(q, "anterior_shoulder_instability", client.SideLeft)
	scores(t, q, "shoulder", 1)
	stands(t, q, "shoulder", "unrestricted")
	reaches(t, q, "shoulder")
	return q
}

// clearance is a clinician's word of last month on the left shoulder, covering the condition.
func clearance(q *client.Request) client.Clearance {
	return client.Clearance{By: "CLINICIAN", Region: "shoulder", Side: client.SideLeft, Given: q.AsOf - 30,
		Covers: []string{"anterior_shoulder_instability"}}
}

func verdictOn(t *testing.T, q *client.Request, id string, side int) (string, []string) {
	t.Helper()
	a, err := selection.Explain(edition(t), q, id)
	require.NoError(t, err)
	var bars []string
	for _, r := range a.Sides[side].Rules {
		if r.Verdict == string(rules.NotToday) {
			bars = append(bars, r.Reason.Rule)
		}
	}
	return a.Sides[side].Verdict, bars
}

// TestClearance: it turns the bars of the conditions it covers into cautions, on its side, until its date, for what is
// no newer than itself; and its own limits bar.
func TestClearance(t *testing.T) {
	const drill = "incline-barbell-press-wide"
	for name, c := range map[string]struct {
		change  func(q *client.Request, c *client.Clearance)
		verdict string
		bar     string
	}{
		"none": {func(q *client.Request, c *client.Clearance) { c.Covers = nil }, "NOT_TODAY",
			"anterior-instability-end-position"},
		"covers": {func(*client.Request, *client.Clearance) {}, "OPEN", ""},
		"expired": {func(q *client.Request, c *client.Clearance) { c.Until = q.AsOf - 1 }, "NOT_TODAY",
			"anterior-instability-end-position"},
		"of the other side": {func(q *client.Request, c *client.Clearance) { c.Side = client.SideRight }, "NOT_TODAY",
			"anterior-instability-end-position"},
		"older than the slip": {func(q *client.Request, c *client.Clearance) { c.Given = q.AsOf - 300 }, "NOT_TODAY",
			"anterior-instability-end-position"},
		"with its own limit": {func(q *client.Request, c *client.Clearance) {
			c.RangeDeg = []client.Limit{{Motion: "shoulder.flexion", ToDeg: 60}}
		}, "NOT_TODAY", "clinician-range-limit"},
		"of another condition": {func(q *client.Request, c *client.Clearance) { c.Covers = []string{"ac_joint_injury"} }, "NOT_TODAY",
			"anterior-instability-end-position"},
		"that lifts no rung": {func(q *client.Request, c *client.Clearance) { stands(t, q, "shoulder", "isometric") }, "NOT_TODAY",
			"rung-above-today"},
		"that lifts no referral": {func(q *client.Request, c *client.Clearance) {
			q.Profile.Answers = []client.Answer{{Question: "saddle_numbness", Is: "YES", Day: q.AsOf}}
		}, "NOT_TODAY", ""},
	} {
		t.Run(name, func(t *testing.T) {
			q := loose(t)
			word := clearance(q)
			c.change(q, &word)
			q.Profile.Clearances, q.Profile.ClearancesTold = []client.Clearance{word}, true
			verdict, bars := verdictOn(t, q, drill, 0)
			require.Equal(t, c.verdict, verdict, "%v", bars)
			if c.bar != "" {
				require.Contains(t, bars, c.bar)
			}
		})
	}
}
