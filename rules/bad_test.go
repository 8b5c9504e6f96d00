package rules_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/diff"
	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
)

var update = flag.Bool("update", false, "write the wanted messages anew")

// bad is an archive of testdata/bad: a draft, every message, and what the fixes make of it.
type bad struct {
	path      string
	archive   *txtar.Archive
	draft     []authored.File
	want, fix string
}

func badFiles(t testing.TB) []bad {
	paths, err := filepath.Glob("../testdata/bad/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	var all []bad
	for _, path := range paths {
		archive, err := txtar.ParseFile(path)
		require.NoError(t, err)
		b := bad{path: path, archive: archive}
		for _, f := range archive.Files {
			switch f.Name {
			case "want":
				b.want = string(f.Data)
			case "fix":
				b.fix = string(f.Data)
			default:
				b.draft = append(b.draft, authored.File{Name: f.Name, Data: asBytes(f.Data)})
			}
		}
		all = append(all, b)
	}
	return all
}

// asBytes puts in what an archive can't hold: ␍ stands for a carriage return, ␛ for the mark of the byte order, ␀ for a
// byte that is no letter.
func asBytes(text []byte) []byte {
	for sign, b := range map[string]string{"\u240d": "\r", "\u241b": "\uFEFF", "\u2400": "\xff"} {
		text = bytes.ReplaceAll(text, []byte(sign), []byte(b))
	}
	return text
}

func (b bad) name() string { return strings.TrimSuffix(filepath.Base(b.path), ".txtar") }

// problems of a draft over the edition that is built in.
func problems(t testing.TB, e *rules.Edition, draft []authored.File) authored.Problems {
	_, err := e.Redraft(draft)
	if err == nil {
		return nil
	}
	var ps authored.Problems
	require.ErrorAs(t, err, &ps)
	return ps
}

// mended is a draft after all fixes, round by round.
func mended(t testing.TB, e *rules.Edition, draft []authored.File) []authored.File {
	for range 10 {
		next := problems(t, e, draft).Repaired(draft)
		if slices.EqualFunc(next, draft, func(a, b authored.File) bool { return bytes.Equal(a.Data, b.Data) }) {
			return draft
		}
		draft = next
	}
	t.Fatal("fixes go round in a circle")
	return nil
}

// TestBadFiles reads each archive of testdata/bad as a draft and holds the whole message, and what the fixes change, against
// their goldens.
func TestBadFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	for _, b := range badFiles(t) {
		t.Run(b.name(), func(t *testing.T) {
			ps := problems(t, e, b.draft)
			require.NotEmpty(t, ps, "a bad file was read without a word")
			got, changes := ps.Error()+"\n", ""
			for i, f := range mended(t, e, b.draft) {
				changes += string(diff.Diff(f.Name, b.draft[i].Data, f.Name, f.Data))
			}
			changes = strings.NewReplacer("\r", "\u240d", "\uFEFF", "\u241b", "\xff", "\u2400").Replace(changes)
			if *update {
				b.write(t, got, changes)
				return
			}
			require.Equal(t, b.want, got)
			require.Equal(t, b.fix, changes)
		})
	}
}

func (b bad) write(t *testing.T, want, fix string) {
	files := slices.DeleteFunc(slices.Clone(b.archive.Files), func(f txtar.File) bool { return f.Name == "want" || f.Name == "fix" })
	files = append(files, txtar.File{Name: "want", Data: []byte(want)})
	if fix != "" {
		files = append(files, txtar.File{Name: "fix", Data: []byte(fix)})
	}
	require.NoError(t, os.WriteFile(b.path, txtar.Format(&txtar.Archive{Comment: b.archive.Comment, Files: files}), 0o644))
}

// TestEachFixMends applies every fix of every bad file alone: its problem is gone, and none is there that wasn't before.
func TestEachFixMends(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	fixes := 0
	for _, b := range badFiles(t) {
		before := problems(t, e, b.draft)
		for i, p := range before {
			if p.Fix == nil {
				continue
			}
			fixes++
			left := counted(slices.Concat(before[:i], before[i+1:]))
			for message, n := range counted(problems(t, e, authored.Problems{p}.Repaired(b.draft))) {
				assert.LessOrEqual(t, n, left[message], "%s: after the fix of\n%s\nthere is:\n%s", b.name(), p, message)
			}
		}
	}
	require.Greater(t, fixes, 50)
}

// counted is how often each thing is said; places move when lines do.
func counted(ps authored.Problems) map[string]int {
	n := map[string]int{}
	for _, p := range ps {
		n[p.At.Source.Name+": "+p.Message]++
	}
	return n
}

// TestBadFilesOnTheirOwn: a bad draft gets the same answer on its own as over an edition, which TestBadFiles asks. It takes
// longer, so one in four must do.
func TestBadFilesOnTheirOwn(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	for i, b := range badFiles(t) {
		if i%4 == 0 {
			_, err := rules.ReadDraft(b.draft, rules.EmbeddedFiles())
			var ps authored.Problems
			require.ErrorAs(t, err, &ps, b.path)
			require.EqualError(t, ps, strings.TrimSuffix(b.want, "\n"), b.path)
		}
	}
}
