package language_test

import (
	"regexp"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/language"
)

var embeddedOnce = sync.OnceValues(rules.Embedded)

func embeddedEdition(t testing.TB) *rules.Edition {
	t.Helper()
	e, err := embeddedOnce()
	require.NoError(t, err)
	return e
}

// ofBar are the roots that the condition of a bar may read.
var ofBar = slices.DeleteFunc(slices.Clone(language.AllRoots), func(r string) bool { return r == "dose" })

func tagsOf(e *rules.Edition) *language.Tags {
	return language.NewTags(e.Catalogue.Vocabulary, e.Frame.Ladder)
}

// reading reads expressions of a bar as if each stood alone in a file.
type reading struct {
	*language.Reader
	*authored.Report
}

func newReading(e *rules.Edition, tags *language.Tags) reading {
	report := &authored.Report{}
	return reading{language.NewReader(report, e.Frame, tags, language.Texts{}), report}
}

func text(code string) authored.Text { return authored.NewText("bar", code) }

// messages are the mistakes of one expression; none when it is read.
func (r reading) messages(t *testing.T, code string) []string {
	n := r.Predicate(text(code), ofBar)
	problems, _ := r.Err().(authored.Problems)
	require.True(t, n != nil || len(problems) > 0, "%s", code)
	var out []string
	for _, p := range problems {
		out = append(out, p.Message)
	}
	return out
}

var whens = regexp.MustCompile(`(?m)^ *when: "(.*)"$`)

// expressions are the conditions of a file.
func expressions(file []byte) []string {
	var codes []string
	for _, m := range whens.FindAllSubmatch(file, -1) {
		codes = append(codes, string(m[1]))
	}
	return codes
}
