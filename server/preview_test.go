package server

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
	"drillwright/server/text"
	"drillwright/testdata/clients"
)

var update = flag.Bool("update", false, "write the goldens of testdata/preview anew")

var digests = regexp.MustCompile(`[0-9a-f]{32}`)

// TestPreviews: testdata/preview holds edits of the built-in edition, clients, and the whole page that a coach reads.
func TestPreviews(t *testing.T) {
	if testing.Short() {
		t.Skip("asks every sample client many times over")
	}
	paths, err := filepath.Glob("../testdata/preview/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	base := embedded()
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			a, err := txtar.ParseFile(path)
			require.NoError(t, err)
			edits := slices.DeleteFunc(slices.Clone(a.Files), func(f txtar.File) bool { return f.Name == "want" })
			_, names, _ := strings.Cut(string(a.Comment), "clients: ")
			v, err := preview(t.Context(), base, edited(t, base, edits), samplesNamed(t, strings.Fields(names)...))
			require.NoError(t, err)
			page := &text.Page{}
			page.Preview(v, "drillwright book publish …")
			got := digests.ReplaceAllString(page.String(), "DIGEST")
			if *update {
				a.Files = append(edits, txtar.File{Name: "want", Data: []byte(got)})
				require.NoError(t, os.WriteFile(path, txtar.Format(a), 0o644))
				return
			}
			require.Equal(t, string(a.Files[len(a.Files)-1].Data), got)
		})
	}
}

// edited is the built-in edition with edits: of each file, lines that begin with - stand there, together and once, and
// those that begin with + take their place. A file that isn't there is made.
func edited(t *testing.T, base *rules.Edition, edits []txtar.File) *rules.Edition {
	files := rules.EmbeddedFiles()
	for _, e := range edits {
		var before, after strings.Builder
		for _, line := range strings.SplitAfter(string(e.Data), "\n") {
			if rest, ok := strings.CutPrefix(line, "-"); ok {
				before.WriteString(rest)
			} else if rest, ok := strings.CutPrefix(line, "+"); ok {
				after.WriteString(rest)
			}
		}
		at := slices.IndexFunc(files, func(f authored.File) bool { return f.Name == e.Name })
		if at < 0 {
			files = append(files, authored.File{Name: e.Name, Data: []byte(after.String())})
			continue
		}
		had := string(files[at].Data)
		require.Equal(t, 1, strings.Count(had, before.String()), "the lines of %s", e.Name)
		files[at].Data = []byte(strings.Replace(had, before.String(), after.String(), 1))
	}
	// The cases are the base's: those that speak of what is gone would be mistakes of this draft; so they fail in the preview.
	files = slices.DeleteFunc(files, func(f authored.File) bool { return strings.HasPrefix(f.Name, "rules/book/cases") })
	e, err := base.Redraft(files)
	require.NoError(t, err)
	return e
}

// samplesNamed are some of the program's clients and no others.
func samplesNamed(t *testing.T, names ...string) *v1.Samples {
	s := &v1.Samples{OnlyThese: true}
	for _, f := range clients.Files() {
		name := strings.TrimSuffix(filepath.Base(f.Name), ".yaml")
		if slices.Contains(names, name) {
			c, err := clientfile.Read(f)
			require.NoError(t, err)
			s.Clients = append(s.Clients, c.Sample(name))
		}
	}
	require.Len(t, s.Clients, len(names))
	return s
}

func threshold(t *testing.T, base *rules.Edition) *rules.Edition {
	return edited(t, base,
		[]txtar.File{{Name: "rules/book/bars.yaml", Data: []byte("- > client.range[#] + client.margin[#])\"\n+ > client.range[#])\"\n")}})
}

func TestPreviewOfTheSameChangesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("asks every sample client many times over")
	}
	base := embedded()
	again, err := rules.Embedded()
	require.NoError(t, err)
	v, err := preview(t.Context(), base, again, nil)
	require.NoError(t, err)
	require.Empty(t, v.Changes)
	require.Empty(t, v.Parts)
	want := &v1.Churn{Clients: int32(len(clients.Files())), Answers: v.Churn.Answers}
	require.True(t, proto.Equal(want, v.Churn), "%v", v.Churn)
	require.Greater(t, v.Churn.Answers, 2*v.Churn.Clients)
}

// TestPreviewAgreesWithTheAnswers: what a preview says of picks, screening and verdicts is what the questions themselves
// answer on both editions.
func TestPreviewAgreesWithTheAnswers(t *testing.T) {
	if testing.Short() {
		t.Skip("asks every sample client many times over")
	}
	base := embedded()
	draft := threshold(t, base)
	v, err := preview(t.Context(), base, draft, nil)
	require.NoError(t, err)
	changes := map[string]*v1.AnswerChange{}
	for _, c := range v.Changes {
		kind, _, _ := strings.Cut(c.Question, " ")
		if kind == "substitute" {
			kind = c.Question
		}
		changes[c.Client+" "+kind] = c
	}
	lift := func(e *rules.Edition, q *client.Request, id string) []string {
		of := *q
		of.Lift = id
		a, err := selection.Substitute(e, &of, selection.Options{Limit: 1, Brief: true})
		require.NoError(t, err)
		var ids []string
		for _, c := range a.Substitutes {
			ids = append(ids, c.Drill.ID)
		}
		return ids
	}
	session := func(e *rules.Edition, q *client.Request) []string {
		a, err := selection.Select(e, q, "", selection.Options{Brief: true})
		require.NoError(t, err)
		var ids []string
		for _, d := range a.Drills {
			ids = append(ids, d.Drill.ID)
		}
		return ids
	}
	samples, err := samplesFrom(base.Frame, draft.Frame, nil)
	require.NoError(t, err)
	for i, sample := range samples {
		if i%4 != 0 {
			continue // each takes a while
		}
		for _, goal := range sample.Request.Profile.GoalLifts {
			agreesOn(t, changes[sample.Name+" substitute "+goal], lift(base, sample.Request, goal), lift(draft, sample.Request, goal))
		}
		agreesOn(t, changes[sample.Name+" select"], session(base, sample.Request), session(draft, sample.Request))
		if i%16 == 0 && len(sample.Request.Profile.GoalLifts) > 0 {
			goal := sample.Request.Profile.GoalLifts[0]
			of := *sample.Request
			of.Lift = goal
			verdictsAgree(t, changes[sample.Name+" substitute "+goal], base, draft, &of)
		}
	}
}

func agreesOn(t *testing.T, c *v1.AnswerChange, before, after []string) {
	if slices.Equal(before, after) {
		assert.Nil(t, c.GetFirstPick())
		return
	}
	require.NotNil(t, c.GetFirstPick())
	assert.Equal(t, before, c.FirstPick.Before)
	assert.Equal(t, after, c.FirstPick.After)
}

func verdictsAgree(t *testing.T, c *v1.AnswerChange, base, draft *rules.Edition, q *client.Request) {
	changed := 0
	for _, d := range base.Catalogue.Drills {
		before, err := selection.Explain(base, q, d.ID)
		require.NoError(t, err)
		after, err := selection.Explain(draft, q, d.ID)
		require.NoError(t, err)
		if d.Sides != catalog.OneSide {
			if before.Verdict != after.Verdict {
				changed++
			}
			continue
		}
		for side := range before.Sides {
			if before.Sides[side].Verdict != after.Sides[side].Verdict {
				changed++
			}
		}
	}
	assert.Equal(t, int32(changed), c.GetVerdictsChanged())
}

