package sqlstore

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/server/internal/postgres"
)

func TestMain(m *testing.M) {
	if target := os.Getenv(childVariable); target != "" {
		publishUntilKilled(target)
	}
	os.Exit(m.Run())
}

// onEach runs a test on both databases. empty gives the URL of a new, empty store.
func onEach(t *testing.T, test func(t *testing.T, empty func() string)) {
	t.Run("sqlite", func(t *testing.T) {
		test(t, func() string { return filepath.Join(t.TempDir(), "store.db") })
	})
	t.Run("postgres", func(t *testing.T) {
		server := postgres.URL(t)
		test(t, func() string { return postgres.EmptySchema(t, server) })
	})
}

// opened is a store whose clock moves on by a second, and by a part of a microsecond, every time that it is read.
func opened(t *testing.T, target string) *Store {
	t.Helper()
	var seconds atomic.Int64 // publications read it side by side
	s, err := Open(within(t), Config{URL: target, Now: func() time.Time {
		return time.Date(2026, 3, 29, 1, 59, 0, 123456789, time.FixedZone("west", -5*3600)).Add(time.Duration(seconds.Add(1)) * time.Second)
	}})
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s
}

func within(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// filesFor are those of a made-up revision: three of its own, and one that all share.
func filesFor(revision string) []authored.File {
	return []authored.File{
		{Name: "rules/bars.yaml", Data: []byte("rules: [] # " + revision + "\n")},
		{Name: "catalog/press.yaml", Data: []byte(strings.Repeat("drills: [] # "+revision+"\n", 200))},
		{Name: "catalog/shared.yaml", Data: []byte("vocabulary: {}\n")},
		{Name: fmt.Sprintf("catalog/%s.yaml", revision), Data: nil},
	}
}

// asked is a request to publish a made-up revision; its id and digest are its revision and base.
func asked(base, revision string) Publish {
	return Publish{Base: base, Revision: revision, Files: filesFor(revision), Author: "ana", Note: "note on " + revision,
		RequestID: "publish " + revision + " on " + base, RequestDigest: "publish " + revision, PreviewDigest: "seen " + revision,
		ReviewedBy: "r. viewer"}
}

func restoring(base, revision string) Publish {
	return Publish{Base: base, Revision: revision, Restore: true, Author: "ben", Note: "back to " + revision,
		RequestID: "restore " + revision + " on " + base, RequestDigest: "restore " + revision}
}

func withdrawing(base, revision string) Withdraw {
	return Withdraw{Base: base, Revision: revision, Author: "cleo", Note: revision + " hurts",
		RequestID: "withdraw " + revision + " on " + base, RequestDigest: "withdraw " + revision}
}

func published(t *testing.T, s *Store, p Publish) Publication {
	t.Helper()
	got, repeat, err := s.Publish(within(t), p)
	require.NoError(t, err)
	require.False(t, repeat)
	return got
}

// sameFiles compares names, order and bytes; an empty file is the same as a nil one.
func sameFiles(t *testing.T, want, got []authored.File) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i].Name, got[i].Name)
		require.Equal(t, string(want[i].Data), string(got[i].Data), want[i].Name)
	}
}
