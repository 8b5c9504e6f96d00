package selection_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// achingPress is somebody whose left shoulder aches a little at the bottom of the bench press, and who told no score.
func achingPress(t *testing.T) *client.Request {
	q := someone(t)
	q.Lift = "barbell-bench-press"
	q.Complaints = []client.Complaint{{Region: "shoulder", Side: client.SideLeft, Intensity: 3, Moment: "BOTTOM", Kind: "ACHE",
		Onset: "GRADUAL", Days: 21}}
	return q
}

// TestWhatWouldChangeTheAnswer: the few facts for want of which a complaint isn't mild are asked for first, and what they would open is
// said.
func TestWhatWouldChangeTheAnswer(t *testing.T) {
	of := func(q *client.Request) *client.Complaint { return &q.Complaints[0] }
	answered := func(q *client.Request, lists ...string) {
		q.Profile.Screening = &client.Screening{Lists: lists, Day: q.AsOf, Others: "NO"}
	}
	for name, c := range map[string]struct {
		change func(q *client.Request)
		fields []string
		opens  bool
	}{
		"scores presumed": {func(*client.Request) {}, []string{"profile.pain"}, true},
		"onset":           {func(q *client.Request) { of(q).Onset = "" }, []string{"complaints[0].onset"}, true},
		"kind and days": {func(q *client.Request) { of(q).Kind, of(q).Days = "", 0 }, []string{"complaints[0].kind", "complaints[0].days"},
			true},
		"age":              {func(q *client.Request) { q.Profile.AgeYears = nil }, []string{"profile.age_years"}, true},
		"the region's own": {func(q *client.Request) { answered(q, "everyone") }, []string{"profile.screening"}, true},
		"one question": {func(q *client.Request) {
			q.Profile.Answers = []client.Answer{{Question: "night_pain", Is: "NO", Day: q.AsOf - 60}}
		}, []string{`profile.answers["night_pain"]`}, true},
		"strong pain":   {func(q *client.Request) { of(q).Intensity, of(q).Onset = 6, "" }, nil, false},
		"a sharp pain":  {func(q *client.Request) { of(q).Kind, of(q).Days = "SHARP", 0 }, nil, false},
		"scored":        {func(q *client.Request) { scores(t, q, "shoulder", 3) }, nil, false},
		"no complaint":  {func(q *client.Request) { q.Complaints = nil }, nil, false},
		"an emergency":  {func(q *client.Request) { answered(q, "everyone", "shoulder"); yes(q, "chest_pressure_or_faint") }, nil, false},
		"an open YES":   {func(q *client.Request) { yes(q, "night_pain") }, nil, false},
		"seventeen":     {func(q *client.Request) { q.Profile.AgeYears = to(17) }, nil, false},
		"a second side": {func(q *client.Request) { of(q).Side, of(q).Onset = client.SideBoth, "" }, nil, false},
	} {
		q := achingPress(t)
		c.change(q)
		a, err := selection.Substitute(edition(t), q, selection.Options{})
		require.NoError(t, err, name)
		var fields []string
		if a.TellFirst != nil {
			for _, f := range a.TellFirst.Facts {
				require.NotEmpty(t, f.Asks, f.Field)
				fields = append(fields, f.Field)
			}
			require.Equal(t, c.opens, a.TellFirst.Opens > 0, name)
		}
		require.Equal(t, c.fields, fields, name)
	}
}

func yes(q *client.Request, question string) {
	q.Profile.Answers = append(q.Profile.Answers, client.Answer{Question: question, Is: "YES", Day: q.AsOf})
}

// TestALiftThatSparesWhatHurts: that nothing in the lift loads it is said first; that it may be kept, only where nothing speaks against it.
func TestALiftThatSparesWhatHurts(t *testing.T) {
	for name, c := range map[string]struct {
		lift   string
		change func(*client.Request)
		says   string
	}{
		"after it": {"machine-leg-press", func(q *client.Request) { q.Complaints[0].Moment = "ALWAYS" },
			"loads the left shoulder: it may be kept as it is."},
		"at a moment of it": {"machine-leg-press", func(*client.Request) {}, "loads the left shoulder, as far as the catalogue tells."},
		"begun suddenly": {"machine-leg-press", func(q *client.Request) { q.Complaints[0].Moment, q.Complaints[0].Onset = "ALWAYS", "SUDDEN" },
			"as far as the catalogue tells."},
		"a question open": {"machine-leg-press", func(q *client.Request) {
			q.Complaints[0].Moment = "ALWAYS"
			q.Profile.Screening = &client.Screening{Lists: []string{"everyone"}, Day: q.AsOf, Others: "NO"}
		}, "as far as the catalogue tells."},
		"what it braces":  {"barbell-back-squat", func(q *client.Request) { q.Complaints[0].Moment = "ALWAYS" }, ""},
		"what it presses": {"barbell-bench-press", func(q *client.Request) { q.Complaints[0].Moment = "ALWAYS" }, ""},
	} {
		q := achingPress(t)
		q.Lift = c.lift
		c.change(q)
		scores(t, q, "shoulder", 3)
		answered := q.Profile.Screening.Lists
		if name == "after it" {
			require.Contains(t, answered, "shoulder")
			q.Profile.Answers = append(q.Profile.Answers, client.Answer{Question: "night_pain", Is: "NO", Day: q.AsOf, ComplaintInView: true})
		}
		a, err := selection.Substitute(edition(t), q, selection.Options{})
		require.NoError(t, err, name)
		require.True(t, strings.HasSuffix(a.Spared, c.says) && (c.says == "") == (a.Spared == ""), "%s: %q", name, a.Spared)
	}
}

// TestUnknownDrillsOfALog: a platform's log is taken as it is; what the catalogue doesn't know is left out, counted and named.
func TestUnknownDrillsOfALog(t *testing.T) {
	q := achingPress(t)
	for _, drill := range []string{"easy-run", "barbell-bench-press", "spin", "easy-run", "yoga", "swim"} {
		q.Profile.Log = append(q.Profile.Log, client.LoggedSet{Drill: drill, Day: q.AsOf - 2, Side: client.SideBoth, Reps: 8, LoadKg: 40,
			Pain: to(1.0)})
	}
	a, err := selection.Substitute(edition(t), q, selection.Options{})
	require.NoError(t, err)
	require.Contains(t, a.Notes,
		"5 sets of the log are of drills that the catalogue doesn't have (easy-run, spin, swim and 1 more): nothing was read of that.")
	q.Profile.Log = q.Profile.Log[:1]
	a, err = selection.Substitute(edition(t), q, selection.Options{})
	require.NoError(t, err)
	require.Contains(t, a.Notes, "1 set of the log is of a drill that the catalogue doesn't have (easy-run): nothing was read of that.")
}
