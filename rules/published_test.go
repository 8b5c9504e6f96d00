package rules_test

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
)

var ruleOfAFile = regexp.MustCompile(`(?m)^  - id: .*\n(?:    .*\n|\n)*`)

// TestWhatIsPublishedIsReadAgain: a draft that is read over its base is read as a whole too, as a server reads it at its next start, though
// it took away the last that used a word or a source of its base.
func TestWhatIsPublishedIsReadAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("reads the whole edition many times over")
	}
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	read, refused := 0, 0
	for _, f := range withoutCases(rules.EmbeddedFiles()) {
		found := ruleOfAFile.FindAllIndex(f.Data, -1)
		if len(found) < 2 {
			continue
		}
		kept := append([]byte(nil), f.Data[:found[1][0]]...) // what stands before, and the first
		kept = append(kept, f.Data[found[len(found)-1][1]:]...)
		next, err := e.Redraft([]authored.File{{Name: f.Name, Data: kept}})
		if err != nil {
			continue // others name what it takes away
		}
		read++
		if _, err := rules.Read(next.Files()); err != nil {
			refused++
		}
		again, err := e.Reread(next.Files())
		require.NoError(t, err, f.Name)
		require.Equal(t, next.Revision, again.Revision)
		whole, err := rules.ReadPublished(next.Files())
		require.NoError(t, err, f.Name)
		require.Equal(t, next.Revision, whole.Revision)
	}
	require.Greater(t, read, 3)
	require.Positive(t, refused, "none took away the last use of a word")
}
