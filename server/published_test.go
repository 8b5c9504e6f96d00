package server

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/sqlstore"
)

// caseless is the built-in edition without its cases, which every preview and every publication would run.
var caseless = sync.OnceValue(func() *rules.Edition {
	files := embedded().Files()
	for i, f := range files {
		if strings.Contains(f.Name, "/cases") {
			files[i].Data = []byte("cases: []\n")
		}
	}
	e, err := embedded().Redraft(files)
	if err != nil {
		panic(err)
	}
	return e
})

// editor is a coach at a server that has a store.
type editor struct {
	*testing.T
	v1.RulebookServiceClient
	asks   v1.SelectionServiceClient
	server *Server
	store  *sqlstore.Store
	clock  *clock
	log    *bytes.Buffer
}

type clock struct{ at atomic.Int64 }

func (c *clock) now() time.Time       { return time.Unix(c.at.Load(), 0).UTC() }
func (c *clock) pass(d time.Duration) { c.at.Add(int64(d / time.Second)) }
func openStore(t *testing.T, c *clock) *sqlstore.Store {
	store, err := sqlstore.Open(context.Background(), sqlstore.Config{URL: filepath.Join(t.TempDir(), "editions.db"), Now: c.now})
	require.NoError(t, err)
	t.Cleanup(func() { store.Close() })
	return store
}

func newEditor(t *testing.T) *editor {
	c := &clock{}
	c.at.Store(1795860000)
	return another(t, openStore(t, c), c)
}

// another is one more server on a store. It polls only when told.
func another(t *testing.T, store *sqlstore.Store, c *clock) *editor {
	t.Helper()
	ed := &editor{T: t, store: store, clock: c, log: &bytes.Buffer{}}
	config := Config{Edition: caseless(), Store: store, Now: c.now, Log: slog.New(slog.NewTextHandler(ed.log, nil)), CheckShare: -1}
	if *inChild {
		config.Authors = (&processes{does: "authors"}).command
	}
	var err error
	ed.server, err = New(config)
	require.NoError(t, err)
	conn, stop, err := ed.server.Local()
	require.NoError(t, err)
	t.Cleanup(stop)
	ed.RulebookServiceClient, ed.asks = v1.NewRulebookServiceClient(conn), v1.NewSelectionServiceClient(conn)
	return ed
}

// draft is what is live with one text replaced, which must stand in it.
func (ed *editor) draft(from, to string) *v1.Draft {
	ed.Helper()
	live, err := ed.GetRulebook(context.Background(), &v1.GetRulebookRequest{})
	require.NoError(ed, err)
	d, done := &v1.Draft{BaseRevision: live.Revision}, false
	for _, f := range live.Files {
		if !done && strings.Contains(f.Text, from) {
			f.Text, done = strings.Replace(f.Text, from, to, 1), true
		}
		d.Files = append(d.Files, f)
	}
	require.True(ed, done, "nothing reads %q", from)
	return d
}

// few are the samples of these tests: the outcome is not their subject.
func few(t testing.TB) *v1.Samples {
	c := sample(t)
	return &v1.Samples{OnlyThese: true, Clients: []*v1.SampleClient{{Name: "left-shoulder-press", Profile: c.Profile, Complaints: c.Complaints,
		AsOf: c.AsOf}}}
}

// request previews a draft and makes the request to publish it.
func (ed *editor) request(d *v1.Draft, id string) *v1.PublishRulebookRequest {
	ed.Helper()
	seen, err := ed.PreviewRulebook(context.Background(), &v1.PreviewRulebookRequest{Draft: d, Samples: few(ed)})
	require.NoError(ed, err)
	return &v1.PublishRulebookRequest{Draft: d, PreviewDigest: seen.Preview.Digest, Samples: few(ed), RequestId: id, Author: "R. Oar",
		Note: "as agreed"}
}

func (ed *editor) publish(d *v1.Draft, id string) *v1.Revision {
	ed.Helper()
	r, err := ed.PublishRulebook(context.Background(), ed.request(d, id))
	require.NoError(ed, err)
	return r.Revision
}

