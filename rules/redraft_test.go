package rules

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"hash"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
	"drillwright/rules/language"
	"drillwright/rules/predicate"
)

// edit changes one text of an edition. It returns the text as it was where there is nothing to change.
type edit struct {
	what string
	file string // end of its name
	make func(dice *rand.Rand, text string) string
}

func instead(old, with string) func(*rand.Rand, string) string {
	return func(_ *rand.Rand, text string) string { return strings.Replace(text, old, with, 1) }
}

// edits are those of rules, then of everything else.
var edits = []edit{
	{"a threshold", "", func(dice *rand.Rand, text string) string {
		all := random.Threshold.FindAllStringSubmatchIndex(text, -1)
		if len(all) == 0 {
			return text
		}
		at := all[dice.IntN(len(all))]
		return text[:at[2]] + "1" + text[at[2]:at[3]] + text[at[3]:]
	}},
	{"a rule more", "/bars.yaml", func(dice *rand.Rand, text string) string {
		seed := dice.Uint64N(1 << 20)
		return text +
			fmt.Sprintf("\n  - id: added-%d\n    effect: caution\n    when: %q\n    because: \"{drill.name}, added.\"\n    source: {kind: judged}\n",
				seed, random.Conditions(seed, random.Vocabulary(), 1)[0])
	}},
	{"a rule less", "", func(dice *rand.Rand, text string) string {
		from, to := anyRule(dice, text)
		return text[:from] + text[to:]
	}},
	{"another id", "", func(dice *rand.Rand, text string) string {
		from, to := anyRule(dice, text)
		return text[:from] + strings.Replace(text[from:to], "- id: ", "- id: renamed-", 1) + text[to:]
	}},
	{"a path that isn't there", "/bars.yaml", instead("client.kit", "client.kitt")},
	{"nothing", "/bars.yaml", instead("", "")},
	{"a term in front of the others", "/vocabulary.yaml", instead("  medicines:\n", "  medicines:\n    - {id: sea_water, name: sea water}\n")},
	{"regions in another order", "/vocabulary.yaml", func(_ *rand.Rand, text string) string {
		return regexp.MustCompile(`(    - \{id: \w+, name: shoulder.*\n)(    - .*\n)`).ReplaceAllString(text, "$2$1")
	}},
	{"a drill more", "/arm.yaml", func(_ *rand.Rand, text string) string {
		return text +
			"\n  - id: elbow-bend-added\n    name: Elbow bend, added\n    variant_of: elbow-bend-and-straighten\n    changes: [support]\n    " +
			"skill: 3\n"
	}},
	{"a rung more", "/ladders.yaml", instead("rungs: [active_motion, isometric", "rungs: [active_motion, in_water, isometric")},
	{"another year of a source", "/sources.yaml", instead("year: 2013\n", "year: 2014\n")},
	{"a margin", "/measures.yaml", instead("other: 20", "other: 35")},
	{"a question more", "/screening.yaml",
		instead("    questions:\n", "    questions:\n      - {id: added, asks: \"Is that all?\", urgency: soon}\n")},
}

// anyRule draws a rule; nothing of a file that holds none.
func anyRule(dice *rand.Rand, text string) (from, to int) {
	starts := regexp.MustCompile(`(?m)^  - id: `).FindAllStringIndex(text, -1)
	if !strings.Contains(text, "\nrules:\n") || len(starts) < 2 {
		return 0, 0
	}
	i := dice.IntN(len(starts) - 1)
	return starts[i][0], starts[i+1][0]
}

