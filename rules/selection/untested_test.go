package selection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// TestWhatWaitsForTimeSaysSo: what is closed for the days of an injury or the weeks of an operation doesn't say that a clearance alone
// opens it, and on the day it is over it is open.
func TestWhatWaitsForTimeSaysSo(t *testing.T) {
	for name, c := range map[string]struct {
		drill string
		says  string
		tell  func(q *client.Request, over client.Day)
	}{
		"days of a strain, which a clearance covers": {"kneeling-hamstring-lowering", "it waits for its days, or for a clinician's clearance",
			func(q *client.Request, over client.Day) {
				has(q, "hamstring_strain", client.SideLeft)
				q.Profile.Conditions[0].Since = q.AsOf - 55 - over
				for _, region := range []string{"hip", "knee"} {
					stands(t, q, region, "unrestricted")
					scores(t, q, region, 1)
				}
			}},
		"days of a bone, whatever was cleared": {"side-to-side-bound", "it waits for its days, and for what the clinician allows",
			func(q *client.Request, over client.Day) {
				q.Profile.Conditions = []client.Condition{{ID: "bone_stress_injury", Region: "ankle", Side: client.SideLeft, ToldBy: "CLINICIAN",
					Since: q.AsOf - 83 - over}}
				q.Profile.Clearances = []client.Clearance{{By: "CLINICIAN", Region: "ankle", Side: client.SideLeft, Given: q.AsOf - 1,
					Covers: []string{"bone_stress_injury"}}}
				for _, region := range []string{"hip", "knee", "ankle"} {
					stands(t, q, region, "unrestricted")
					scores(t, q, region, 0)
				}
			}},
		"weeks of an operation, whatever was cleared": {"barbell-bench-press", "it waits for the weeks since the operation",
			func(q *client.Request, over client.Day) {
				q.Profile.Surgeries = []client.Surgery{{ID: "cuff_repair", Region: "shoulder", Side: client.SideLeft, Day: q.AsOf - 26*7 + 1 - over}}
				q.Profile.Clearances = []client.Clearance{{By: "CLINICIAN", Region: "shoulder", Side: client.SideLeft, Given: q.AsOf - 1,
					Surgery: true}}
				stands(t, q, "shoulder", "unrestricted")
				scores(t, q, "shoulder", 1)
			}},
	} {
		for over := range client.Day(2) {
			q := someone(t)
			q.Profile.Training = "ADVANCED"
			q.Profile.Best = []client.Best{{Test: "push_up_test", Sets: to(2), Reps: to(20), Form: "OK", Pain: to(0.0), Day: q.AsOf}}
			for _, region := range edition(t).Frame.Vocabulary.IDs("region") {
				reaches(t, q, region)
			}
			c.tell(q, over)
			left := explained(t, q, c.drill).Sides[0]
			if over == 0 {
				require.Equal(t, "NOT_TODAY", left.Verdict, name)
				require.Contains(t, left.OpensWords, c.says, name)
			} else {
				require.Equal(t, "OPEN", left.Verdict, "%s: %s", name, left.OpensWords)
			}
		}
	}
}
