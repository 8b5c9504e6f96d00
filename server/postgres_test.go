package server

import (
	"context"
	"database/sql"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/internal/postgres"
	"drillwright/server/sqlstore"
	"drillwright/server/token"
)

// onPostgres is a server with a store of its own on a PostgreSQL.
func onPostgres(t *testing.T, url string, c *clock) *editor {
	t.Helper()
	store, err := sqlstore.Open(t.Context(), sqlstore.Config{URL: url, Now: c.now})
	require.NoError(t, err)
	t.Cleanup(func() { store.Close() })
	return another(t, store, c)
}

// answer is the bytes of an answer for the example client.
func (ed *editor) answer() []byte {
	ed.Helper()
	c := sample(ed)
	r, err := ed.asks.Substitute(context.Background(), &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf,
		Lift: "barbell-overhead-press"})
	require.NoError(ed, err)
	raw, err := proto.MarshalOptions{Deterministic: true}.Marshal(r)
	require.NoError(ed, err)
	return raw
}

func (ed *editor) health(name string) grpc_health_v1.HealthCheckResponse_ServingStatus {
	ed.Helper()
	r, err := ed.server.health.Check(context.Background(), &grpc_health_v1.HealthCheckRequest{Service: name})
	require.NoError(ed, err)
	return r.Status
}

// TestServersOnOnePostgres: each with a store of its own. What one publishes the other has at its next poll, and of two that
// publish at once over the same base one is told what moved.
func TestServersOnOnePostgres(t *testing.T) {
	c, url := &clock{}, postgres.EmptySchema(t, postgres.URL(t))
	c.at.Store(1795860000)
	one, two := onPostgres(t, url, c), onPostgres(t, url, c)
	first := caseless().Revision
	second := one.publish(one.draft("rules:\n", "rules:\n  # an edit\n"), "p1").Revision
	one.serves(second)
	two.serves(first)
	require.NoError(t, two.server.follower.poll(t.Context()))
	two.serves(second)
	for _, revision := range []string{first, second} { // a canary compares the two
		pinned, err := two.live(revision)
		require.NoError(t, err)
		require.Equal(t, revision, pinned)
	}

	errs := [2]chan error{make(chan error, 1), make(chan error, 1)}
	for i, ed := range []*editor{one, two} {
		req := ed.request(ed.draft("rules:\n", "rules:\n  # an edit of "+[]string{"one", "two"}[i]+"\n"), []string{"q1", "q2"}[i])
		go func() {
			_, err := ed.PublishRulebook(context.Background(), req)
			errs[i] <- err
		}()
	}
	won, lost := <-errs[0], <-errs[1]
	winner, loser := one, two
	if won != nil {
		won, lost, winner, loser = lost, won, two, one
	}
	require.NoError(t, won)
	third, err := winner.live("")
	require.NoError(t, err)
	require.Contains(t, refuses(t, lost, codes.Aborted, "STALE_BASE").Message(), third)
	require.NoError(t, loser.server.follower.poll(t.Context()))
	loser.serves(third)
}

// TestPostgresGoesAwayAndComesBack: while it is away the same answers are given, up to the age that is allowed; when it is back
// the next poll adopts what was published meanwhile, and nobody meets a connection of before.
func TestPostgresGoesAwayAndComesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	const up, down = grpc_health_v1.HealthCheckResponse_SERVING, grpc_health_v1.HealthCheckResponse_NOT_SERVING
	c, url := &clock{}, postgres.EmptySchema(t, postgres.URL(t))
	c.at.Store(1795860000)
	way := postgres.NewProxy(t, url)
	one, other := onPostgres(t, way.URL, c), onPostgres(t, url, c)
	before := one.answer()
	waiting := one.request(one.draft("rules:\n", "rules:\n  # an edit\n"), "p1")

	way.Refuse()
	require.Error(t, one.server.follower.poll(t.Context()))
	require.Equal(t, before, one.answer())
	require.Equal(t, up, one.health(""))
	require.Equal(t, down, one.health(storeHealth))
	age, _ := one.server.follower.state()
	require.Zero(t, age)
	_, err := one.PublishRulebook(t.Context(), waiting)
	require.Contains(t, refuses(t, err, codes.Unavailable, "STORE_UNAVAILABLE").Message(), "store of editions")

	meanwhile := other.publish(other.draft("rules:\n", "rules:\n  # an edit of another\n"), "o1").Revision
	c.pass(14 * time.Minute)
	require.Error(t, one.server.follower.poll(t.Context()))
	require.Equal(t, before, one.answer(), "not older than it may be")
	c.pass(2 * time.Minute)
	require.Error(t, one.server.follower.poll(t.Context()))
	require.Equal(t, down, one.health(""))
	age, _ = one.server.follower.state()
	require.Equal(t, 16*time.Minute, age)
	_, err = one.live("")
	refuses(t, err, codes.Unavailable, "STALE_STORE")

	way.Admit()
	require.NoError(t, one.server.follower.poll(t.Context()))
	one.serves(meanwhile)
	require.Equal(t, up, one.health(""))
	require.Equal(t, up, one.health(storeHealth))
	_, err = one.PublishRulebook(t.Context(), waiting)
	refuses(t, err, codes.Aborted, "STALE_BASE")

	// Every connection is cut and new ones are taken, as when PostgreSQL starts again: an author notices nothing.
	for i := range 3 {
		way.Cut()
		latest := one.publish(one.draft("rules:\n", "rules:\n  # once more\n"), string(rune('a'+i))).Revision
		way.Cut()
		require.NoError(t, one.server.follower.poll(t.Context()))
		one.serves(latest)
	}
}

