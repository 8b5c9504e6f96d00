package client_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// TestToldTwice: what is told twice is told the same way, or of two times, moments or sides.
func TestToldTwice(t *testing.T) {
	const tendon = "rotator_cuff_tendinopathy"
	on := day(t, "2026-11-20")
	pain := client.Complaint{Region: "shoulder", Side: client.SideLeft, Intensity: 6, Moment: "TOP", Kind: "ACHE", Onset: "GRADUAL", Days: 20}
	conditions := func(list ...client.Condition) func(*client.Request) {
		return func(q *client.Request) { q.Profile.Conditions = list }
	}
	painAnd := func(change func(*client.Complaint)) func(*client.Request) {
		other := pain
		change(&other)
		return func(q *client.Request) { q.Complaints = []client.Complaint{pain, other} }
	}
	surgeries := func(list ...client.Surgery) func(*client.Request) {
		return func(q *client.Request) { q.Profile.Surgeries = list }
	}
	const condition = " for the same condition and side; " +
		"send it once; if it came back, each time has a since of its own and all but the last are PAST"
	const feeling = " for the same region, side, moment, kind and onset; send it once; two pains differ in one of these"
	for name, c := range map[string]struct {
		tell func(*client.Request)
		want string // "": accepted
	}{
		"the same pain twice":       {painAnd(func(*client.Complaint) {}), ""},
		"pain at two moments":       {painAnd(func(c *client.Complaint) { c.Moment, c.Intensity = "AFTER", 2 }), ""},
		"pain of two kinds":         {painAnd(func(c *client.Complaint) { c.Kind, c.Intensity = "PINCH", 2 }), ""},
		"an old pain and a new one": {painAnd(func(c *client.Complaint) { c.Onset, c.Days = "INJURY", 2 }), ""},
		"pain on two sides":         {painAnd(func(c *client.Complaint) { c.Side, c.Intensity = client.SideRight, 2 }), ""},
		"pain of two strengths": {painAnd(func(c *client.Complaint) { c.Intensity = 2 }),
			"complaints[1].intensity: complaints[0] has another intensity" + feeling},
		"on one side and both": {painAnd(func(c *client.Complaint) { c.Side, c.Intensity = client.SideNone, 2 }),
			"complaints[1].intensity: complaints[0] has another intensity" + feeling},
		"pain that began twice": {painAnd(func(c *client.Complaint) { c.Days = 3 }),
			"complaints[1].days: complaints[0] has another days" + feeling},

		"the same condition twice": {conditions(client.Condition{ID: tendon, Since: on, Detail: "by letter"},
			client.Condition{ID: tendon, Since: on, Status: "NOW", ToldBy: "CLIENT"}), ""},
		"a condition on two sides": {conditions(client.Condition{ID: tendon, Side: client.SideLeft, Since: on},
			client.Condition{ID: tendon, Side: client.SideRight, Status: "PAST"}), ""},
		"fractures in two regions": {conditions(client.Condition{ID: "fracture", Region: "wrist", Since: on},
			client.Condition{ID: "fracture", Region: "ankle", Status: "PAST"}), ""},
		"a condition that came back": {conditions(client.Condition{ID: tendon, Since: on - 400, Status: "PAST"},
			client.Condition{ID: tendon, Since: on}), ""},
		"a condition that went twice": {conditions(client.Condition{ID: tendon, Since: on - 400, Status: "PAST"},
			client.Condition{ID: tendon, Since: on - 800, Status: "PAST"}), ""},
		"there and past": {conditions(client.Condition{ID: tendon, Since: on}, client.Condition{ID: tendon, Since: on, Status: "PAST"}),
			"profile.conditions.known[1].status: profile.conditions.known[0] has another status" + condition},
		"there before it was past": {conditions(client.Condition{ID: tendon, Since: on - 400},
			client.Condition{ID: tendon, Since: on, Status: "PAST"}),
			"profile.conditions.known[1].status: profile.conditions.known[0] has another status" + condition},
		"past since nobody knows when": {conditions(client.Condition{ID: tendon, Status: "PAST"}, client.Condition{ID: tendon, Since: on}),
			"profile.conditions.known[1].status: profile.conditions.known[0] has another status" + condition},
		"there since two days": {conditions(client.Condition{ID: tendon, Since: on},
			client.Condition{ID: tendon, Side: client.SideLeft, Since: on - 400}),
			"profile.conditions.known[1].since: profile.conditions.known[0] has another since" + condition},
		"told by two": {conditions(client.Condition{ID: tendon, Since: on}, client.Condition{ID: tendon, Since: on, ToldBy: "CLINICIAN"}),
			"profile.conditions.known[1].told_by: profile.conditions.known[0] has another told_by" + condition},

		"two operations": {surgeries(client.Surgery{ID: "cuff_repair", Region: "shoulder", Day: on - 400, FullTrainingSince: true},
			client.Surgery{ID: "cuff_repair", Region: "shoulder", Day: on}), ""},
		"an operation that was and wasn't trained after": {surgeries(client.Surgery{ID: "cuff_repair", Region: "shoulder", Day: on - 400},
			client.Surgery{ID: "cuff_repair", Region: "shoulder", Day: on - 400, FullTrainingSince: true}),
			"profile.surgeries.known[1].full_training_since: profile.surgeries.known[0] has another full_training_since for the same " +
				"operation, side and date; send it once; two operations have dates of their own"},
	} {
		q := good(t)
		c.tell(q)
		err := client.Check(frame(), q)
		if c.want == "" {
			require.NoError(t, err, name)
		} else {
			require.EqualError(t, err, c.want, name)
		}
	}
}