// apply makes the edit in one of the files. It returns all files of the kinds that it touched, or every file.
func (c edit) apply(dice *rand.Rand, files []document) []authored.File {
	var fit []int
	for i := range files {
		if strings.HasSuffix(files[i].Name, c.file) && (c.file != "" || files[i].isOf([]string{"rules"})) {
			fit = append(fit, i)
		}
	}
	at, whole := fit[dice.IntN(len(fit))], dice.IntN(2) == 0
	kinds := append([]string{"drills", "blocks"}, files[at].keys...)
	if !files[at].isOf([]string{"drills", "blocks"}) {
		kinds = files[at].keys
	}
	var draft []authored.File
	for i, d := range files {
		f := authored.File{Name: d.Name, Data: bytes.Clone(d.Data)}
		if i == at {
			f.Data = []byte(c.make(dice, string(d.Data)))
		}
		if whole || d.isOf(kinds) {
			draft = append(draft, f)
		}
	}
	return draft
}

// TestRedraftAgreesWithReading: whatever is edited, an edition over the one before is that which the same files make when
// they are read anew, and the one before answers as it did, also meanwhile.
func TestRedraftAgreesWithReading(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	e, dice := embeddedEdition(t), rand.New(rand.NewPCG(7, 412))
	for _, i := range dice.Perm(len(edits)) {
		draft := edits[i].apply(dice, e.files)
		cold, coldErr := ReadDraft(draft, filesOf(e))
		before := answers(e)
		meanwhile := answering(e)
		warm, warmErr := e.Redraft(draft)
		require.Equal(t, before, meanwhile(), "%s: while another was made of it", edits[i].what)
		if coldErr != nil {
			require.EqualError(t, warmErr, coldErr.Error(), edits[i].what)
			continue
		}
		require.NoError(t, warmErr, edits[i].what)
		require.Equal(t, cold.Revision, warm.Revision, edits[i].what)
		require.Equal(t, spelled(cold.Book), spelled(warm.Book), edits[i].what)
		require.Equal(t, answers(cold), answers(warm), edits[i].what)
		require.Equal(t, before, answers(e), "%s: after another was made of it", edits[i].what)
		e = warm
	}
}

func filesOf(e *Edition) []authored.File {
	var files []authored.File
	for _, d := range e.files {
		files = append(files, d.File)
	}
	return files
}

// answering works the answers out on another goroutine until they are waited for.
func answering(e *Edition) (wait func() []string) {
	var got []string
	var group sync.WaitGroup
	group.Go(func() { got = answers(e) })
	return func() []string {
		group.Wait()
		return got
	}
}

// answers are digests of how every rule comes out for every drill, and what single drills are told, a client each.
func answers(e *Edition) []string {
	var all []string
	for seed := range uint64(2) {
		q := random.Client(seed, random.Vocabulary(), 0.3)
		q.Profile.Disliked, q.Profile.GoalLifts, q.Profile.Log = nil, nil, nil // they name drills of a generated catalogue
		f, h := client.Derive(e.Frame, q), sha256.New()
		lift := e.Catalogue.Drills[int(seed)]
		e.NewTruths().Each(f, lift, func(r *Rule, truth *compile.Truth) {
			fmt.Fprintln(h, r.ID)
			for i := range e.Catalogue.Drills {
				h.Write([]byte{byte(heldBy(truth, r, e.Catalogue.Drills[i], 0)), byte(heldBy(truth, r, e.Catalogue.Drills[i], 1))})
			}
		})
		told(h, e, f, lift)
		all = append(all, fmt.Sprintf("%x", h.Sum(nil)))
	}
	return all
}

func told(h hash.Hash, e *Edition, f *client.Facts, lift *catalog.Drill) {
	j := e.Judge(f, lift)
	defer j.Done()
	for i := 0; i < len(e.Catalogue.Drills); i += 16 {
		for side := range 2 {
			d := e.Catalogue.Drills[i]
			fmt.Fprintln(h, d.ID, j.Verdict(d, side))
			if r := j.Decider(d, side); r != nil {
				tell(h, j.Reasons(r, d, side)...)
			}
		}
	}
	for raised := range e.Advisories(e.Book.Advices, f) {
		fmt.Fprintln(h, raised.Rule.ID)
		tell(h, raised.Reason)
	}
}

