package analysis

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/internal/random"
)

var updateLint = flag.Bool("update-lint", false, "write testdata/lint.txt anew")

var lintBooks = flag.Uint64("lint-books", 4, "generated books that are linted")

const plantedRules = `rules:
  - {id: planted-no-drill, effect: caution, when: "drill.loads and drill.skill > 90", because: "A.", source: {kind: judged}}
  - {id: planted-no-client, effect: bar, when: "drill.loads and client.age_years > 60 and client.age_years < 50", because: "B.",
     source: {kind: judged}}
  - {id: planted-always, effect: caution, when: "client.age_years >= 0", because: "C.", source: {kind: judged}}
  - {id: planted-for, effect: favour, points: 5, when: "drill.pattern == 'squat' and client.age_years > 40", because: "D.",
     source: {kind: judged}}
  - {id: planted-against, effect: favour, points: -5, when: "drill.pattern == 'squat' and client.age_years > 40", because: "E.",
     source: {kind: judged}}
  - {id: planted-narrow, effect: bar, when: "drill.pattern == 'squat' and client.age_years > 110 and client.training == 'NOVICE'", because: "F.",
     source: {kind: judged}}
  - {id: planted-wide, effect: bar, when: "drill.pattern in ['squat', 'hinge'] and client.age_years > 100", because: "G.",
     source: {kind: judged}}
  - {id: planted-words, effect: caution, when: "drill.pattern == 'squat' and client.age_years > 95", because: "H.", source: {kind: judged}}
  - {id: planted-words-too, effect: caution, when: "drill.pattern == 'squat' and client.age_years > 90", because: "H.",
     source: {kind: judged}}
  - {id: planted-up, effect: adjust, adjust: {sets: {add: 1}}, when: "drill.pattern == 'squat' and client.age_years > 30", because: "I.",
     source: {kind: judged}}
  - {id: planted-down, effect: adjust, adjust: {sets: {times: 0.5}}, when: "drill.pattern == 'squat' and client.age_years < 40", because: "J.",
     source: {kind: judged}}
  - {id: planted-bar, effect: bar, when: "drill.pattern == 'grip'", because: "K.", source: {kind: judged}}
  - {id: planted-lost, effect: favour, points: 5, when: "drill.pattern == 'grip' and client.age_years > 40", because: "L.",
     source: {kind: judged}}
  - {id: planted-unguarded, effect: bar, when: "drill.rung.knee >= 3 and client.strength.knee.extension < 100", because: "M.", untested: "M?",
     source: {kind: judged}}
  - {id: planted-memory, effect: caution, when: "drill.loads and client.age_years > 80", because: "O.", source: {kind: memory}}
`

func planted(t *testing.T) *rules.Edition {
	files := append(rules.EmbeddedFiles(), authored.File{Name: "rules/book/planted.yaml", Data: []byte(plantedRules)})
	for _, change := range [][3]string{
		{"plans.yaml", "{id: shoulder-motion, name: \"Shoulder motion\", purpose: prepare, count: 1, where: \"",
			"{id: shoulder-motion, name: \"Shoulder motion\", purpose: prepare, count: 1, where: \"drill.pattern == 'grip' and "},
		{"press.yaml", "cite: moseley-1992", "cite: mosely-1992"},
	} {
		at := slices.IndexFunc(files, func(f authored.File) bool {
			return strings.HasSuffix(f.Name, "/"+change[0]) && strings.Contains(string(f.Data), change[1])
		})
		require.GreaterOrEqual(t, at, 0, change[0])
		files[at].Data = []byte(strings.Replace(string(files[at].Data), change[1], change[2], 1))
	}
	e, err := rules.Read(files)
	require.NoError(t, err)
	return e
}

// TestPlantedFindings: faults planted in the built-in edition are found, each with its evidence, which is true.
func TestPlantedFindings(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := planted(t)
	all, err := Lint(t.Context(), e)
	require.NoError(t, err)
	about := func(kind FindingKind, rules ...string) *Finding {
		for i, f := range all {
			if f.Kind == kind && slices.Equal(f.Rules, rules) {
				return &all[i]
			}
		}
		var got []string
		for _, f := range all {
			got = append(got, f.Message)
		}
		require.Fail(t, "not found", "%s %v in\n%s", kind, rules, strings.Join(got, "\n"))
		return nil
	}
	require.Equal(t, "planted-no-drill holds for no drill: no drill meets “drill.skill > 90”", about(neverFires, "planted-no-drill").Message)
	never := about(neverFires, "planted-no-client")
	require.Equal(t, "planted-no-client holds for no client: nobody meets “client.age_years > 60” and “client.age_years < 50” at once",
		never.Message)
	require.NotEmpty(t, never.Drills)
	require.Equal(t, "rules/book/planted.yaml", never.At.Source.Name)
	require.Equal(t, 3, never.At.Line)
	about(alwaysFires, "planted-always")
	about(contradicts, "planted-for", "planted-against")
	about(redundant, "planted-narrow", "planted-wide")
	about(redundant, "planted-words", "planted-words-too")
	about(contradicts, "planted-lost", "planted-bar")
	about(unguardedPath, "planted-unguarded")
	about(missingSource, "planted-memory")
	require.True(t, slices.ContainsFunc(all, func(f Finding) bool {
		return f.Kind == missingSource && strings.Contains(f.Message, `"mosely-1992"`) && f.At.Line > 0
	}), "an id in the catalogue that no source has")

	both := about(contradicts, "planted-up", "planted-down")
	require.NoError(t, client.Check(e.Frame, both.Client))
	d := e.Catalogue.Drill(both.Drills[0])
	require.True(t, meets(e, both.Client, []Demand{Must(e.Book.Rule("planted-up"), d, 0), Must(e.Book.Rule("planted-down"), d, 0)}))

	unreachable := map[string]bool{}
	emptied := 0
	for _, f := range all {
		switch f.Kind {
		case unreachableDrill:
			if !f.NotDecided {
				require.Equal(t, []string{"planted-bar"}, f.Rules)
				unreachable[f.Drills[0]] = true
			}
		case emptySlot:
			if f.Client != nil {
				emptied++
				require.Equal(t, "slot shoulder-motion of shoulder-session can't be filled with any kit on any rung", f.Message)
				require.NoError(t, client.Check(e.Frame, f.Client))
			}
		}
	}
	require.Equal(t, 1, emptied)
	for _, d := range e.Catalogue.Drills {
		require.Equal(t, d.Pattern.ID == "grip", unreachable[d.ID], d.ID)
	}
}

