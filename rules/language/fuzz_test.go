package language_test

import (
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/authoredtest"
	"drillwright/rules"
	"drillwright/rules/language"
)

const maxTaken = 5 * time.Second // far above what the slowest takes, for machines are busy

// FuzzExpression reads a text as a condition, as a number and as a sentence.
func FuzzExpression(f *testing.F) {
	if testing.Short() {
		f.Skip("reads thousands of texts")
	}
	for _, file := range rules.EmbeddedFiles() {
		for _, code := range expressions(file.Data) {
			f.Add(code)
		}
	}
	for _, file := range authoredtest.Drafts(f, "../../testdata/bad") {
		for _, code := range expressions(file.Data) {
			f.Add(code)
		}
	}
	e := embeddedEdition(f)
	tags := tagsOf(e)
	f.Fuzz(func(t *testing.T, code string) {
		if len(code) > 2*language.MaxExpression || !utf8.ValidString(code) {
			return
		}
		require.Zero(t, language.SlipsIn(e.Frame, tags, code))
		begun := time.Now()
		file := authored.File{Name: "bar", Data: []byte(code)}
		for _, read := range []func(r reading, as authored.Text) bool{
			func(r reading, as authored.Text) bool { return r.Predicate(as, ofBar) != nil },
			func(r reading, as authored.Text) bool { return r.Number(as, ofBar) != nil || code == "" },
			func(r reading, as authored.Text) bool {
				return r.Sentence(as, ofBar, "motions", false) != nil
			},
		} {
			r := newReading(e, tags)
			good := read(r, text(code))
			if err := r.Err(); err != nil {
				authoredtest.Held(t, err, file)
			} else {
				require.True(t, good, "neither read nor refused")
			}
		}
		require.Less(t, time.Since(begun), maxTaken)
	})
}