func TestOrderIsNoneOfThePreviewsBusiness(t *testing.T) {
	if testing.Short() {
		t.Skip("asks every sample client many times over")
	}
	base := embedded()
	draft := threshold(t, base)
	samples := samplesNamed(t, "kneecaps", "left-shoulder-press", "hip-osteoarthritis", "heel-pain")
	want, err := preview(t.Context(), base, draft, samples)
	require.NoError(t, err)
	files := draftFiles(t, "rules/book/bars.yaml", " > client.range[#] + client.margin[#])\"", " > client.range[#])\"")
	random := rand.New(rand.NewPCG(1, 2))
	for range 3 {
		random.Shuffle(len(files), func(i, j int) { files[i], files[j] = files[j], files[i] })
		random.Shuffle(len(samples.Clients), func(i, j int) {
			samples.Clients[i], samples.Clients[j] = samples.Clients[j], samples.Clients[i]
		})
		shuffled, err := rules.Read(files)
		require.NoError(t, err)
		got, err := preview(t.Context(), base, shuffled, samples)
		require.NoError(t, err)
		require.True(t, proto.Equal(want, got))
	}
}

// draftFiles are those of the built-in edition with one text replaced.
func draftFiles(t *testing.T, name, before, after string) []authored.File {
	files := rules.EmbeddedFiles()
	at := slices.IndexFunc(files, func(f authored.File) bool { return f.Name == name })
	require.Contains(t, string(files[at].Data), before)
	files[at].Data = []byte(strings.Replace(string(files[at].Data), before, after, 1))
	return files
}

func TestPreviewDigestStandsForAllOfIt(t *testing.T) {
	if testing.Short() {
		t.Skip("asks every sample client many times over")
	}
	base := embedded()
	draft := threshold(t, base)
	seen := map[string]string{}
	digest := func(what string, base, draft *rules.Edition, samples *v1.Samples) {
		v, err := preview(t.Context(), base, draft, samples)
		require.NoError(t, err)
		require.Empty(t, seen[v.Digest], "%s has the digest of another", what)
		seen[v.Digest] = what
	}
	comment, err := rules.Read(draftFiles(t, "rules/book/bars.yaml", "rules:", "# A comment.\nrules:"))
	require.NoError(t, err)
	some := func() *v1.Samples { return samplesNamed(t, "kneecaps", "heel-pain") }
	digest("the preview", base, draft, some())
	digest("the way back", draft, base, some())
	digest("no edit", base, base, some())
	digest("an edit of a comment", base, comment, some())
	digest("a sample less", base, draft, samplesNamed(t, "kneecaps"))
	renamed := some()
	renamed.Clients[0].Name = "somebody-else"
	digest("another name", base, draft, renamed)
	older := some()
	older.Clients[0].Profile.AgeYears = proto.Int32(54)
	digest("another age", base, draft, older)
	later := some()
	later.Clients[0].AsOf = "2026-11-25"
	digest("another day", base, draft, later)
}

func TestPreviewIsTheSameBytes(t *testing.T) {
	if testing.Short() {
		t.Skip("asks every sample client many times over")
	}
	base := embedded()
	draft, samples := threshold(t, base), samplesNamed(t, "kneecaps", "hip-groin", "left-shoulder-press")
	var first []byte
	for range 3 {
		v, err := preview(t.Context(), base, draft, samples)
		require.NoError(t, err)
		got, err := proto.MarshalOptions{Deterministic: true}.Marshal(v)
		require.NoError(t, err)
		if first == nil {
			first = got
		}
		require.Equal(t, first, got)
	}
}

// TestEverythingClosedFitsAMessage: an edit may close every drill to every client.
func TestEverythingClosedFitsAMessage(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	base := embedded()
	draft := edited(t, base, []txtar.File{{Name: "rules/book/all.yaml", Data: []byte(`+rules:
+  - id: nothing-at-all
+    effect: bar
+    when: "true"
+    because: "Nothing at all today."
+    source: {kind: judged, note: "for trying"}
`)}})
	v, err := preview(t.Context(), base, draft, nil)
	require.NoError(t, err)
	listed := 0
	for _, c := range v.Changes {
		listed += len(c.Verdicts)
		require.LessOrEqual(t, len(c.Verdicts), verdictsOfAnswer)
		for _, verdict := range c.Verdicts {
			require.Equal(t, []string{"nothing-at-all"}, verdict.Rules)
		}
	}
	require.LessOrEqual(t, listed, verdictsOfPreview)
	require.Greater(t, int(v.Churn.VerdictsChanged), listed)
	require.Less(t, proto.Size(v), Limits{}.WithDefaults().Message)
	raw, err := protojson.Marshal(v)
	require.NoError(t, err)
	require.True(t, json.Valid(raw))
}

