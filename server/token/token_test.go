package token

import (
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var morning = time.Date(2026, 11, 24, 8, 0, 0, 0, time.UTC)

func made(t testing.TB, name string, roles ...Role) (string, Token) {
	t.Helper()
	as := Token{Name: name, Roles: roles, Created: morning, Expires: morning.Add(24 * time.Hour)}
	if as.Has(Review) {
		as.Reviewer, as.Licence = "Dr A. Sculler", "RC-0413"
	}
	secret, kept, err := New(as)
	require.NoError(t, err)
	return secret, kept
}

func TestSecretsDifferAndAreWellFormed(t *testing.T) {
	seen := map[string]bool{}
	for range 1000 {
		secret, kept := made(t, "gym", Ask)
		require.True(t, WellFormed(secret))
		require.False(t, seen[secret])
		require.Equal(t, DigestOf(secret), kept.Digest)
		seen[secret] = true
	}
	good, _ := made(t, "gym", Ask)
	for _, bad := range []string{"", "drillwright_", good[1:], good + "A", good[:len(good)-1], good[:len(good)-1] + "=",
		good[:len(good)-1] + " ",
		strings.ToUpper(good), " " + good, good + "\n"} {
		require.False(t, WellFormed(bad), "%q", bad)
	}
}

func TestEndsAtItsTime(t *testing.T) {
	_, kept := made(t, "gym", Ask)
	require.Empty(t, kept.Ended(kept.Expires.Add(-time.Nanosecond)))
	require.Equal(t, "expired", kept.Ended(kept.Expires))
	list, err := Revoke([]Token{kept}, "gym", morning)
	require.NoError(t, err)
	require.Equal(t, "revoked", list[0].Ended(morning))
	require.Empty(t, kept.Ended(morning), "the list of before is as it was")
	_, err = Revoke(list, "gym", morning)
	require.ErrorContains(t, err, "was revoked at 2026-11-24T08:00:00Z")
	_, err = Revoke(list, "gym-2", morning)
	require.ErrorContains(t, err, `no token called "gym-2"`)
	_, err = Add(list, kept)
	require.ErrorContains(t, err, "names are given once", "a revoked one's neither")
}

func TestEverythingWrongIsToldAtOnce(t *testing.T) {
	_, _, err := New(Token{Name: "Gym Platform", Roles: []Role{"admin", Ask, Ask}, Licence: "RC-0413"})
	for _, says := range []string{"the name must be", `no role "admin"`, `role "ask" stands twice`, "created is missing",
		"expires must be later", "belong to a token with the role review"} {
		require.ErrorContains(t, err, says)
	}
	for _, registered := range []string{"", " Dr A. Sculler", "Dr A.\nSculler", "Dr A.\u202eSculler", strings.Repeat("é", 201), "\xff"} {
		_, _, err := New(Token{Name: "r", Roles: []Role{Review}, Created: morning, Expires: morning.Add(1), Reviewer: registered,
			Licence: registered})
		require.ErrorContains(t, err, "registered name", "%q", registered)
		require.ErrorContains(t, err, "number of the reviewer's licence", "%q", registered)
	}
}

// What is written is what is read, whatever the names.
func TestFileHoldsWhatWasWritten(t *testing.T) {
	folder := t.TempDir()
	files := 0
	rapid.Check(t, func(rt *rapid.T) {
		files++
		path := filepath.Join(folder, fmt.Sprint(files))
		var want []Token
		for i := range rapid.IntRange(0, 5).Draw(rt, "tokens") {
			_, kept := made(t, fmt.Sprintf("t%d", i), rapid.SampledFrom([][]Role{{Ask}, {Edit, Publish}, {Review, Publish}}).Draw(rt, "roles")...)
			if kept.Has(Review) {
				kept.Reviewer = rapid.StringMatching(`[A-Za-zé"'<&\\{]{1,20}`).Draw(rt, "reviewer")
			}
			if rapid.Bool().Draw(rt, "revoked") {
				kept.Revoked = morning
			}
			want = append(want, kept)
			require.NoError(rt, EditFile(path, func(had []Token) ([]Token, error) { return Add(had, kept) }))
		}
		if len(want) == 0 {
			return
		}
		file, err := OpenFile(path)
		require.NoError(rt, err)
		got, err := file.Read()
		require.NoError(rt, err)
		require.Equal(rt, want, got)
	})
}

func TestFileIsReadAgainWhenItChanges(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tokens")
	_, err := OpenFile(path)
	require.ErrorContains(t, err, "no such file")
	_, one := made(t, "one", Ask)
	add := func(had []Token) ([]Token, error) { return Add(had, one) }
	require.NoError(t, EditFile(path, add))
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	file, err := OpenFile(path)
	require.NoError(t, err)

	require.NoError(t, os.Chmod(path, 0o640))
	require.NoError(t, EditFile(path, func(had []Token) ([]Token, error) { return Revoke(had, "one", morning) }))
	info, err = os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o640), info.Mode().Perm(), "whoever may read it still may")
	list, err := file.Read()
	require.NoError(t, err)
	require.Equal(t, "revoked", list[0].Ended(morning))

	require.NoError(t, os.Chmod(path, 0o666))
	_, err = file.Read()
	require.ErrorContains(t, err, "other users may write it")
	require.NoError(t, os.Chmod(path, 0o600))

	before, err := os.ReadFile(path)
	require.NoError(t, err)
	require.ErrorContains(t, EditFile(path, add), "names are given once")
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, before, after, "an edit that is refused leaves the file")
	require.NoFileExists(t, path+".new")
}

