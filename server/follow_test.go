package server

import (
	"context"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/internal/postgres"
	"drillwright/server/sqlstore"
)

// TestPublishSentAgain: the connection is lost at the commit, before PostgreSQL hears of it or before anyone hears from it. The same
// request sent again publishes once, says that it is live, and it is.
func TestPublishSentAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	c, url := &clock{}, postgres.EmptySchema(t, postgres.URL(t))
	c.at.Store(1795860000)
	way := postgres.NewProxy(t, url)
	ed := onPostgres(t, way.URL, c)
	for i, heard := range []bool{false, true} {
		request := ed.request(ed.draft("rules:\n", "rules:\n  # one more\n"), []string{"unheard", "heard"}[i])
		way.CutAt("commit", heard)
		_, err := ed.PublishRulebook(t.Context(), request)
		refuses(t, err, codes.Unavailable, "STORE_UNAVAILABLE")
		again, err := ed.PublishRulebook(t.Context(), request)
		require.NoError(t, err)
		require.True(t, again.Revision.Live)
		require.Equal(t, request.Draft.BaseRevision, again.Revision.BaseRevision)
		ed.serves(again.Revision.Revision)
		history, err := ed.ListRevisions(t.Context(), &v1.ListRevisionsRequest{})
		require.NoError(t, err)
		require.Len(t, history.Revisions, i+2)
		require.True(t, proto.Equal(again.Revision, history.Revisions[0]), "%v\n%v", again.Revision, history.Revisions[0])
	}
}

// TestCallerWhoLeavesSaysNothingOfTheStore: it was reached a moment ago, and will be at the next poll.
func TestCallerWhoLeavesSaysNothingOfTheStore(t *testing.T) {
	ed := newEditor(t)
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, ed.server.follower.poll(gone), context.Canceled)
	require.Equal(t, "SERVING", ed.health(storeHealth).String())
	require.NotContains(t, ed.log.String(), "can't be reached")
}

// TestStoreAwayIsTold: in the metrics, and in the log once each way.
func TestStoreAwayIsTold(t *testing.T) {
	c := &clock{}
	c.at.Store(1795860000)
	way := postgres.NewProxy(t, postgres.EmptySchema(t, postgres.URL(t)))
	ed := onPostgres(t, way.URL, c)
	metrics, err := newMetrics(true, ed.server.liveEdition, ed.server.storeState)
	require.NoError(t, err)
	tells := func(line string) {
		t.Helper()
		w := httptest.NewRecorder()
		metrics.handler.ServeHTTP(w, httptest.NewRequest("GET", "/metrics", nil))
		require.Contains(t, strings.Split(w.Body.String(), "\n"), line)
	}
	said := func(words string) int { return strings.Count(ed.log.String(), words) }
	way.Refuse()
	for range 2 {
		c.pass(45 * time.Second)
		require.Error(t, ed.server.follower.poll(t.Context()))
	}
	tells("drillwright_store_age_seconds 90")
	require.Equal(t, []int{1, 0}, []int{said("can't be reached"), said("is reached again")})
	way.Admit()
	for range 2 {
		require.NoError(t, ed.server.follower.poll(t.Context()))
	}
	tells("drillwright_store_age_seconds 0")
	require.Equal(t, []int{1, 1}, []int{said("can't be reached"), said("is reached again")})
}

// TestSilentStoreHoldsNobodyUp: its connections stay open and nothing comes through. A caller who would wait for an hour isn't
// what the age of the store waits for.
func TestSilentStoreHoldsNobodyUp(t *testing.T) {
	c := &clock{}
	c.at.Store(1795860000)
	way := postgres.NewProxy(t, postgres.EmptySchema(t, postgres.URL(t)))
	store, err := sqlstore.Open(t.Context(), sqlstore.Config{URL: way.URL, Now: c.now})
	require.NoError(t, err)
	t.Cleanup(func() { store.Close() })
	ed := another(t, store, c)
	ed.server.follower.limit = 300 * time.Millisecond
	way.Silence()
	c.pass(16 * time.Minute)
	patient, cancel := context.WithTimeout(t.Context(), time.Hour)
	defer cancel()
	began := time.Now()
	require.Error(t, ed.server.follower.poll(patient))
	require.Less(t, time.Since(began), 5*time.Second)
	require.Equal(t, "NOT_SERVING", ed.health("").String())
}
