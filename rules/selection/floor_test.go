package selection_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// eager is the embedded edition with all that a book may say to have more done.
func eager(t *testing.T, about string) *rules.Edition {
	files := append(rules.EmbeddedFiles(), authored.File{Name: "eager.yaml", Data: []byte(about + `
rules:
  - id: all-speaks-for-it
    effect: favour
    points: 100
    when: "true"
    because: "Go on."
    source: {kind: common_practice}
  - id: more-pain
    effect: adjust
    adjust: {pain_ceiling: {set: 10}}
    when: "true"
    because: "It may hurt."
    source: {kind: common_practice}
`)})
	// Cases that speak of what is loosened would be mistakes of this draft; those of the base are not its own.
	files = slices.DeleteFunc(files, func(f authored.File) bool { return strings.HasPrefix(f.Name, "rules/book/cases") })
	var by *rules.Review
	if strings.Contains(about, "loosens") {
		by = &rules.Review{By: "Dr A. Sculler, sports physician", Licence: "RC-0413"}
	}
	e, err := edition(t).RedraftReviewed(files, by)
	require.NoError(t, err)
	return e
}

// cleared is someone whom a clinician has cleared of everything, everywhere, today.
func cleared(t *testing.T) *client.Request {
	q := someone(t)
	for _, region := range edition(t).Frame.Vocabulary.IDs("region") {
		for _, side := range sidesOf(t, region) {
			q.Profile.Clearances = append(q.Profile.Clearances, client.Clearance{By: "CLINICIAN", Region: region, Side: side, Given: q.AsOf,
				Covers: conditionsOf(t, region)})
		}
	}
	q.Profile.ClearancesTold = true
	return q
}

// TestFloorHoldsInAnswers: whatever a book and a clearance say, each sign of the floor leaves no drills, and no dose goes
// above the ceiling.
func TestFloorHoldsInAnswers(t *testing.T) {
	e := eager(t, "")
	signs := 0
	for _, l := range e.Frame.Lists {
		for _, asked := range l.Questions {
			ofFloor := func(r *rules.Rule) bool { return r.Floor && r.CodeText == "client.answers."+asked.ID }
			if !slices.ContainsFunc(e.Book.Rules, ofFloor) {
				continue
			}
			signs++
			for _, is := range []string{"YES", "UNSURE"} {
				q := cleared(t)
				q.Profile.Answers = []client.Answer{{Question: asked.ID, Is: is, Day: q.AsOf}}
				nothingFor(t, e, q, asked.ID)
			}
		}
	}
	require.GreaterOrEqual(t, signs, 11)
	for name, change := range map[string]func(q *client.Request){
		"very high pressure": func(q *client.Request) {
			q.Profile.BloodPressure = &client.BloodPressure{Systolic: 185, Diastolic: 90, Day: q.AsOf}
		},
		"very high diastolic": func(q *client.Request) {
			q.Profile.BloodPressure = &client.BloodPressure{Systolic: 150, Diastolic: 112, Day: q.AsOf}
		},
	} {
		q := cleared(t)
		change(q)
		nothingFor(t, e, q, name)
	}
	q := cleared(t)
	q.Profile.AgeYears = to(12)
	a, err := selection.Substitute(e, withLift(q, "goblet-squat"), selection.Options{Limit: -1})
	require.NoError(t, err)
	for _, s := range a.Substitutes {
		require.False(t, s.Drill.Loads, "%s under 13", s.Drill.ID)
	}
	q = someone(t)
	q.Lift = "goblet-squat"
	a, err = selection.Substitute(e, q, selection.Options{Limit: -1})
	require.NoError(t, err)
	require.NotEmpty(t, a.Substitutes)
	for _, s := range a.Substitutes {
		for _, side := range s.Sides {
			require.LessOrEqual(t, side.Dose.PainCeiling, rules.PainCeiling, s.Drill.ID)
		}
	}
}

func conditionsOf(t *testing.T, region string) []string {
	var ids []string
	for _, c := range edition(t).Frame.Vocabulary.Conditions {
		if slices.Contains(c.Regions, region) {
			ids = append(ids, c.ID)
		}
	}
	return ids
}

func nothingFor(t *testing.T, e *rules.Edition, q *client.Request, why string) {
	t.Helper()
	q.Lift = "goblet-squat"
	a, err := selection.Substitute(e, q, selection.Options{})
	require.NoError(t, err)
	require.True(t, a.Screening.NoDrills, why)
	require.Empty(t, a.Substitutes, why)
	s, err := selection.Select(e, q, "", selection.Options{})
	require.NoError(t, err)
	require.Empty(t, s.Drills, why)
}

// TestLoosenedFloorIsSaid: with a reviewer's name the part is gone, and every answer says so.
func TestLoosenedFloorIsSaid(t *testing.T) {
	e := eager(t,
		"about:\n  loosens: [{floor: floor-pressure-very-high, why: \"measured on site\"}, "+
			"{floor: floor-pressure-with-signs, why: \"measured on site\"}]\n")
	q := someone(t)
	q.Profile.BloodPressure = &client.BloodPressure{Systolic: 185, Diastolic: 90, Day: q.AsOf}
	a, err := selection.Screen(e, q)
	require.NoError(t, err)
	require.False(t, a.Screening.NoDrills)
	require.Contains(t, a.Notes,
		"This rulebook loosens the floor: floor-pressure-very-high (measured on site). "+
			"Dr A. Sculler, sports physician (licence RC-0413) answers for it.")
	require.NotContains(t, strings.Join(a.Notes, "\n"), "No licensed professional has reviewed")
}

func withLift(q *client.Request, lift string) *client.Request {
	q.Lift = lift
	return q
}
