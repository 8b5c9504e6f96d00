// Package postgres gives tests a PostgreSQL: a schema or database of their own on a real one, and a way to it that can be
// cut. Only tests import it.
package postgres

import (
	"crypto/rand"
	"database/sql"
	"net/url"
	"os"
	"strings"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
	"github.com/stretchr/testify/require"
)

// URL is that of the server to test on, whose user may create schemas and databases. Where none is named the test is
// skipped; with DRILLWRIGHT_CI it fails.
func URL(t *testing.T) string {
	t.Helper()
	const variable = "DRILLWRIGHT_POSTGRES"
	server := os.Getenv(variable)
	if server == "" && os.Getenv("DRILLWRIGHT_CI") == "" {
		t.Skip("no PostgreSQL to test on: set " + variable + " to its URL")
	}
	require.NotEmpty(t, server, "%s must be set where DRILLWRIGHT_CI is", variable)
	return server
}

// EmptySchema is the URL of a schema of its own, until the test ends.
func EmptySchema(t *testing.T, server string) string {
	t.Helper()
	name := unusedName()
	administer(t, server, "create schema "+name)
	t.Cleanup(func() { administer(t, server, "drop schema "+name+" cascade") })
	return With(t, server, func(u *url.URL) {
		q := u.Query()
		q.Set("search_path", name)
		u.RawQuery = q.Encode()
	})
}

// EmptyDatabase is the URL of a database of its own, for what a schema can't choose.
func EmptyDatabase(t *testing.T, server, how string) string {
	t.Helper()
	name := unusedName()
	administer(t, server, "create database "+name+" "+how)
	t.Cleanup(func() { administer(t, server, "drop database "+name+" with (force)") })
	return With(t, server, func(u *url.URL) { u.Path = "/" + name })
}

// With is a URL changed.
func With(t *testing.T, server string, change func(*url.URL)) string {
	t.Helper()
	u, err := url.Parse(server)
	require.NoError(t, err)
	change(u)
	return u.String()
}

func unusedName() string { return "t_" + strings.ToLower(rand.Text()) }

func administer(t *testing.T, server, statement string) {
	t.Helper()
	db, err := sql.Open("pgx", server)
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec(statement)
	require.NoError(t, err)
}