// live is the revision that answers.
func (ed *editor) live(pin string) (string, error) {
	ctx, c, trailer := context.Background(), sample(ed), metadata.MD{}
	if pin != "" {
		ctx = metadata.AppendToOutgoingContext(ctx, revisionKey, pin)
	}
	_, err := ed.asks.Screen(ctx, &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf}, grpc.Trailer(&trailer))
	return strings.Join(trailer[revisionKey], ","), err
}

func (ed *editor) serves(revision string) {
	ed.Helper()
	got, err := ed.live("")
	require.NoError(ed, err)
	require.Equal(ed, revision, got)
}

// refuses holds an error against its code and its reason.
func refuses(t *testing.T, err error, code codes.Code, reason string) *status.Status {
	t.Helper()
	st := status.Convert(err)
	require.Equal(t, code, st.Code(), st.Message())
	for _, d := range st.Details() {
		if info, ok := d.(*errdetails.ErrorInfo); ok {
			require.Equal(t, reason, info.Reason, st.Message())
			return st
		}
	}
	t.Fatalf("no reason: %v", st)
	return nil
}

func TestPublishTakesBackAndForth(t *testing.T) {
	ed, ctx := newEditor(t), context.Background()
	first := caseless().Revision
	ed.serves(first)

	second := ed.publish(ed.draft("rules:\n", "rules:\n  # an edit\n"), "p1")
	require.Equal(t, first, second.BaseRevision)
	require.True(t, second.Live)
	ed.serves(second.Revision)

	third := ed.publish(ed.draft("rules:\n", "rules:\n  # another edit\n"), "p2")
	history, err := ed.ListRevisions(ctx, &v1.ListRevisionsRequest{PageSize: 2})
	require.NoError(t, err)
	require.Equal(t, []string{third.Revision, second.Revision}, each(history.Revisions, (*v1.Revision).GetRevision))
	require.Equal(t, "R. Oar: as agreed", history.Revisions[0].Author+": "+history.Revisions[0].Note)
	rest, err := ed.ListRevisions(ctx, &v1.ListRevisionsRequest{PageSize: 2, PageToken: history.NextPageToken})
	require.NoError(t, err)
	require.Equal(t, []string{first}, each(rest.Revisions, (*v1.Revision).GetRevision))
	require.Empty(t, rest.NextPageToken)
	for _, token := range []string{"2", tokenAt(2, "another list")} {
		_, err = ed.ListRevisions(ctx, &v1.ListRevisionsRequest{PageToken: token})
		refuses(t, err, codes.InvalidArgument, "INVALID_REQUEST")
	}

	seen, err := ed.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Restore: second.Revision, Samples: few(t)})
	require.NoError(t, err)
	restored, err := ed.RestoreRevision(ctx, &v1.RestoreRevisionRequest{Revision: second.Revision, BaseRevision: third.Revision,
		PreviewDigest: seen.Preview.Digest,
		Samples:       few(t), RequestId: "r1", Author: "R. Oar"})
	require.NoError(t, err)
	require.Equal(t, second.Number, restored.Revision.RestoredFrom)
	ed.serves(second.Revision)

	pinned, err := ed.live(third.Revision)
	require.NoError(t, err)
	require.Equal(t, third.Revision, pinned)

	back, err := ed.WithdrawRevision(ctx, &v1.WithdrawRevisionRequest{Revision: second.Revision, BaseRevision: second.Revision,
		RequestId: "w1", Author: "R. Oar", Note: "a slip"})
	require.NoError(t, err)
	require.Equal(t, third.Revision, back.Live.Revision)
	require.Equal(t, "a slip", back.Withdrawn.Withdrawn.Note)
	ed.serves(third.Revision)
	_, err = ed.live(second.Revision)
	refuses(t, err, codes.FailedPrecondition, "REVISION_NOT_KEPT")
	_, err = ed.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Restore: second.Revision})
	refuses(t, err, codes.FailedPrecondition, "WITHDRAWN")
}