// TestTagsOfNoRule: a tag that no rule explains, and a bar without its tag.
func TestTagsOfNoRule(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := builtIn(t)
	bare := random.Changed(e.Catalogue, func(d *catalog.Drill) {
		tagged := slices.Contains(d.Contraindications, "frozen_shoulder_painful")
		d.Contraindications = slices.DeleteFunc(slices.Clone(d.Contraindications),
			func(id string) bool { return id == "frozen_shoulder_painful" })
		if !tagged && d.Main.Region == "knee" {
			d.Contraindications = append(d.Contraindications, "frozen_shoulder_painful")
		}
	})
	w, err := rules.ReadOn(catalog.NewSnapshot(e.Catalogue.Vocabulary, bare), bookFiles(), nil)
	require.NoError(t, err)
	l := newLinter(t.Context(), w)
	l.tags()
	found := map[FindingKind]Finding{}
	for _, f := range l.findings {
		found[f.Kind] = f
	}
	require.Len(t, l.findings, 2)
	require.NotEmpty(t, found[missingTag].Drills)
	require.Contains(t, found[missingTag].Rules, "frozen-painful-end-range")
	require.NotEmpty(t, found[unexplainedTag].Drills)
}

// TestTheBookAgainstItsTags: the built-in edition has none of either.
func TestTheBookAgainstItsTags(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	l := newLinter(t.Context(), builtIn(t))
	require.NoError(t, client.Check(l.e.Frame, l.free))
	l.tags()
	require.Empty(t, l.findings)
}

// TestLintSaysNothingThatIsNotSo: of generated books no random client is what a finding says nobody is.
func TestLintSaysNothingThatIsNotSo(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	said := map[FindingKind]int{}
	for seed := range *lintBooks {
		w := generated(t, 77+seed, 60, 25)
		found, err := Lint(t.Context(), w.Edition)
		require.NoError(t, err)
		for _, f := range found {
			said[f.Kind]++
			if id, ok := strings.CutPrefix(f.Message, "no rule speaks of "); ok {
				require.NotContains(t, codeOf(w.Book), "'"+id+"' in client.")
			}
		}
		for c := range uint64(8) {
			shows := newSeen(w.Edition)
			l := &linter{e: w.Edition, seen: shows}
			facts := w.client(seed + c)
			l.lookAtClient(facts)
			l.lookAtDrills(facts, w.lift(seed+c))
			for _, f := range found {
				if f.NotDecided || len(f.Rules) == 0 {
					continue
				}
				rule := w.Book.Rule(f.Rules[0])
				switch at := l.seen.at[rule]; f.Kind {
				case neverFires:
					require.False(t, at.fired, f.Message)
				case alwaysFires:
					require.False(t, at.spared, f.Message)
				case redundant:
					if rule.Effect != rules.Dosing {
						require.False(t, l.seen.refutes(&claim{rule: rule, others: []*rules.Rule{w.Book.Rule(f.Rules[1])}}), f.Message)
					}
				case unreachableDrill:
					require.False(t, l.seen.open[w.Catalogue.Drill(f.Drills[0]).Index], f.Message)
				}
			}
		}
	}
	t.Log(said)
	require.Positive(t, said[neverFires])
	require.Positive(t, said[conditionWithoutRule])
}

func codeOf(b *rules.Book) string {
	all := ""
	for _, r := range slices.Concat(b.Rules, b.Doses, b.Advices) {
		all += r.CodeText + "\n"
	}
	return strings.ReplaceAll(all, "\"", "'")
}

// TestLintOfTheBook: what the lint says of the built-in edition. It moves with the book: -update-lint writes it anew.
func TestLintOfTheBook(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	b := &strings.Builder{}
	e := builtIn(t)
	found, err := Lint(t.Context(), e)
	require.NoError(t, err)
	for _, f := range found {
		fmt.Fprintf(b, "%s: %s\n", f.Kind, f.Message)
		if f.Client != nil {
			require.NoError(t, client.Check(e.Frame, f.Client), f.Message)
		}
	}
	path := filepath.Join("..", "..", "testdata", "lint.txt")
	if *updateLint {
		require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, string(want), b.String())
}
