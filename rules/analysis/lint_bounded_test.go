package analysis

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
)

// heavy is the built-in edition with five bars more, each of thirty clauses, of which any one does.
func heavy(t testing.TB) *rules.Edition {
	var ranges []string
	for _, p := range builtIn(t).Frame.Table.Paths {
		if strings.HasPrefix(p.Name, "client.range.") && p.Kind == client.Number {
			ranges = append(ranges, p.Name)
		}
	}
	text := "rules:\n"
	for bar := range 5 {
		var clauses []string
		for n := range 30 {
			clauses = append(clauses, fmt.Sprintf("(%s < %d or %s < %d)", ranges[(bar+n)%len(ranges)], 20+(n*7)%60,
				ranges[(3*bar+7*n+1)%len(ranges)], 20+(n*11)%60))
		}
		text += fmt.Sprintf("  - {id: heavy-%d, effect: bar, when: \"drill.loads and %s\", because: B, untested: U, source: {kind: judged}}\n",
			bar, strings.Join(clauses, " or "))
	}
	e, err := rules.Read(append(rules.EmbeddedFiles(), authored.File{Name: "rules/book/heavy.yaml", Data: []byte(text)}))
	require.NoError(t, err)
	return e
}

// TestLintIsBounded: what a lint does is counted, wherever it is done, and what the steps don't reach is told as undecided.
func TestLintIsBounded(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	l := newLinter(t.Context(), heavy(t))
	l.steps = 30_000_000
	l.all()
	require.Less(t, l.steps, 0)
	require.Greater(t, l.steps, -1_000_000, "no one thing costs much")
	undecided := map[FindingKind]bool{}
	for _, f := range l.findings {
		if f.NotDecided {
			undecided[f.Kind] = true
		}
	}
	require.Subset(t, undecided, map[FindingKind]bool{neverFires: true, redundant: true, contradicts: true, unreachableDrill: true})
	for _, f := range l.findings {
		require.True(t, f.NotDecided || f.Kind != unreachableDrill && f.Kind != redundant, "nothing is proved without asking: %s", f.Message)
	}
}

// TestLintEndsWithItsContext: whoever asks no longer, nothing goes on for long, and nothing is said in part.
func TestLintEndsWithItsContext(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := heavy(t)
	for _, after := range []time.Duration{0, 200, 2500} {
		ctx, cancel := context.WithTimeout(t.Context(), after*time.Millisecond)
		began := time.Now()
		found, err := Lint(ctx, e)
		require.ErrorIs(t, err, context.DeadlineExceeded)
		require.Nil(t, found)
		require.Less(t, time.Since(began), after*time.Millisecond+5*time.Second)
		cancel()
	}
}