func TestPublishRefuses(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	ed, ctx := newEditor(t), context.Background()
	good := ed.request(ed.draft("rules:\n", "rules:\n  # an edit\n"), "p1")
	with := func(change func(*v1.PublishRulebookRequest)) error {
		req := proto.CloneOf(good)
		change(req)
		_, err := ed.PublishRulebook(ctx, req)
		return err
	}
	refuses(t, with(func(r *v1.PublishRulebookRequest) { r.Draft.BaseRevision = "" }), codes.InvalidArgument, "INVALID_REQUEST")
	refuses(t, with(func(r *v1.PublishRulebookRequest) { r.PreviewDigest = "0" }), codes.FailedPrecondition, "NOT_PREVIEWED")
	refuses(t, with(func(r *v1.PublishRulebookRequest) { r.Draft.Files[0].Text += "\nrulez: []\n" }), codes.InvalidArgument, "INVALID_DRAFT")
	refuses(t, with(func(r *v1.PublishRulebookRequest) { r.Draft.Files = r.Draft.Files[:0] }), codes.FailedPrecondition, "NOTHING_CHANGES")
	nameless := refuses(t, with(func(r *v1.PublishRulebookRequest) { r.Draft.Files[0].Name = "a\nb" }), codes.InvalidArgument,
		"INVALID_REQUEST")
	require.Contains(t, nameless.Message(), "is no name of a file")
	refuses(t, with(func(r *v1.PublishRulebookRequest) { r.Author = "R.\x00 Oar" }), codes.InvalidArgument, "INVALID_REQUEST")
	stale := refuses(t, with(func(r *v1.PublishRulebookRequest) { r.Draft.BaseRevision = "feed" }), codes.Aborted, "STALE_BASE")
	require.Contains(t, stale.Message(), caseless().Revision)
	require.NoError(t, with(func(r *v1.PublishRulebookRequest) { r.ValidateOnly = true }))
	ed.serves(caseless().Revision)

	first, err := ed.PublishRulebook(ctx, good)
	require.NoError(t, err)
	again, err := ed.PublishRulebook(ctx, good)
	require.NoError(t, err, "the same request again is harmless")
	require.True(t, proto.Equal(first, again), "%v\n%v", first, again)
	refuses(t, with(func(r *v1.PublishRulebookRequest) { r.Note = "another" }), codes.AlreadyExists, "REQUEST_ID_REUSED")
	refuses(t, with(func(r *v1.PublishRulebookRequest) { r.RequestId = "p2" }), codes.Aborted, "STALE_BASE")
	_, err = ed.GetRulebook(ctx, &v1.GetRulebookRequest{Revision: "feed"})
	refuses(t, err, codes.NotFound, "UNKNOWN_REVISION")
}

func TestNothingIsPublishedWithoutStore(t *testing.T) {
	s, err := New(Config{Edition: caseless()})
	require.NoError(t, err)
	conn, stop, err := s.Local()
	require.NoError(t, err)
	defer stop()
	_, err = v1.NewRulebookServiceClient(conn).ListRevisions(context.Background(), &v1.ListRevisionsRequest{})
	refuses(t, err, codes.FailedPrecondition, "NO_STORE")
}

func TestReplicasFollowAtTheNextPoll(t *testing.T) {
	one := newEditor(t)
	two := another(t, one.store, one.clock)
	second := one.publish(one.draft("rules:\n", "rules:\n  # an edit\n"), "p1")
	one.serves(second.Revision)
	two.serves(caseless().Revision)
	require.NoError(t, two.server.follower.poll(context.Background()))
	two.serves(second.Revision)

	_, err := one.WithdrawRevision(context.Background(), &v1.WithdrawRevisionRequest{Revision: second.Revision, BaseRevision: second.Revision,
		RequestId: "w1", Author: "R. Oar", Note: "a slip"})
	require.NoError(t, err)
	two.serves(second.Revision)
	require.NoError(t, two.server.follower.poll(context.Background()))
	two.serves(caseless().Revision)
	_, err = two.live(second.Revision)
	refuses(t, err, codes.FailedPrecondition, "REVISION_NOT_KEPT")
}

