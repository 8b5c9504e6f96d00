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

// aReview is that of a reviewer at a server.
var aReview = &rules.Review{By: "Dr A. Sculler, sports physician", Licence: "RC-0413"}

func TestFloorIsLoosenedByAReviewerOnly(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	with := func(text string) []authored.File {
		return append(withoutCases(rules.EmbeddedFiles()), authored.File{Name: "about.yaml", Data: []byte(text)})
	}
	for _, id := range append(floorRules(e), "floor-valid-days") {
		loosened := "about:\n  loosens: [{floor: " + id + ", why: \"we measure it ourselves\"}]\n"
		_, err := e.Redraft(with(loosened))
		require.ErrorContains(t, err, "nobody has reviewed the book", id)
		require.ErrorContains(t, err, "publish with a token of the role review", id)

		_, err = e.RedraftReviewed(with("about:\n  loosens: [{floor: "+id+"}]\n"), aReview)
		require.ErrorContains(t, err, "doesn't say for what reason", id)

		loose, err := e.RedraftReviewed(with(loosened), aReview)
		require.NoError(t, err, id)
		require.Nil(t, loose.Book.Rule(id))
	}
	_, err = e.RedraftReviewed(with("about:\n  loosens: [{floor: arc-beyond-range, why: \"no\"}]\n"), aReview)
	require.ErrorContains(t, err, `unknown part of the floor "arc-beyond-range"`)
}

// What an author types is no review, wherever it stands: beside it the floor isn't loosened, and without anything to loosen it is
// refused all the same.
func TestTypedReviewIsRefused(t *testing.T) {
	if testing.Short() {
		t.Skip("reads the whole edition many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	const loosens = "about:\n  format: 3\n  loosens: [{floor: floor-pressure-very-high, why: \"measured on site\"}]\n"
	const typed = "review:\n  by: Dr A. Sculler\n  licence: RC-0413\n"
	for name, c := range map[string]struct{ file, text, says string }{
		"under about": {"about.yaml", "about: {format: 3, reviewed_by: Dr A. Sculler}\n",
			"reviewed_by: says nothing when it is typed"},
		"under about, and loosened":      {"about.yaml", loosens + "  reviewed_by: Dr A. Sculler\n", "nobody has reviewed the book"},
		"in a file of its own":           {"mine.yaml", typed, "review: is written by a server alone"},
		"in the server's file":           {rules.ReviewFile, typed, "review: is written by a server alone"},
		"beside what it would loosen":    {rules.ReviewFile, typed + loosens, "review: is written by a server alone"},
		"one letter off, and beside it":  {rules.ReviewFile, strings.Replace(typed, "review:", "reviev:", 1) + loosens, "unknown kind of file"},
		"in a folder of the same name":   {"rules/" + rules.ReviewFile, typed, "review: is written by a server alone"},
		"without anything that it holds": {rules.ReviewFile, "review: {}\n", "review: is written by a server alone"},
	} {
		t.Run(name, func(t *testing.T) {
			file := authored.File{Name: c.file, Data: []byte(c.text)}
			whole := append(withoutCases(rules.EmbeddedFiles()), file)
			for how, read := range map[string]func() (*rules.Edition, error){
				"a whole edition":       func() (*rules.Edition, error) { return rules.Read(whole) },
				"over the built-in one": func() (*rules.Edition, error) { return rules.ReadDraft([]authored.File{file}, rules.EmbeddedFiles()) },
				"over another catalogue": func() (*rules.Edition, error) {
					return rules.ReadOn(e.Catalogue, []authored.File{file}, rules.EmbeddedFiles())
				},
				"over what is live":       func() (*rules.Edition, error) { return e.Redraft(whole) },
				"by one who reviews, too": func() (*rules.Edition, error) { return e.RedraftReviewed(whole, aReview) },
			} {
				if strings.Contains(c.says, "nobody") && strings.HasPrefix(how, "by one") {
					continue
				}
				_, err := read()
				require.ErrorContains(t, err, c.says, how)
			}
		})
	}
}

// A review is of one text: it is in the revision, is read again as it was published, and doesn't go over to a draft.
func TestReviewIsOfOneText(t *testing.T) {
	if testing.Short() {
		t.Skip("reads the whole edition many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	require.Empty(t, e.Book.ReviewedBy())
	draft := withoutCases(rules.EmbeddedFiles())
	plain, err := e.Redraft(draft)
	require.NoError(t, err)
	reviewed, err := e.RedraftReviewed(draft, aReview)
	require.NoError(t, err)
	require.Equal(t, "Dr A. Sculler, sports physician (licence RC-0413)", reviewed.Book.ReviewedBy())
	require.NotEqual(t, plain.Revision, reviewed.Revision)

	for how, read := range map[string]func([]authored.File) (*rules.Edition, error){"whole": rules.ReadPublished, "after another": e.Reread} {
		again, err := read(reviewed.Files())
		require.NoError(t, err, how)
		require.Equal(t, reviewed.Revision, again.Revision, how)
		require.Equal(t, aReview, again.Book.Review, how)
	}
	require.ElementsMatch(t, []string{"added file review"}, changes(rules.Compare(plain, reviewed)))
	for how, files := range map[string][]authored.File{"the same again": draft, "nothing": nil} {
		next, err := reviewed.Redraft(files)
		require.NoError(t, err, how)
		require.Nil(t, next.Book.Review, how)
		require.Equal(t, plain.Revision, next.Revision, how)
	}
	other := &rules.Review{By: `B. "Bow" Stroke` + ", physiotherapist: rehab # 1", Licence: "0x1F"}
	next, err := reviewed.RedraftReviewed(draft, other)
	require.NoError(t, err)
	require.Equal(t, other, next.Book.Review)
	_, err = rules.Read(reviewed.Files())
	require.ErrorContains(t, err, "review: is written by a server alone", "an edition as it was published is no draft")
}

func changes(list []rules.PartChange) []string {
	var said []string
	for _, c := range list {
		said = append(said, c.Change+" "+c.Kind+" "+c.ID)
	}
	return said
}
