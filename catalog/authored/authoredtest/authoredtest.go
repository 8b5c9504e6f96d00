// Package authoredtest helps tests to hold readers of files against texts that nobody would write.
package authoredtest

import (
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
)

// Drafts are the files of the archives in a folder, but for what they want to be said and mended.
func Drafts(t testing.TB, folder string) []authored.File {
	paths, err := filepath.Glob(filepath.Join(folder, "*.txtar"))
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	var all []authored.File
	for _, path := range paths {
		archive, err := txtar.ParseFile(path)
		require.NoError(t, err)
		for _, f := range archive.Files {
			if f.Name != "want" && f.Name != "fix" {
				all = append(all, authored.File{Name: f.Name, Data: f.Data})
			}
		}
	}
	return all
}

// Mutated changes a text once for every time that it has been round.
func Mutated(dice *rand.Rand, text []byte, times int) []byte {
	text = append([]byte(nil), text...)
	for range times {
		if len(text) < 2 {
			return text
		}
		from := dice.IntN(len(text) - 1)
		to := from + 1 + dice.IntN(min(len(text)-from-1, 1+dice.IntN(40)))
		switch dice.IntN(4) {
		case 0: // cut out
			text = append(text[:from], text[to:]...)
		case 1: // doubled, and more than doubled
			text = []byte(string(text[:to]) + strings.Repeat(string(text[from:to]), 1+dice.IntN(3)*dice.IntN(40)) + string(text[to:]))
		case 2: // swapped
			text[from], text[to] = text[to], text[from]
		default: // one byte
			text[from] = " ()[]'\"#.,;?:!=<>+-*/%|&{}0123456789aeinot_\n\x00\xff"[dice.IntN(46)]
		}
	}
	return text
}

// Held holds every problem of a file to its promises.
func Held(t testing.TB, err error, file authored.File) {
	var problems authored.Problems
	require.ErrorAs(t, err, &problems)
	require.NotEmpty(t, problems)
	for _, p := range problems {
		require.NotNil(t, p.At.Source, "%s", p)
		require.NotEmpty(t, p.At.Source.Name)
		require.NotEmpty(t, p.Message)
		require.True(t, p.At.Line >= 1 && p.At.Line <= len(p.At.Source.Lines()), "%s", p)
		require.True(t, p.At.Col >= 1 && p.At.Col <= utf8.RuneCountInString(p.At.Source.Lines()[p.At.Line-1])+1, "%s", p)
		require.True(t, utf8.ValidString(p.String()), "%q", p.String())
		if p.Fix == nil {
			continue
		}
		require.Same(t, p.At.Source, p.Fix.From.Source)
		if p.At.Source.Name != file.Name {
			continue // of the book that it is read over
		}
		text, made := authored.Apply(file.Data, []authored.Edit{*p.Fix})
		require.Len(t, made, 1, "%s", p)
		require.True(t, utf8.Valid(text), "%s", p)
	}
	require.True(t, utf8.Valid(problems.Repaired([]authored.File{file})[0].Data) || !utf8.Valid(file.Data))
}