func TestStoreAway(t *testing.T) {
	ed := newEditor(t)
	health := func(name string) grpc_health_v1.HealthCheckResponse_ServingStatus {
		r, err := ed.server.health.Check(context.Background(), &grpc_health_v1.HealthCheckRequest{Service: name})
		require.NoError(t, err)
		return r.Status
	}
	const up, down = grpc_health_v1.HealthCheckResponse_SERVING, grpc_health_v1.HealthCheckResponse_NOT_SERVING
	require.NoError(t, ed.store.Close())
	require.Error(t, ed.server.follower.poll(context.Background()))
	require.Equal(t, up, health(""))
	require.Equal(t, down, health(storeHealth))
	ed.serves(caseless().Revision)
	_, err := ed.ListRevisions(context.Background(), &v1.ListRevisionsRequest{})
	refuses(t, err, codes.Unavailable, "STORE_UNAVAILABLE")

	ed.clock.pass(16 * time.Minute)
	require.Error(t, ed.server.follower.poll(context.Background()))
	require.Equal(t, down, health(""))
	_, err = ed.live("")
	refuses(t, err, codes.Unavailable, "STALE_STORE")
	require.Equal(t, 1, strings.Count(ed.log.String(), "can't be reached"), "said once")

	ed.server.follower.store = openStore(t, ed.clock) // it is back, and empty: nothing to follow, and nothing to take back
	require.ErrorIs(t, ed.server.follower.poll(context.Background()), sqlstore.ErrEmpty)
}

func TestUnreadableRevisions(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	c := &clock{}
	store := openStore(t, c)
	ctx := context.Background()
	put := func(base, revision string, files []authored.File) {
		_, _, err := store.Publish(ctx, sqlstore.Publish{Base: base, Revision: revision, Files: files, Author: "R. Oar", RequestID: revision,
			RequestDigest: revision})
		require.NoError(t, err)
	}
	put("", "01d", []authored.File{{Name: "old.yaml", Data: []byte("blocks: {}\nrulez: []\n")}})
	put("01d", caseless().Revision, caseless().Files())
	ed := another(t, store, c)
	history, err := ed.ListRevisions(ctx, &v1.ListRevisionsRequest{})
	require.NoError(t, err)
	require.Empty(t, history.Revisions[0].Unreadable)
	require.Contains(t, history.Revisions[1].Unreadable, "of format 1")
	_, err = ed.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Restore: "01d"})
	refuses(t, err, codes.FailedPrecondition, "OLD_FORMAT")

	put(caseless().Revision, "bad", []authored.File{{Name: "new.yaml", Data: []byte("rulez: []\n")}})
	require.Error(t, ed.server.follower.poll(ctx))
	ed.serves(caseless().Revision) // the last good one is served on
	_, err = New(Config{Store: store})
	require.ErrorContains(t, err, "bad")
}

