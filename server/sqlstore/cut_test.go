package sqlstore

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/server/internal/postgres"
)

// TestCutWhilePublishing: the way to PostgreSQL is cut at some byte of a publication, that of its commit among them. The store
// holds the old or the new, whole, and the same request sent again publishes once.
func TestCutWhilePublishing(t *testing.T) {
	target := postgres.EmptySchema(t, postgres.URL(t))
	direct := opened(t, target)
	way := postgres.NewProxy(t, target)
	s := opened(t, way.URL)
	base, random := published(t, s, asked("", "r0")).Revision, rand.New(rand.NewPCG(7, 7))
	cut, lost := 0, 0
	for i := 1; i <= 60; i++ {
		base = published(t, s, asked(base, fmt.Sprintf("r%d-first", i))).Revision // on a new connection, which has more to say
		before := way.Passed()
		base = published(t, s, asked(base, fmt.Sprintf("r%d-whole", i))).Revision
		at := random.Int64N(way.Passed() - before)
		if i%2 == 0 { // the commit, and the answer to it
			at = way.Passed() - before - random.Int64N(40)
		}
		p := asked(base, fmt.Sprintf("r%d-ended", i))
		way.CutAfter(at)
		_, _, err := s.Publish(within(t), p)
		way.CutAfter(-1)
		live, liveErr := direct.Live(within(t))
		require.NoError(t, liveErr)
		switch {
		case err == nil:
			require.Equal(t, p.Revision, live.Revision)
		case live.Revision == p.Revision:
			lost++ // the answer only
			fallthrough
		default:
			cut++
			require.Contains(t, []string{base, p.Revision}, live.Revision)
		}
		again, _, err := s.Publish(within(t), p)
		require.NoError(t, err, "once the way is open, a publication goes through at the first try")
		require.Equal(t, p.Revision, again.Revision)
		files, err := direct.Files(within(t), p.Revision)
		require.NoError(t, err)
		sameFiles(t, p.Files, files)
		base = p.Revision
	}
	history, err := direct.History(within(t), 0, 200)
	require.NoError(t, err)
	require.Len(t, history, 181, "each once")
	require.Greater(t, cut-lost, 20)
	require.Greater(t, lost, 5)
	t.Logf("%d of 60 publications were cut, %d of them after they were kept", cut, lost)
}

// TestLostWriterIsNotWaitedFor: a server that can't be heard any more in the middle of a publication holds up no other, though
// PostgreSQL isn't told that it is gone.
func TestLostWriterIsNotWaitedFor(t *testing.T) {
	target := postgres.EmptySchema(t, postgres.URL(t))
	way := postgres.NewProxy(t, target)
	lost, other := opened(t, way.URL), opened(t, target)
	require.Equal(t, writerIdle, lost.idle)
	lost.idle = 500 * time.Millisecond
	short, cancel := context.WithCancel(within(t))
	err := lost.write(short, func(*sql.Tx) error {
		way.Silence()
		cancel()
		return short.Err()
	})
	require.ErrorIs(t, err, context.Canceled)
	began := time.Now()
	published(t, other, asked("", "a"))
	require.Less(t, time.Since(began), 5*time.Second)
}
