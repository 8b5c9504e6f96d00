package rules_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
)

// edited is the embedded edition with one text of one file replaced, which must stand there.
func edited(t *testing.T, file, from, to string) []authored.File {
	t.Helper()
	files, done := rules.EmbeddedFiles(), false
	for i, f := range files {
		if strings.HasSuffix(f.Name, file) && bytes.Contains(f.Data, []byte(from)) {
			files[i].Data, done = bytes.Replace(f.Data, []byte(from), []byte(to), 1), true
		}
	}
	require.True(t, done, "%s doesn't hold %q", file, from)
	return files
}

func floorRules(e *rules.Edition) []string {
	var ids []string
	for _, r := range e.Book.Rules {
		if r.Floor {
			ids = append(ids, r.ID)
		}
	}
	return ids
}

// No file of a book takes away a rule of the floor, gives its id another meaning, or moves what it stands on.
func TestFloorHoldsAgainstTheBook(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	all := floorRules(e)
	require.Len(t, all, 22)
	for _, id := range all {
		files := append(rules.EmbeddedFiles(), authored.File{Name: "mine.yaml", Data: fmt.Appendf(nil,
			"rules:\n  - id: %s\n    effect: favour\n    points: 100\n    when: \"drill.loads\"\n    because: \"Go on.\"\n    source: {kind: "+
				"common_practice}\n", id)})
		_, err := e.Redraft(files)
		require.ErrorContains(t, err, "ids are given once", id)
	}
	for name, c := range map[string]struct{ file, from, to, says string }{
		"a question asked less urgently": {"screening.yaml", "      - id: child_limp",
			"      - id: chest_pressure_or_faint\n        urgency: soon\n        asks: \"All well?\"\n      - id: child_limp",
			`question "chest_pressure_or_faint" stands twice`},
		"a ladder that begins under load": {"ladders.yaml", "rungs: [active_motion, isometric,", "rungs: [isometric, active_motion,",
			"the first rung of each is moving without load"},
		"old blood pressure": {"measures.yaml", "blood_pressure: 28", "blood_pressure: 3650",
			"valid_days: blood_pressure: 3650 days are more than the floor allows"},
		"old answers": {"measures.yaml", "answer: 28", "answer: 400",
			"valid_days: answer: 400 days are more than the floor allows"},
		"old pain":              {"measures.yaml", "pain: 7", "pain: 70", "valid_days: pain: 70 days are more than the floor allows"},
		"a dose into more pain": {"doses.yaml", "pain_ceiling: 3", "pain_ceiling: 9", "pain_ceiling goes from 0 to 5"},
		"a weight that moves nothing": {"hip_ankle.yaml",
			"ankle: {rung: isometric, role: drive}, knee: {rung: active_motion, role: support, on: other}",
			"knee: {rung: active_motion, role: support, on: other}", "as if it moved none"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := e.Redraft(edited(t, c.file, c.from, c.to))
			require.ErrorContains(t, err, c.says)
		})
	}
	_, err = e.Redraft(append(rules.EmbeddedFiles(), authored.File{Name: "rules/floor/mine.yaml", Data: []byte("rules: []\n")}))
	require.ErrorContains(t, err, "the floor stands in the program")
}

func TestFloorIsLoosenedByAReviewerOnly(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	about := func(text string) ([]authored.File, string) {
		return append(withoutCases(rules.EmbeddedFiles()), authored.File{Name: "about.yaml", Data: []byte(text)}), text
	}
	for _, id := range append(floorRules(e), "floor-valid-days") {
		files, _ := about("about:\n  loosens: [{floor: " + id + ", why: \"we measure it ourselves\"}]\n")
		_, err := e.Redraft(files)
		require.ErrorContains(t, err, "nobody has reviewed the book", id)

		files, _ = about("about:\n  reviewed_by: Dr A. Sculler, sports physician\n  loosens: [{floor: " + id + "}]\n")
		_, err = e.Redraft(files)
		require.ErrorContains(t, err, "doesn't say for what reason", id)

		files, _ = about("about:\n  reviewed_by: Dr A. Sculler, sports physician\n  loosens: [{floor: " + id +
			", why: \"we measure it ourselves\"}]\n")
		loose, err := e.Redraft(files)
		require.NoError(t, err, id)
		require.Nil(t, loose.Book.Rule(id))
	}
	files, _ := about("about:\n  reviewed_by: Dr A. Sculler, sports physician\n  loosens: [{floor: arc-beyond-range, why: \"no\"}]\n")
	_, err = e.Redraft(files)
	require.ErrorContains(t, err, `unknown part of the floor "arc-beyond-range"`)
}