// A byte of the store's file is damaged, in a text that only an old revision has, and the name of another in its event: the history
// names both, and the server starts.
func TestDamagedRevisionIsNamed(t *testing.T) {
	c, ctx, path := &clock{}, context.Background(), filepath.Join(t.TempDir(), "editions.db")
	store, err := sqlstore.Open(ctx, sqlstore.Config{URL: path, Now: c.now})
	require.NoError(t, err)
	damaged := append(caseless().Files(), authored.File{Name: "own.yaml", Data: []byte("# the text of the old one\nrules: []\n")})
	for i, put := range []sqlstore.Publish{{Revision: "01d", Files: damaged}, {Revision: "02d", Files: damaged, Base: "01d"},
		{Revision: caseless().Revision, Files: caseless().Files(), Base: "02d"}} {
		put.Author, put.RequestID, put.RequestDigest = "R. Oar", fmt.Sprint(i), fmt.Sprint(i)
		_, _, err := store.Publish(ctx, put)
		require.NoError(t, err)
	}
	require.NoError(t, store.Close())
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, 1, bytes.Count(data, []byte("the text of the old one")))
	require.NoError(t, os.WriteFile(path, bytes.Replace(data, []byte("the text of the old one"), []byte("the text of the odd one"), 1), 0o600))

	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.Exec(`update event set revision = '02e' where revision = '02d'`)
	require.NoError(t, err)
	require.NoError(t, db.Close())

	store, err = sqlstore.Open(ctx, sqlstore.Config{URL: path, Now: c.now})
	require.NoError(t, err)
	t.Cleanup(func() { store.Close() })
	ed := another(t, store, c)
	ed.serves(caseless().Revision)
	history, err := ed.ListRevisions(ctx, &v1.ListRevisionsRequest{})
	require.NoError(t, err)
	require.Empty(t, history.Revisions[0].Unreadable)
	require.Contains(t, history.Revisions[1].Unreadable, "its files aren't in the store")
	require.Contains(t, history.Revisions[2].Unreadable, `"own.yaml" is damaged`)
	_, err = ed.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Restore: "01d"})
	require.Contains(t, refuses(t, err, codes.FailedPrecondition, "UNREADABLE").Message(), `"own.yaml" is damaged`)
	_, err = ed.GetRulebook(ctx, &v1.GetRulebookRequest{Revision: "01d"})
	refuses(t, err, codes.FailedPrecondition, "UNREADABLE")
	require.Equal(t, "SERVING", ed.health(storeHealth).String())
}

// What Draft.files says of what is inherited and what is removed.
func TestDraftInheritsByTopKey(t *testing.T) {
	base := caseless()
	ofRules := regexp.MustCompile(`(?m)^(rules|cautions):`) // one file has both
	var some, rest []authored.File
	for _, f := range base.Files() {
		if ofRules.Match(f.Data) {
			some = append(some, f)
		} else {
			rest = append(rest, f)
		}
	}
	require.Greater(t, len(some), 5)
	only := slices.IndexFunc(some, func(f authored.File) bool { return strings.HasSuffix(f.Name, "whole_person.yaml") })
	one, err := base.Redraft(some[only : only+1])
	require.NoError(t, err)
	require.ElementsMatch(t, append(rest[:len(rest):len(rest)], some[only]), one.Files())
	all, err := base.Redraft(some)
	require.NoError(t, err)
	require.Equal(t, len(base.Files()), len(all.Files()))
	none, err := base.Redraft([]authored.File{{Name: "none.yaml", Data: []byte("rules: []\ncautions: []\n")}})
	require.NoError(t, err)
	require.Len(t, none.Files(), len(rest)+1)
}