// Of many who edit at once, those who are told that it was done have done it.
func TestEditsAtOnceLoseNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tokens")
	var all sync.WaitGroup
	var mu sync.Mutex
	done := map[string]bool{}
	for i := range 20 {
		_, kept := made(t, fmt.Sprintf("t%d", i), Ask)
		all.Go(func() {
			if EditFile(path, func(had []Token) ([]Token, error) { return Add(had, kept) }) == nil {
				mu.Lock()
				done[kept.Name] = true
				mu.Unlock()
			}
		})
	}
	all.Wait()
	require.NotEmpty(t, done)
	file, err := OpenFile(path)
	require.NoError(t, err)
	list, err := file.Read()
	require.NoError(t, err)
	require.Len(t, list, len(done))
	for _, one := range list {
		require.True(t, done[one.Name])
	}
	require.NoError(t, os.WriteFile(path+".new", nil, 0o600))
	require.ErrorContains(t, EditFile(path, nil), "if none runs, remove")
}

// Mistakes are told with their lines, and nothing of what the lines hold.
func TestMistakesInAFile(t *testing.T) {
	secret, kept := made(t, "gym", Ask)
	digest := hex.EncodeToString(kept.Digest[:])
	line := `{"name":"gym","roles":["ask"],"sha256":"` + digest + `","created":"2026-11-24T08:00:00Z","expires":"2026-11-25T08:00:00Z"}`
	path := filepath.Join(t.TempDir(), "tokens")
	for name, c := range map[string]struct{ text, says string }{
		"no JSON":         {secret, "line 1: it is no token as token create writes them: it is not JSON"},
		"half":            {line[:60], "line 1: it is no token as token create writes them: it is not JSON"},
		"unknown field":   {strings.Replace(line, "name", secret, 1), "it has a field that tokens don't have"},
		"a secret":        {strings.Replace(line, digest, secret, 1), "sha256 must be 64 hexadecimal digits"},
		"a short digest":  {strings.Replace(line, digest, digest[2:], 1), "sha256 must be 64 hexadecimal digits"},
		"no digest":       {strings.Replace(line, `"sha256":"`+digest+`",`, "", 1), "sha256 is missing"},
		"a number":        {strings.Replace(line, `["ask"]`, "3", 1), "roles can't be a number"},
		"a role":          {strings.Replace(line, "ask", "root", 1), `there is no role "root"`},
		"a day":           {strings.Replace(line, "2026-11-25T08:00:00Z", "2026-11-25", 1), "a time must be written as in"},
		"ends before":     {strings.Replace(line, "2026-11-25", "2026-11-23", 1), "expires must be later than created"},
		"no end":          {strings.Replace(line, `,"expires":"2026-11-25T08:00:00Z"`, "", 1), "expires must be later than created"},
		"two in a line":   {line + line, "something stands after the token"},
		"a name twice":    {line + "\n" + strings.Replace(line, digest[:2], "00", 1), `line 2: the name "gym" stands in line 1`},
		"a digest twice":  {line + "\n\n" + strings.Replace(line, "gym", "gym-2", 1), "line 3: the sha256 stands in line 1"},
		"all at once":     {secret + "\n" + strings.Replace(line, "ask", "root", 1), "it is not JSON; line 2: there is no role"},
		"a reviewer, too": {strings.Replace(line, "{", `{"reviewer":"R. Oar",`, 1), "belong to a token with the role review"},
		"no licence": {strings.Replace(strings.Replace(line, "ask", "review", 1), "{", `{"reviewer":"R. Oar",`, 1),
			"number of the reviewer's licence"},
	} {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, os.WriteFile(path, []byte(c.text+"\n"), 0o600))
			_, err := OpenFile(path)
			require.ErrorContains(t, err, c.says)
			require.NotContains(t, err.Error(), secret[12:])
			require.NotContains(t, err.Error(), digest[4:20])
			had := err
			err = EditFile(path, func(list []Token) ([]Token, error) { return nil, nil })
			require.EqualError(t, err, had.Error(), "a file that can't be read isn't written over")
		})
	}
	require.NoError(t, os.WriteFile(path, []byte(strings.Repeat("\n", mostBytes+1)), 0o600))
	_, err := OpenFile(path)
	require.ErrorContains(t, err, "larger than 4 MiB")
	_, err = OpenFile(t.TempDir())
	require.ErrorContains(t, err, "it is not a file")
}

// FuzzParse: no text ends the server, and what is read well is a list that may be kept.
func FuzzParse(f *testing.F) {
	_, kept := made(f, "gym", Ask)
	text, _ := kept.Digest.MarshalText()
	f.Add([]byte(`{"name":"gym","roles":["ask"],"sha256":"` + string(text) + `","created":"2026-11-24T08:00:00Z","expires":"2026-11-25T08:00:00Z"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		list, err := parse(text)
		if err == nil {
			require.NoError(t, CheckList(list, func(int) string { return "" }))
		}
	})
}
