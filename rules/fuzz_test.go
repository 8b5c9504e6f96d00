package rules

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
)

// What a book from anywhere may not do, whatever stands in it: make reading panic or take long, be answered without a
// place, or with a fix that makes no text of it.

const (
	maxFuzzed = 64 << 10
	maxTaken  = 5 * time.Second // far above what the slowest takes, for machines are busy
)

// FuzzBook reads a file as a draft over the embedded edition, and judges a client if it is a book.
func FuzzBook(f *testing.F) {
	for _, file := range EmbeddedFiles() {
		if len(file.Data) < maxFuzzed/4 {
			f.Add(file.Data)
		}
		if strings.HasSuffix(file.Name, "ladders.yaml") { // a rung that other files name
			f.Add(bytes.ReplaceAll(file.Data, []byte("unrestricted"), []byte("unrestrictet")))
		}
	}
	for _, file := range badDrafts(f) {
		f.Add(file)
	}
	e := embeddedEdition(f)
	facts := client.Derive(e.Frame, &client.Request{Profile: &client.Profile{}, AsOf: client.Day(20000)})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > maxFuzzed {
			return
		}
		begun := time.Now()
		draft := []authored.File{{Name: "draft.yaml", Data: data}}
		edition, err := e.Redraft(draft)
		if err != nil {
			held(t, err, draft[0])
		} else if edition.Frame == e.Frame {
			j := edition.Judge(facts, nil)
			for _, d := range edition.Catalogue.Drills {
				for side := range 2 {
					j.Verdict(d, side)
				}
			}
			j.Done()
		}
		require.Less(t, time.Since(begun), maxTaken)
	})
}

// FuzzExpression reads a text as a condition, as a number and as a sentence.
func FuzzExpression(f *testing.F) {
	for _, file := range EmbeddedFiles() {
		for _, code := range expressions(file.Data) {
			f.Add(code)
		}
	}
	for _, file := range badDrafts(f) {
		for _, code := range expressions(file) {
			f.Add(code)
		}
	}
	e := embeddedEdition(f)
	f.Fuzz(func(t *testing.T, code string) {
		if len(code) > 2*MaxExpression || !utf8.ValidString(code) {
			return
		}
		if r := newReading(e); clean(blank(code)) {
			require.Zero(t, (&resolver{scope: scope{e.Frame, e.tags, nil}, source: &source{report: r.Report, text: r.text(code), code: code}}).slips(blank(code)).count)
		}
		begun := time.Now()
		file := authored.File{Name: "bar", Data: []byte(code)}
		for _, read := range []func(r reading, text authored.Text) bool{
			func(r reading, text authored.Text) bool { return r.condition(text, rootsOf[Bar]) != nil },
			func(r reading, text authored.Text) bool { return r.number(text, rootsOf[Bar]) != nil || code == "" },
			func(r reading, text authored.Text) bool {
				return r.sentence(text, rootsOf[Bar], "motions", false) != nil
			},
		} {
			r := newReading(e)
			good := read(r, r.text(code))
			if err := r.Err(); err != nil {
				held(t, err, file)
			} else {
				require.True(t, good, "neither read nor refused")
			}
		}
		require.Less(t, time.Since(begun), maxTaken)
	})
}

func badDrafts(t testing.TB) [][]byte {
	paths, err := filepath.Glob("../testdata/bad/*.txtar")
	require.NoError(t, err)
	var all [][]byte
	for _, path := range paths {
		archive, err := txtar.ParseFile(path)
		require.NoError(t, err)
		for _, f := range archive.Files {
			if f.Name != "want" && f.Name != "fix" {
				all = append(all, f.Data)
			}
		}
	}
	return all
}

// held holds every problem of a file to its promises.
func held(t *testing.T, err error, file authored.File) {
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
	require.True(t, utf8.Valid(problems.Mended([]authored.File{file})[0].Data) || !utf8.Valid(file.Data))
}
