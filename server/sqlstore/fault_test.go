package sqlstore

import (
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/server/internal/postgres"
)

// big is a request whose files need some hundred pages.
func big(base, revision string) Publish {
	p := asked(base, revision)
	p.Files = append(p.Files, authored.File{Name: "big.yaml", Data: []byte(strings.Repeat(revision+" ", 200_000))})
	return p
}

func TestFaultsOfSQLite(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "store.db"))
	set := func(pragma string) {
		t.Helper()
		_, err := s.db.Exec("pragma " + pragma)
		require.NoError(t, err)
	}
	set("max_page_count = 60")
	_, _, err := s.Publish(within(t), big("", "a"))
	require.Equal(t, Full, FaultOf(err), "%v", err)
	require.NoError(t, s.TryWrite(within(t)), "so little has room")
	set("max_page_count = 60000")

	set("query_only = 1")
	_, _, err = s.Publish(within(t), big("", "a"))
	require.Equal(t, ReadOnly, FaultOf(err), "%v", err)
	require.Equal(t, ReadOnly, FaultOf(s.TryWrite(within(t))))
	set("query_only = 0")
	published(t, s, big("", "a"))
	require.NoError(t, s.Close())
	_, err = s.Head(within(t))
	require.Equal(t, Away, FaultOf(err))
}

func TestFaultsOfPostgres(t *testing.T) {
	for code, want := range map[string]Fault{"53100": Full, "25006": ReadOnly, "58030": BadDisk, "XX001": Corrupt,
		"57P01": Away, "53300": Away} {
		require.Equal(t, want, FaultOf(fmt.Errorf("publish: %w", &pgconn.PgError{Code: code})), code)
	}
	target := postgres.EmptySchema(t, postgres.URL(t))
	published(t, opened(t, target), asked("", "a"))
	s := opened(t, postgres.With(t, target, func(u *url.URL) {
		q := u.Query()
		q.Set("default_transaction_read_only", "on")
		u.RawQuery = q.Encode()
	}))
	_, _, err := s.Publish(within(t), asked("a", "b"))
	require.Equal(t, ReadOnly, FaultOf(err), "%v", err)
	require.Equal(t, ReadOnly, FaultOf(s.TryWrite(within(t))))
}