func tell(h hash.Hash, reasons ...Reason) {
	for _, r := range reasons {
		fmt.Fprintln(h, r)
	}
}

// spelled is a book rule by rule, with the index of each.
func spelled(b *Book) []string {
	var all []string
	for _, r := range slices.Concat(b.Rules, b.Doses, b.Advices) {
		all = append(all, fmt.Sprintf("%s: %s %s, %s", r.At, r.Effect, r.ID, r.When.Key()))
	}
	return all
}

// TestRedraftUsesAgainWhatIsTheSame: only what a change can reach is read anew.
func TestRedraftUsesAgainWhatIsTheSame(t *testing.T) {
	e := embeddedEdition(t)
	redrafted := func(what string) *Edition {
		i := slices.IndexFunc(edits, func(c edit) bool { return c.what == what })
		next, err := e.Redraft(edits[i].apply(rand.New(rand.NewPCG(1, 1)), e.files))
		require.NoError(t, err)
		return next
	}
	whens, texts, rules := map[*predicate.Node]bool{}, map[*language.Sentence]bool{}, map[*Rule]bool{}
	for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses, e.Book.Advices) { // those of the same words share them
		whens[r.When], texts[r.Because], rules[r] = true, true, true
	}
	shared := func(next *Edition) (n int) {
		for _, r := range next.Book.Rules {
			require.False(t, rules[r], "a rule has its place in its own edition")
			if whens[r.When] && texts[r.Because] {
				n++
			}
		}
		return n
	}

	next := redrafted("a rule more")
	require.Same(t, e.Catalogue, next.Catalogue)
	require.Same(t, e.Frame, next.Frame)
	require.Same(t, e.NoLift, next.NoLift)
	require.Equal(t, len(e.Book.Rules), shared(next))

	next = redrafted("a margin")
	require.Same(t, e.Catalogue, next.Catalogue)
	require.Same(t, e.NoLift, next.NoLift)
	require.NotSame(t, e.Frame, next.Frame)
	require.Zero(t, shared(next), "conditions of another frame")

	next = redrafted("a rung more")
	require.Same(t, e.Catalogue, next.Catalogue)
	require.NotSame(t, e.NoLift, next.NoLift, "the places of rungs are tags")
	require.Zero(t, shared(next))

	next = redrafted("a drill more")
	require.NotSame(t, e.Catalogue, next.Catalogue)
	require.Zero(t, shared(next))
}

// TestRedraftOverAGivenCatalogue keeps it, whatever words and drills the files hold.
func TestRedraftOverAGivenCatalogue(t *testing.T) {
	snap := random.Catalogue(3, 60)
	draft := benchSize{60, 40}.book()
	e, err := ReadOn(snap, draft, bookFiles)
	require.NoError(t, err)
	edited := append(random.Raised(draft), authored.File{Name: "words.yaml", Data: []byte("vocabulary: {regions: []}\n")})
	warm, err := e.Redraft(edited)
	require.NoError(t, err)
	cold, err := ReadOn(snap, edited, bookFiles)
	require.NoError(t, err)
	require.Same(t, snap, warm.Catalogue)
	require.Equal(t, cold.Revision, warm.Revision)
	require.Equal(t, answers(cold), answers(warm))
	require.NotEqual(t, e.Revision, warm.Revision)
}

// TestFilesAreTheEditionsOwn: writing over what was read changes nothing, and is seen as an edit.
func TestFilesAreTheEditionsOwn(t *testing.T) {
	files := EmbeddedFiles()
	e, err := Read(files)
	require.NoError(t, err)
	for i := range files {
		if strings.HasSuffix(files[i].Name, "/bars.yaml") {
			copy(files[i].Data[bytes.Index(files[i].Data, []byte("client.kit)")):], "client.kut)")
		}
	}
	_, err = e.Redraft(files)
	require.ErrorContains(t, err, `unknown path "client.kut"`)
}