// TestPreviewOfManyClientsFitsAMessage: those that lose a pick are told before the others, each in its order.
func TestPreviewOfManyClientsFitsAMessage(t *testing.T) {
	session := slices.Repeat([]string{"strap-assisted-single-leg-squat"}, 12)
	p := &selection.Previewed{}
	for i := range 22_000 {
		c := selection.AnswerChange{Client: fmt.Sprintf("client-%04d", i/22), Question: "substitute strap-assisted-single-leg-squat",
			LosesFirstPick: i%50 == 49,
			FirstPick:      &selection.PickChange{Before: session, After: session, Rules: session[:3]}}
		for range 30 {
			c.Verdicts = append(c.Verdicts, selection.VerdictChange{Drill: session[0], Side: "BOTH", Before: rules.Open, After: rules.NotToday,
				Rules: session[:3]})
		}
		p.Changes = append(p.Changes, c)
	}
	v := previewedTo(p)
	require.Less(t, proto.Size(v), Limits{}.WithDefaults().Message)
	require.Len(t, v.Changes, answersOfPreview)
	require.EqualValues(t, 22_000-answersOfPreview, v.ChangesLeftOut)
	losing := 0
	for _, c := range v.Changes {
		if c.LosesFirstPick {
			losing++
		}
	}
	require.Equal(t, 22_000/50, losing)
	require.True(t, slices.IsSortedFunc(v.Changes, func(a, b *v1.AnswerChange) int { return strings.Compare(a.Client, b.Client) }))
	require.Equal(t, "client-0999", v.Changes[len(v.Changes)-1].Client)
}

func TestSamplesOfTheCaller(t *testing.T) {
	frame, all := embedded().Frame, len(clients.Files())
	for name, c := range map[string]struct {
		samples *v1.Samples
		count   int
	}{
		"nothing said":       {nil, all},
		"only these":         {samplesNamed(t, "kneecaps"), 1},
		"none at all":        {&v1.Samples{OnlyThese: true}, 0},
		"the program's":      {&v1.Samples{}, all},
		"in another's place": {&v1.Samples{Clients: samplesNamed(t, "kneecaps").Clients}, all},
		"one more":           {&v1.Samples{Clients: []*v1.SampleClient{{Name: "new", Profile: &v1.Profile{}, AsOf: "2026-11-24"}}}, all + 1},
	} {
		list, err := samplesFrom(frame, frame, c.samples)
		require.NoError(t, err, name)
		assert.Len(t, list, c.count, name)
	}

	bad := samplesNamed(t, "kneecaps", "heel-pain")
	bad.Clients[0].Profile.GoalLifts = []string{"no-such-lift"}
	bad.Clients[1].Profile.Kit.Has = []string{"hammock"}
	bad.Clients = append(bad.Clients, &v1.SampleClient{Name: "kneecaps", Profile: &v1.Profile{}, AsOf: "2026-02-30"})
	_, err := samplesFrom(frame, frame, bad)
	var invalid *client.Invalid
	require.ErrorAs(t, err, &invalid)
	var fields []string
	for _, v := range invalid.Violations {
		fields = append(fields, v.Field)
	}
	require.Equal(t, []string{"samples.clients[0].profile.goal_lifts[0]", "samples.clients[1].profile.kit.has[0]",
		"samples.clients[2].name", "samples.clients[2].as_of"}, fields)
}

func TestPreviewEndsWithItsContext(t *testing.T) {
	base := embedded()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := preview(ctx, base, base, nil)
	require.ErrorIs(t, err, context.Canceled)
}
