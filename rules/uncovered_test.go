package rules

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/internal/random"
)

// TestCoveredHereOpenThere: a bar that a clearance covers on the working side may still hang on a measure of the other.
// The drill is then barred as a whole, and the three ways agree on it.
func TestCoveredHereOpenThere(t *testing.T) {
	snap := random.Catalogue(4, 400)
	book := random.Cautions([]string{"('rotator_cuff_tendinopathy' in client.conditions and drill.role.shoulder == 'drive') or " +
		"(drill.role.shoulder != 'drive' and drill.arc.shoulder.flexion.to > client.range.shoulder.flexion)"})
	book[0].Data = []byte(strings.Replace(string(book[0].Data), "effect: caution\n",
		"effect: bar\n    untested: \"{drill.name} may meet a rule.\"\n", 1))
	w := readWorld(t, snap, book)
	q := random.Client(1, random.Vocabulary(), 1)
	q.Complaints = []client.Complaint{{Region: "shoulder", Side: client.SideBoth, Intensity: 4, Moment: "BOTTOM", Kind: "ACHE",
		Onset: "GRADUAL", Days: 9}}
	q.Profile.ConditionsTold = true
	q.Profile.Conditions = []client.Condition{{ID: "rotator_cuff_tendinopathy", Side: client.SideLeft, Since: random.AsOf - 90,
		ToldBy: "CLINICIAN", Status: "NOW"}}
	q.Profile.Clearances = []client.Clearance{{By: "CLINICIAN", Region: "shoulder", Side: client.SideLeft, Given: random.AsOf,
		Covers: []string{"rotator_cuff_tendinopathy"}}}
	require.NoError(t, client.Check(w.Frame, q))
	f := client.Derive(w.Frame, q)
	_, err := compared(w.Edition, w.reference, w.truths, f, nil, snap.Drills)
	require.NoError(t, err)
	j := w.Judge(f, nil)
	both := 0
	for _, d := range snap.Drills {
		if drives(d) && j.Verdict(d, 0) == NotToday {
			both++
		}
	}
	require.Positive(t, both, "no drill drives one shoulder and moves the other")
}

// drives is true of drills that drive one shoulder, and flex the other without driving it.
func drives(d *catalog.Drill) bool {
	role := func(row *catalog.Row) string {
		if load := row.Load("shoulder"); load != nil {
			return load.Role
		}
		return ""
	}
	return len(d.Rows) == 2 && role(&d.Rows[0]) == "drive" && role(&d.Rows[1]) != "drive" && d.Rows[1].Arc("shoulder.flexion") != nil
}
