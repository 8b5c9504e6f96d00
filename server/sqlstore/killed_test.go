package sqlstore

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// childVariable makes this test program a child that publishes to the store it names until it is killed.
const childVariable = "DRILLWRIGHT_TEST_CHILD"

// publishUntilKilled writes the number of the last event, first as found, then after each answer. Every fourth turn withdraws
// what is live instead.
func publishUntilKilled(target string) {
	ctx := context.Background()
	s, err := Open(ctx, Config{URL: target})
	for err == nil {
		var head int64
		if head, err = s.Head(ctx); err != nil {
			break
		}
		fmt.Println(head)
		var live Publication
		if live, err = s.Live(ctx); err != nil && !errors.Is(err, ErrEmpty) {
			break
		}
		if head%4 == 3 {
			_, _, err = s.Withdraw(ctx, withdrawing(live.Revision, live.Revision))
		} else {
			_, _, err = s.Publish(ctx, asked(live.Revision, fmt.Sprintf("r%d-%d", head+1, os.Getpid())))
		}
		var stale *Stale
		if errors.As(err, &stale) || errors.Is(err, ErrUnchanged) { // the server was still at what a killed child had asked
			err = nil
		}
	}
	fmt.Println(err)
	os.Exit(1)
}

type child struct {
	*exec.Cmd
	lines *bufio.Scanner
}

func startChild(t *testing.T, target string) *child {
	t.Helper()
	program, err := os.Executable()
	require.NoError(t, err)
	c := &child{Cmd: exec.Command(program)}
	c.Env = append(os.Environ(), childVariable+"="+target)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	c.lines = bufio.NewScanner(out)
	require.NoError(t, c.Start())
	t.Cleanup(func() { c.Process.Kill() })
	return c
}

// next is the next number that the child writes.
func (c *child) next(t *testing.T) int64 {
	t.Helper()
	require.True(t, c.lines.Scan(), "the child ended: %v", c.lines.Err())
	number, err := strconv.ParseInt(c.lines.Text(), 10, 64)
	require.NoError(t, err)
	return number
}

// kill ends the child at once and returns the last number that it wrote, 0 for none.
func (c *child) kill(t *testing.T) (last int64) {
	t.Helper()
	require.NoError(t, c.Process.Kill())
	for c.lines.Scan() {
		number, err := strconv.ParseInt(c.lines.Text(), 10, 64)
		require.NoError(t, err)
		last = number
	}
	require.Error(t, c.Wait())
	return last
}

func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("kills within milliseconds, in which a child under the race detector does nothing yet")
	}
	onEach(t, func(t *testing.T, empty func() string) {
		target := empty()
		sqlite := !scheme.MatchString(target)
		kills, longest := 30, 150*time.Millisecond // the first answer of PostgreSQL takes a while
		if sqlite {
			kills, longest = 220, 12*time.Millisecond
		}
		answered := int64(0)
		for range kills {
			c := startChild(t, target)
			found := c.next(t)
			require.GreaterOrEqual(t, found, answered, "what was answered is there")
			if sqlite {
				require.LessOrEqual(t, found, answered+2, "and at most what one request makes beside it")
			}
			time.Sleep(rand.N(longest))
			answered = max(found, c.kill(t))
		}
		require.Greater(t, answered, int64(kills), "the children have worked")
		s := opened(t, target)
		if sqlite {
			var says string
			require.NoError(t, s.db.QueryRow(`pragma integrity_check`).Scan(&says))
			assert.Equal(t, "ok", says)
			rows, err := s.db.Query(`pragma foreign_key_check`)
			require.NoError(t, err)
			assert.False(t, rows.Next())
			require.NoError(t, rows.Close())
		}
		wholeHistory(t, s)
		t.Logf("%d kills, %d events", kills, answered)
	})
}

// wholeHistory wants every event there, each on the one before, with all of its files, and each request answered once.
func wholeHistory(t *testing.T, s *Store) {
	t.Helper()
	ctx := within(t)
	head, err := s.Head(ctx)
	require.NoError(t, err)
	history, err := s.History(ctx, 0, 1_000_000)
	require.NoError(t, err)
	slices.Reverse(history)
	base, withdrawn := "", map[int64]bool{}
	for _, p := range history {
		require.Equal(t, base, p.Base, "event %d", p.Number)
		base = p.Revision
		if p.Withdrawn != nil {
			withdrawn[p.Withdrawn.Number] = true
		}
		files, err := s.Files(ctx, p.Revision)
		require.NoError(t, err)
		sameFiles(t, filesFor(p.Revision), files)
	}
	require.EqualValues(t, head, len(history)+len(withdrawn), "no number is missing")
	var editions, loose, requests int
	require.NoError(t, s.db.QueryRow(`select (select count(*) from edition where revision not in (select revision from event)),
		(select count(*) from file where digest not in (select digest from edition_file)), (select count(*) from request)`).Scan(&editions, &loose, &requests))
	assert.Zero(t, editions, "editions without an event")
	assert.Zero(t, loose, "files without an edition")
	assert.EqualValues(t, head-int64(len(withdrawn)), requests, "a withdrawal of what is live makes two events")
}

func TestKilledWhileMakingTheTables(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		kills := 20
		if testing.Short() || scheme.MatchString(empty()) { // PostgreSQL keeps a dead client's lock for a while
			kills = 5
		}
		for range kills {
			target := empty()
			c := startChild(t, target)
			time.Sleep(rand.N(80 * time.Millisecond))
			c.kill(t)
			s := opened(t, target)
			wholeHistory(t, s)
			require.NoError(t, s.Close())
		}
	})
}