// A store that can be read and not written says so to the coach, in the log and by its health, until it takes something again.
func TestStoreThatCannotBeWrittenSaysWhy(t *testing.T) {
	c := &clock{}
	c.at.Store(1795860000)
	target := postgres.EmptySchema(t, postgres.URL(t))
	ed := onPostgres(t, target, c)
	request := ed.request(ed.draft("rules:\n", "rules:\n  # an edit\n"), "p1")
	db, err := sql.Open("pgx", target)
	require.NoError(t, err)
	defer db.Close()
	alter := func(how string) {
		_, err := db.Exec(how)
		require.NoError(t, err)
	}
	alter(`create function refuse() returns trigger language plpgsql as
		'begin raise exception ''cannot execute UPDATE in a read-only transaction'' using errcode = ''25006''; end'`)
	alter(`create trigger refuse before update on head for each statement execute function refuse()`)
	for range 2 {
		_, err := ed.PublishRulebook(t.Context(), request)
		require.Contains(t, refuses(t, err, codes.Unavailable, "STORE_READ_ONLY").Message(), "the store of editions is read-only")
		require.NoError(t, ed.server.follower.poll(t.Context()))
		require.Equal(t, "NOT_SERVING", ed.health(storeHealth).String())
		require.Equal(t, "SERVING", ed.health("").String())
	}
	require.Equal(t, 1, strings.Count(ed.log.String(), "the store is read-only"))
	require.Contains(t, ed.log.String(), "in a read-only transaction (SQLSTATE 25006)")
	alter(`drop trigger refuse on head`)
	require.NoError(t, ed.server.follower.poll(t.Context()))
	require.Equal(t, "SERVING", ed.health(storeHealth).String())
	require.Contains(t, ed.log.String(), "takes what is written again")

	alter(`create function fill() returns trigger language plpgsql as
		'begin raise exception ''could not extend file'' using errcode = ''53100''; end'`)
	alter(`create trigger fill before insert on file for each statement execute function fill()`)
	_, err = ed.PublishRulebook(t.Context(), request)
	require.Contains(t, refuses(t, err, codes.Unavailable, "STORE_FULL").Message(), "has no room left on its disk")
	require.NoError(t, ed.server.follower.poll(t.Context()))
	require.Equal(t, "NOT_SERVING", ed.health(storeHealth).String())
	alter(`drop trigger fill on file`)
	_, err = ed.PublishRulebook(t.Context(), request)
	require.NoError(t, err)
	require.Equal(t, "SERVING", ed.health(storeHealth).String())
}

// Servers that share a store share its tokens.
func TestTokensOnOnePostgres(t *testing.T) {
	url := postgres.EmptySchema(t, postgres.URL(t))
	c := &clock{}
	c.at.Store(1795860000)
	admin, err := sqlstore.Open(t.Context(), sqlstore.Config{URL: url, Now: c.now})
	require.NoError(t, err)
	t.Cleanup(func() { admin.Close() })
	secret, kept, err := token.New(token.Token{Name: "gym", Roles: []token.Role{token.Ask}, Created: c.now(), Expires: c.now().Add(time.Hour)})
	require.NoError(t, err)
	var servers []*running
	for range 2 {
		store, err := sqlstore.Open(t.Context(), sqlstore.Config{URL: url, Now: c.now})
		require.NoError(t, err)
		t.Cleanup(func() { store.Close() })
		servers = append(servers, run(t, Config{CheckShare: -1, Store: store, Tokens: store.Tokens, Now: c.now,
			Poll: 20 * time.Millisecond}, nil))
	}
	becomes := func(want codes.Code) {
		t.Helper()
		for _, s := range servers {
			require.Eventually(t, func() bool {
				_, err := v1.NewCatalogServiceClient(s.conn).ListTerms(with(secret), &v1.ListTermsRequest{Kind: "plane"})
				return status.Code(err) == want
			}, 10*time.Second, 10*time.Millisecond)
		}
	}
	becomes(codes.Unauthenticated)
	require.NoError(t, admin.AddToken(t.Context(), kept))
	becomes(codes.OK)
	require.NoError(t, admin.RevokeToken(t.Context(), "gym", c.now()))
	becomes(codes.Unauthenticated)
}
