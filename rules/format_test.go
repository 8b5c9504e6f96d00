package rules

import (
	"bytes"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// asksMore makes format 3 ask for keys that the embedded edition has, until the test ends.
func asksMore(t *testing.T, more ...gain) {
	t.Helper()
	was, came := gained, builtInParts
	gained, builtInParts = more, sync.OnceValue(readBuiltInParts)
	t.Cleanup(func() { gained, builtInParts = was, came })
}

// latin is a key that nothing asks for; because one that every rule must have.
var (
	latin   = gain{format: 3, list: "vocabulary.muscles", key: "latin"}
	because = gain{format: 3, list: "rules", key: "because"}
	dosed   = gain{format: 3, list: "doses", key: "because"}
)

// oldFiles are those of the embedded edition without what format 3 has more.
func oldFiles(lacking ...string) []authored.File {
	var files []authored.File
	for _, f := range EmbeddedFiles() {
		if strings.HasSuffix(f.Name, "/about.yaml") {
			continue
		}
		for _, cut := range lacking {
			f.Data = regexp.MustCompile(cut).ReplaceAll(f.Data, nil)
		}
		files = append(files, f)
	}
	return files
}

func undecided(old *OldFormat) authored.Problems {
	return slices.DeleteFunc(slices.Clone(old.Missing), func(p authored.Problem) bool { return p.Fix != nil })
}

const (
	noLatin   = `, latin: ("[^"]*"|[^,}]*)`
	noBecause = `(?m)^ +because: .*\n`
)

func textOf(files []authored.File, name string) string {
	i := slices.IndexFunc(files, func(f authored.File) bool { return strings.HasSuffix(f.Name, name) })
	return string(files[i].Data)
}

func TestEveryEditionSaysItsFormat(t *testing.T) {
	e, err := Embedded()
	require.NoError(t, err)
	require.Equal(t, Format, e.Book.About.Format)
}

func TestAnOldEditionIsNotReadOn(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	files := oldFiles()
	_, err := Read(files)
	var old *OldFormat
	require.ErrorAs(t, err, &old)
	require.Equal(t, 1, old.Format)
	require.Equal(t, "it is of format 1, and this program reads format 3; drillwright book upgrade adds 1 of what is missing", err.Error())
	require.NotNil(t, old.Edition)
	require.Equal(t, digest(newEditionReader(nil, old.Upgraded).docs), old.Edition.Revision)
	again, err := Read(old.Upgraded)
	require.NoError(t, err)
	require.Equal(t, old.Edition.Revision, again.Revision)

	e, err := Embedded()
	require.NoError(t, err)
	_, err = e.Reread(files)
	require.ErrorAs(t, err, &old, "what it lacks doesn't come from another edition")
}

// What the parts that come with the program say more than an old edition does, is put in at the end of each, and nothing else
// is touched.
func TestUpgradeAddsWhatComesWithTheProgram(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	asksMore(t, latin, because, dosed)
	files := oldFiles(noLatin, noBecause)
	old, err := Upgrade(files, nil)
	require.NoError(t, err)
	derived, left := old.Counts()
	require.Zero(t, left, undecided(old))
	require.NotNil(t, old.Edition)
	require.Greater(t, derived, 300)

	e, err := Embedded()
	require.NoError(t, err)
	require.Equal(t, e.Catalogue.Vocabulary.Muscles[0].Latin, old.Edition.Catalogue.Vocabulary.Muscles[0].Latin)
	require.Contains(t, textOf(old.Upgraded, "vocabulary.yaml"), "# Latin names after Terminologia Anatomica, from memory.")
	require.Len(t, Compare(e, old.Edition), 0, "it says what the edition says that it was cut from")
	for i, f := range files {
		kept := regexp.MustCompile(noLatin).ReplaceAllString(string(old.Upgraded[i].Data), "")
		require.Equal(t, string(f.Data), regexp.MustCompile(noBecause).ReplaceAllString(kept, ""), f.Name)
	}
	again, err := Upgrade(old.Upgraded, nil)
	require.NoError(t, err)
	require.Nil(t, again, "once is enough")
}

// A rule of the author's own has no part to take the words from.
func TestWhatNobodyCanDeriveIsNamedAtItsLine(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	asksMore(t, latin, because)
	files := append(oldFiles(noLatin), authored.File{Name: "rules/club.yaml", Data: []byte(`# Our own.
rules:
  - id: novice-skill-of-ours
    effect: bar
    when: "client.training == 'NOVICE' and drill.skill >= 3" # as agreed
    source: {kind: judged}
about: {name: A club}
`)})
	old, err := Upgrade(files, nil)
	require.NoError(t, err)
	require.Nil(t, old.Edition)
	_, left := old.Counts()
	require.Equal(t, 1, left)
	require.Equal(t, `rules/club.yaml:3:5: rule "novice-skill-of-ours" has no because; say in a sentence why, with the figures in braces
  3 |   - id: novice-skill-of-ours
    |     ^`, undecided(old).Error())
	require.Equal(t, `rules/club.yaml:7:8: the edition is of format 1, and this program reads format 3; write format: 3 when nothing else is missing
  7 | about: {name: A club}
    |        ^`, old.Missing[0].String())
	require.Contains(t, string(textOf(old.Upgraded, "club.yaml")), "about: {name: A club, format: 3}\n")
	_, err = Read(old.Upgraded)
	require.ErrorContains(t, err, `rule "novice-skill-of-ours" has no because`)
	require.NotContains(t, err.Error(), "format")
}

// What nobody has edited since it came with an earlier program comes with this one; what somebody has edited is kept.
func TestFilesThatNobodyEditedAreRenewed(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	asksMore(t, latin)
	came := oldFiles(noLatin)
	i := slices.IndexFunc(came, func(f authored.File) bool { return strings.HasSuffix(f.Name, "/favours.yaml") })
	j := slices.IndexFunc(came, func(f authored.File) bool { return strings.HasSuffix(f.Name, "/vocabulary.yaml") })
	came[i].Data = append([]byte("# An earlier program's.\n"), came[i].Data...)
	live := slices.Clone(came)
	all, err := Upgrade(live, came)
	require.NoError(t, err)
	e, err := Embedded()
	require.NoError(t, err)
	require.Equal(t, e.Revision, all.Edition.Revision)

	live[j].Data = append([]byte("# Our own.\n"), live[j].Data...)
	live = append(live, authored.File{Name: "rules/club.yaml", Data: []byte("about: {name: A club}\n")})
	some, err := Upgrade(live, came)
	require.NoError(t, err)
	require.NotNil(t, some.Edition)
	require.True(t, strings.HasPrefix(textOf(some.Upgraded, "/vocabulary.yaml"), "# Our own.\n"))
	require.Contains(t, textOf(some.Upgraded, "/vocabulary.yaml"), "latin: ")
	require.NotContains(t, textOf(some.Upgraded, "/favours.yaml"), "earlier")
	require.Equal(t, "A club", some.Edition.Book.About.Name)

	without := slices.Delete(slices.Clone(live), i, i+1)
	less, err := Upgrade(without, came)
	require.NoError(t, err)
	require.False(t, slices.ContainsFunc(less.Upgraded, func(f authored.File) bool { return strings.HasSuffix(f.Name, "/favours.yaml") }),
		"what was taken out stays out")
}

func TestANewerFormatIsRefused(t *testing.T) {
	_, err := ReadDraft([]authored.File{{Name: "about.yaml", Data: []byte("about:\n  format: 4\nnonsense: 1\n")}}, EmbeddedFiles())
	require.EqualError(t, err, `about.yaml:2:11: the edition is of format 4, which is newer than this program; it reads format 3; start the program that it was made with, or a later one
  2 |   format: 4
    |           ^`)
}

func TestADraftWithoutANumberHasThatOfItsBase(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	e, err := ReadDraft([]authored.File{{Name: "club/bars.yaml", Data: []byte("rules: []\n")}}, withoutKind(EmbeddedFiles(), ofCases))
	require.NoError(t, err)
	require.Equal(t, Format, e.Book.About.Format)
	for text, want := range map[string]string{
		"about: {format: two}":  "is not a number",
		"about: {format: 0}":    "format is 0; format goes from 1 up",
		"about: {format: -1}":   "format is -1; format goes from 1 up",
		"about: {name: A club}": "it is of format 1",
		"about: {format: 1}":    "it is of format 1",
	} {
		_, err := ReadDraft([]authored.File{{Name: "about.yaml", Data: []byte(text)}}, EmbeddedFiles())
		require.ErrorContains(t, err, want, text)
	}
}

func withoutKind(files []authored.File, kinds []string) []authored.File {
	return slices.DeleteFunc(files, func(f authored.File) bool {
		return slices.ContainsFunc(kinds, func(k string) bool {
			return bytes.HasPrefix(f.Data, []byte(k+":")) || bytes.Contains(f.Data, []byte("\n"+k+":"))
		})
	})
}

// A draft in a folder that is a whole copy of an older edition says no number.
func TestUpgradeDraftTakesAFolderWithoutANumberForAnOldOne(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	asksMore(t, latin)
	files := oldFiles(noLatin)
	old, err := UpgradeDraft(files, EmbeddedFiles())
	require.NoError(t, err)
	derived, left := old.Counts()
	require.Zero(t, left)
	require.Greater(t, derived, 20)
	require.NotNil(t, old.Edition)
	none, err := UpgradeDraft([]authored.File{{Name: "about.yaml", Data: []byte("about: {format: 3}\n")}}, EmbeddedFiles())
	require.NoError(t, err)
	require.Nil(t, none)
}

// What later formats added, cut out of the built-in edition, is what an edition of format 1 lacks: all of it comes back, and nothing else
// is different.
func TestUpgradeOfTheBuiltInEditionAsItWasBeforeTheFormat(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	asked := append(slices.Clone(gained), gain{list: "vocabulary.muscles", key: "crosses"}, gain{list: "vocabulary.positions", key: "bears"},
		gain{list: "vocabulary.positions", key: "bears_held"})
	var files []authored.File
	cut := 0
	for _, f := range oldFiles() {
		var doc yaml.Node
		require.NoError(t, yaml.Unmarshal(f.Data, &doc))
		for _, g := range asked {
			way := strings.Split(g.list, ".")
			for _, list := range listsUnder(doc.Content[0], way) {
				if list.Kind == yaml.SequenceNode {
					list.Content = slices.DeleteFunc(list.Content, func(n *yaml.Node) bool { return g.part != "" && textUnder(n, "id") == g.part })
				}
			}
			for _, part := range partsOf(listsUnder(doc.Content[0], way)) {
				i := slices.IndexFunc(part.Content, func(n *yaml.Node) bool { return n.Value == g.key })
				if came := under(part, g.key); g.older != nil && came != nil && textUnder(part, "effect") == "refer" && !g.older(came) &&
					under(came, "cite") != nil {
					require.NoError(t, came.Encode(map[string]string{"kind": "published", "cite": "Somebody A et al. 2001"}))
					cut++
				}
				if g.key == "" || i < 0 || i%2 != 0 || g.older != nil {
					continue
				}
				part.Content, cut = slices.Delete(part.Content, i, i+2), cut+1
			}
			if above := listsUnder(doc.Content[0], way[:len(way)-1]); g.part == "*" && len(above) > 0 {
				i := slices.IndexFunc(above[0].Content, func(n *yaml.Node) bool { return n.Value == way[len(way)-1] })
				if i >= 0 {
					above[0].Content, cut = slices.Delete(above[0].Content, i, i+2), cut+1
				}
			}
		}
		if under(doc.Content[0], "sources") != nil {
			cut++
			continue
		}
		data, err := yaml.Marshal(&doc)
		require.NoError(t, err)
		files = append(files, authored.File{Name: f.Name, Data: data})
	}
	require.Greater(t, cut, 20)
	old, err := Upgrade(files, nil)
	require.NoError(t, err)
	_, left := old.Counts()
	require.Zero(t, left, undecided(old))
	e, err := Embedded()
	require.NoError(t, err)
	require.Empty(t, Compare(e, old.Edition))
	again, err := UpgradeDraft(old.Upgraded, EmbeddedFiles())
	require.NoError(t, err)
	require.Nil(t, again)
}

// Any key can be a format's: where it stood on a line of its own, or on one with others, it is cut out and put in again.
func TestUpgradePutsAnyKeyBack(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	for list, cut := range map[string]struct{ key, folder, was string }{
		"screening.questions":  {"urgency", "rules/book/", `(?m)^        urgency: .*\n`},
		"drills":               {"name", "catalog/data/", `(?m)^    name: .*\n`},
		"vocabulary.positions": {"name", "catalog/data/", `(id: (?:standing|seated|hanging)), name: [^,}]*`},
		"plans":                {"minutes", "rules/book/", `(?m)^    minutes: .*\n`},
	} {
		t.Run(list, func(t *testing.T) {
			asksMore(t, gain{format: 3, list: list, key: cut.key})
			pattern, found := regexp.MustCompile(cut.was), 0
			files := oldFiles()
			for i, f := range files {
				if !strings.HasPrefix(f.Name, cut.folder) {
					continue
				}
				found += len(pattern.FindAll(f.Data, -1))
				files[i].Data = pattern.ReplaceAll(f.Data, []byte("$1"))
			}
			require.Positive(t, found)
			old, err := Upgrade(files, nil)
			require.NoError(t, err)
			derived, left := old.Counts()
			require.Zero(t, left, undecided(old))
			require.Equal(t, found+1, derived)
			e, err := Embedded()
			require.NoError(t, err)
			require.Empty(t, Compare(e, old.Edition))
		})
	}
}

// A review was of the text before: what an upgrade makes of it nobody has reviewed. What was loosened by a typed name somebody
// decides anew.
func TestUpgradeKeepsNoReview(t *testing.T) {
	review := (&Review{By: "Dr A. Sculler", Licence: "RC-0413"}).file()
	old, err := Upgrade(append(oldFiles(), review), EmbeddedFiles())
	require.NoError(t, err)
	require.NotNil(t, old.Edition)
	require.Nil(t, old.Edition.Book.Review)
	require.NotContains(t, old.Edition.KindsBeside("nowhere/"), "review")

	loosened := authored.File{Name: "loose.yaml", Data: []byte("about:\n  reviewed_by: Dr A. Sculler\n" +
		"  loosens: [{floor: floor-pressure-very-high, why: \"measured on site\"}]\n")}
	old, err = Upgrade(append(oldFiles(), review, loosened), EmbeddedFiles())
	require.NoError(t, err)
	require.Nil(t, old.Edition)
	left := undecided(old).Error()
	require.Contains(t, left, "reviewed_by: says nothing when it is typed")
	require.Contains(t, left, "the floor is loosened, and nobody has reviewed the book")
}