// While one revision after the other goes live, every answer is that of exactly one of them.
func TestNoAnswerMixesRevisions(t *testing.T) {
	ed, ctx, c := newEditor(t), context.Background(), sample(t)
	ask := &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "barbell-overhead-press",
		View: v1.View_REASONS}
	editions := []*rules.Edition{caseless()}
	for i := range 3 {
		files := caseless().Files()
		for k, f := range files {
			if strings.Contains(string(f.Data), "\nsubstitute:") || strings.HasPrefix(string(f.Data), "substitute:") {
				files[k].Data = bytes.Replace(f.Data, []byte("muscles: 25"), fmt.Appendf(nil, "muscles: %d", 30+i), 1)
			}
			if strings.HasSuffix(f.Name, "favours.yaml") {
				files[k].Data = append(bytes.Clone(f.Data), fmt.Sprintf("# %d\n", i)...)
			}
		}
		e, err := caseless().Redraft(files)
		require.NoError(t, err)
		editions = append(editions, e)
	}
	exact := proto.MarshalOptions{Deterministic: true}
	want := map[string][]byte{}
	for _, e := range editions {
		r, err := ed.server.substitute(t.Context(), newServed(e), ask)
		require.NoError(t, err)
		want[e.Revision], err = exact.Marshal(r)
		require.NoError(t, err)
	}
	var asking sync.WaitGroup
	stop, seen := make(chan struct{}), sync.Map{}
	for range 4 {
		asking.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
				}
				r, err := ed.asks.Substitute(ctx, ask)
				if err != nil {
					t.Error(err)
					return
				}
				got, err := exact.Marshal(r)
				if revision := r.Header.Receipt.Revision; err != nil || !bytes.Equal(got, want[revision]) {
					t.Errorf("an answer of %s is not its own", revision)
					return
				}
				seen.Store(r.Header.Receipt.Revision, true)
			}
		})
	}
	base := caseless().Revision
	for i := range 12 {
		next := editions[(i+1)%len(editions)]
		_, _, err := ed.store.Publish(ctx, sqlstore.Publish{Base: base, Revision: next.Revision, Files: next.Files(), Author: "R. Oar",
			RequestID: fmt.Sprint(i), RequestDigest: fmt.Sprint(i)})
		require.NoError(t, err)
		require.NoError(t, ed.server.follower.poll(ctx))
		base = next.Revision
	}
	close(stop)
	asking.Wait()
	for _, e := range editions {
		_, ok := seen.Load(e.Revision)
		require.True(t, ok, "nobody was answered by %s", e.Revision)
	}
}

func TestSinceFindsTheFirstOfTheRow(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	ed, ctx, c := newEditor(t), context.Background(), sample(t)
	changed := ed.publish(ed.draft("This is not a diagnosis", "This is no diagnosis"), "p1")
	same := ed.publish(ed.draft("rules:\n", "rules:\n  # an edit\n"), "p2")
	ed.serves(same.Revision)
	r, err := ed.FindSince(ctx,
		&v1.FindSinceRequest{Question: &v1.FindSinceRequest_Screen{Screen: &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints,
			AsOf: c.AsOf}}})
	require.NoError(t, err)
	require.Equal(t, changed.Revision, r.Since.Revision)
	require.Equal(t, caseless().Revision, r.Before.Revision)
	require.Contains(t, r.Difference.Field, "header.cautions")
}

// TestMistakesOfADraftCarryTheirEdits: as the answer of a check, and as the detail of a refused publication.
func TestMistakesOfADraftCarryTheirEdits(t *testing.T) {
	ed, ctx := newEditor(t), context.Background()
	good := ed.request(ed.draft("rules:\n", "rules:\n  # an edit\n"), "p1")
	bad := &v1.RulebookFile{Name: "mine.yaml",
		Text: "cautions:\n  - id: mine\n    when: \"client.supervised AND true\"\n    text: \"Mind it.\"\n    source: {kind: common_practice}\n"}
	good.Draft.Files = []*v1.RulebookFile{bad}
	check, err := ed.CheckRulebook(ctx, &v1.CheckRulebookRequest{Draft: good.Draft})
	require.NoError(t, err)
	require.Len(t, check.Problems, 1)
	p := check.Problems[0]
	require.Equal(t, []any{"mine.yaml", int32(3), int32(30),
		bad.Text[strings.Index(bad.Text, "    when"):strings.Index(bad.Text, "\n    text")]}, []any{p.File, p.Line, p.Column, p.LineText})
	require.Len(t, p.Edits, 1)
	require.True(t, proto.Equal(&v1.TextEdit{File: "mine.yaml", StartLine: 3, StartColumn: 30, EndLine: 3, EndColumn: 33, NewText: "and"},
		p.Edits[0]), "%v", p.Edits[0])

	_, err = ed.PublishRulebook(ctx, good)
	st := refuses(t, err, codes.InvalidArgument, "INVALID_DRAFT")
	var reported *v1.RulebookProblems
	for _, d := range st.Details() {
		if problems, ok := d.(*v1.RulebookProblems); ok {
			reported = problems
		}
	}
	require.True(t, proto.Equal(&v1.RulebookProblems{Problems: check.Problems}, reported), "%v", reported)
}
