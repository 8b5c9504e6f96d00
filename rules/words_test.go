package rules

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/rules/client"
)

// TestNoReasonStatesWhatNobodyMeasured: of clients of whom much is unknown, no reason that isn't sure is worded as a statement,
// and none, sure or not, holds a figure that nobody took.
func TestNoReasonStatesWhatNobodyMeasured(t *testing.T) {
	e := embeddedEdition(t)
	unsure := map[string]bool{}
	rapid.Check(t, func(t *rapid.T) {
		f := client.Derive(e.Frame, randomRequest(t, e))
		j := e.JudgeOne(f, e.Catalogue.Drills[rapid.IntRange(0, len(e.Catalogue.Drills)-1).Draw(t, "lift")])
		defer j.Done()
		for range 40 {
			d := e.Catalogue.Drills[rapid.IntRange(0, len(e.Catalogue.Drills)-1).Draw(t, "drill")]
			for _, r := range append(e.Book.judgedRules(), e.Book.Doses...) {
				for side := range 2 {
					for _, reason := range j.Reasons(r, d, side) {
						if strings.Contains(reason.Words, "unmeasured") {
							t.Errorf("%s: %s", r.ID, reason.Words)
						}
						if reason.Standing == Holds {
							continue
						}
						unsure[r.ID] = true
						require.True(t, r.Untested != nil || strings.HasPrefix(reason.Words, "Not ruled out: "), "%s: %s", r.ID, reason.Words)
					}
				}
			}
		}
	})
	require.Greater(t, len(unsure), 100)
}
