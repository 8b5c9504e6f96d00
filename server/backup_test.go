package server

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/internal/postgres"
	"drillwright/server/sqlstore"
)

// kept is what a backup must hold: history, with what was withdrawn, an answer, and that a request was answered.
type kept struct {
	history, answer string
	request         *v1.PublishRulebookRequest
}

// fill makes something of each kind: publications, a withdrawal, a request that may come again.
func (ed *editor) fill() kept {
	ed.Helper()
	bad := ed.publish(ed.draft("rules:\n", "rules:\n  # an edit\n"), "p1").Revision
	request := ed.request(ed.draft("rules:\n", "rules:\n  # one more\n"), "p2")
	live, err := ed.PublishRulebook(ed.Context(), request)
	require.NoError(ed, err)
	_, err = ed.WithdrawRevision(ed.Context(), &v1.WithdrawRevisionRequest{Revision: bad, BaseRevision: live.Revision.Revision,
		RequestId: "w1", Author: "R. Oar", Note: "lets too much through"})
	require.NoError(ed, err)
	return kept{ed.history(), string(ed.answer()), request}
}

func (ed *editor) history() string {
	ed.Helper()
	r, err := ed.ListRevisions(ed.Context(), &v1.ListRevisionsRequest{})
	require.NoError(ed, err)
	require.Len(ed, r.Revisions, 3)
	raw, err := proto.MarshalOptions{Deterministic: true}.Marshal(r)
	require.NoError(ed, err)
	return string(raw)
}

// restores: it tells what was kept, answers a request that was made before as it did, and can be published to.
func (ed *editor) restores(k kept) {
	ed.Helper()
	require.Equal(ed, k.history, ed.history())
	require.Equal(ed, k.answer, string(ed.answer()))
	again, err := ed.PublishRulebook(ed.Context(), k.request)
	require.NoError(ed, err)
	ed.serves(again.Revision.Revision)
	require.Equal(ed, k.history, ed.history(), "it was done before")
	ed.publish(ed.draft("rules:\n", "rules:\n  # after the restore\n"), "p3")
}

// TestBackupOfSQLite: as the README says it. A copy of the file made while no server runs is all there is to keep; after a server
// was killed what stands beside the file belongs to it.
func TestBackupOfSQLite(t *testing.T) {
	if testing.Short() {
		t.Skip("publishes, and reads the whole edition again, one after the other")
	}
	c, dir := &clock{}, t.TempDir()
	c.at.Store(1795860000)
	path := filepath.Join(dir, "rulebook.db")
	opened := func(path string) *editor {
		store, err := sqlstore.Open(t.Context(), sqlstore.Config{URL: path, Now: c.now})
		require.NoError(t, err)
		t.Cleanup(func() { store.Close() })
		return another(t, store, c)
	}
	one := opened(path)
	all := one.fill()

	killed := filepath.Join(t.TempDir(), "rulebook.db") // as it lies there when a server is gone without a word
	require.Contains(t, copyAll(t, path, killed), "rulebook.db-wal")
	opened(killed).restores(all)

	require.NoError(t, one.store.Close())
	backup := filepath.Join(dir, "backup")
	require.NoError(t, os.Mkdir(backup, 0o700))
	asInReadme(t, dir, "cp", nil)
	there, err := os.ReadDir(backup)
	require.NoError(t, err)
	require.Len(t, there, 1)
	opened(filepath.Join(backup, "rulebook.db")).restores(all)
}

// copyAll copies a file with everything beside it that begins with its name.
func copyAll(t *testing.T, from, to string) (names []string) {
	t.Helper()
	entries, err := filepath.Glob(from + "*")
	require.NoError(t, err)
	for _, entry := range entries {
		data, err := os.ReadFile(entry)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(to), filepath.Base(entry)), data, 0o600))
		names = append(names, filepath.Base(entry))
	}
	return names
}

// asInReadme runs the README's line that begins with a program.
func asInReadme(t *testing.T, dir, program string, env []string) {
	t.Helper()
	text, err := os.ReadFile("../README.md")
	require.NoError(t, err)
	line := regexp.MustCompile("(?m)^" + program + " .*$").Find(text)
	require.NotEmpty(t, line, "the README says how")
	cmd := exec.Command("bash", "-c", string(line))
	cmd.Dir, cmd.Env = dir, append(os.Environ(), env...)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s: %s", line, out)
}

// TestBackupOfPostgres: with PostgreSQL's own programs, while a server runs.
func TestBackupOfPostgres(t *testing.T) {
	at := postgres.URL(t)
	for _, program := range []string{"pg_dump", "pg_restore"} {
		if _, err := exec.LookPath(program); err != nil && os.Getenv("DRILLWRIGHT_CI") == "" {
			t.Skipf("it needs %s", program)
		}
	}
	c := &clock{}
	c.at.Store(1795860000)
	from, to := postgres.EmptyDatabase(t, at, ""), postgres.EmptyDatabase(t, at, "")
	one := onPostgres(t, from, c)
	all := one.fill()
	dir := t.TempDir()
	asInReadme(t, dir, "pg_dump", []string{"DRILLWRIGHT_STORE=" + from})
	asInReadme(t, dir, "pg_restore", []string{"EMPTY=" + to})
	onPostgres(t, to, c).restores(all)
}
