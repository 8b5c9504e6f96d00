package server

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/internal/postgres"
	"drillwright/server/sqlstore"
)

// ofFormat1 are the files of an edition that says no format.
func ofFormat1(e *rules.Edition) []authored.File {
	return slices.DeleteFunc(slices.Clone(e.Files()), func(f authored.File) bool { return strings.HasSuffix(f.Name, "/about.yaml") })
}

func publishOn(t *testing.T, store *sqlstore.Store, base, revision string, files []authored.File) {
	t.Helper()
	_, _, err := store.Publish(t.Context(), sqlstore.Publish{Base: base, Revision: revision, Files: files, Author: "R. Oar",
		RequestID: revision, RequestDigest: revision})
	require.NoError(t, err)
}

// A store whose live edition is of an older format: no server starts on it, and one does when it is upgraded.
func TestUpgradeOfAStore(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	t.Run("sqlite", func(t *testing.T) { upgradeOfAStore(t, filepath.Join(t.TempDir(), "editions.db")) })
	t.Run("postgres", func(t *testing.T) { upgradeOfAStore(t, postgres.EmptySchema(t, postgres.URL(t))) })
}

func upgradeOfAStore(t *testing.T, url string) {
	ctx, c := t.Context(), &clock{}
	store, err := sqlstore.Open(ctx, sqlstore.Config{URL: url, Now: c.now})
	require.NoError(t, err)
	t.Cleanup(func() { store.Close() })
	_, err = PlanUpgrade(ctx, store, nil)
	require.ErrorIs(t, err, sqlstore.ErrEmpty)

	files := append(ofFormat1(caseless()), authored.File{Name: "rules/club.yaml", Data: []byte("rules: [] # our own\n")})
	publishOn(t, store, "", "first", []authored.File{{Name: "first.yaml", Data: []byte("rules: []\n")}})
	publishOn(t, store, "first", "0ld", files)
	_, err = New(Config{Store: store})
	var old *rules.OldFormat
	require.ErrorAs(t, err, &old)
	require.Equal(t, 1, old.Format)

	plan, err := PlanUpgrade(ctx, store, nil)
	require.NoError(t, err)
	require.Contains(t, plan.Old.Added, "rules/book/about.yaml")
	require.Empty(t, plan.Failed)
	signed := Signed{Base: "0ld", Digest: plan.Digest, Author: "R. Oar", Note: "The new program", RequestID: "1"}
	for says, by := range map[string]Signed{
		"isn't that of this upgrade": {Base: "0ld", Digest: "x", Author: "R. Oar", RequestID: "2"},
		`base "else" isn't live`:     {Base: "else", Digest: plan.Digest, Author: "R. Oar", RequestID: "3"},
		"author is missing":          {Base: "0ld", Digest: plan.Digest, RequestID: "4"},
	} {
		_, err = plan.Publish(ctx, store, by)
		require.ErrorContains(t, err, says)
	}
	r, err := plan.Publish(ctx, store, signed)
	require.NoError(t, err)
	require.EqualValues(t, 1, r.UpgradedFromFormat)
	require.Equal(t, "0ld", r.BaseRevision)
	_, err = PlanUpgrade(ctx, store, nil)
	require.ErrorIs(t, err, ErrNothingToUpgrade)

	ed := another(t, store, c)
	ed.serves(r.Revision)
	history, err := ed.ListRevisions(ctx, &v1.ListRevisionsRequest{})
	require.NoError(t, err)
	require.EqualValues(t, 1, history.Revisions[0].UpgradedFromFormat)
	require.Contains(t, history.Revisions[1].Unreadable, "it is of format 1, and this program reads format 3")
	_, err = ed.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Restore: "0ld"})
	refuses(t, err, codes.FailedPrecondition, "OLD_FORMAT")
	require.ErrorContains(t, err, `revision "0ld" is of format 1, and this program reads format 3: copy it`)
	had, err := ed.GetRulebook(ctx, &v1.GetRulebookRequest{Revision: "0ld"})
	require.NoError(t, err)
	require.Len(t, had.Files, len(files))
	compared, err := ed.CompareRevisions(ctx, &v1.CompareRevisionsRequest{From: "0ld", To: r.Revision})
	require.NoError(t, err)
	require.NotEmpty(t, compared.Parts)
	_, err = ed.WithdrawRevision(ctx, &v1.WithdrawRevisionRequest{Revision: r.Revision, BaseRevision: r.Revision, RequestId: "5",
		Author: "R. Oar", Note: "why"})
	refuses(t, err, codes.FailedPrecondition, "NOTHING_LEFT")
	ed.serves(r.Revision)
}

// An edition of an older format that goes live under a running server, from an earlier program, is met as any that can't be read.
func TestFollowerMeetsAnOldFormat(t *testing.T) {
	ed := newEditor(t)
	publishOn(t, ed.store, caseless().Revision, "0ld", ofFormat1(caseless()))
	err := ed.server.follower.poll(context.Background())
	var old *rules.OldFormat
	require.ErrorAs(t, err, &old)
	ed.serves(caseless().Revision)
	_, adopted, _ := ed.server.storeState()
	require.False(t, adopted)
	history, err := ed.ListRevisions(context.Background(), &v1.ListRevisionsRequest{})
	require.NoError(t, err)
	require.Contains(t, history.Revisions[0].Unreadable, "of format 1")
	require.Contains(t, ed.log.String(), "what is live can't be adopted; the last good edition is served on")
}

// What somebody must decide is decided in a folder; that is published in the index of what is live.
func TestUpgradeThatSomebodyDecides(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	store := openStore(t, &clock{})
	ours := authored.File{Name: "rules/club.yaml",
		Data: []byte("vocabulary:\n  muscles:\n    - {id: oar_muscle, name: oar muscle, region: shoulder, latin: x}\n")}
	files := ofFormat1(caseless())
	i := slices.IndexFunc(files, func(f authored.File) bool { return strings.HasSuffix(f.Name, "/adjust.yaml") })
	bad := slices.Clone(files)
	bad[i].Data = []byte("rules:\n  - {id: ours, effect: caution, when: \"drill.loads\", because: \"Rests.\"}\n")
	publishOn(t, store, "", "first", files)
	publishOn(t, store, "first", "0ld", bad)
	plan, err := PlanUpgrade(t.Context(), store, nil)
	require.NoError(t, err)
	require.Nil(t, plan.Next)
	_, left := plan.Old.Counts()
	require.Positive(t, left)
	_, err = plan.Publish(t.Context(), store, Signed{Base: "0ld", Author: "R. Oar", RequestID: "1"})
	require.ErrorContains(t, err, "somebody must decide")

	_, err = PlanUpgrade(t.Context(), store, []authored.File{ours})
	require.Error(t, err, "half an edition")
	decided, err := PlanUpgrade(t.Context(), store, caseless().Files())
	require.NoError(t, err)
	require.Equal(t, caseless().Revision, decided.Next.Revision)
}
