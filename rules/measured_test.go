package rules

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/internal/random"
)

// TestMeasuredOnEitherSide: a measure taken as given, of a joint of either side or of the midline, is judged alike
// three ways.
func TestMeasuredOnEitherSide(t *testing.T) {
	w := readWorld(t, random.Catalogue(2, 60), random.Cautions([]string{"any(motions, drill.arc[#].to > client.range[#])",
		"drill.arc.neck.flexion.to > client.range.neck.flexion"}))
	f := random.Facts(3, w.Frame, random.Client(3, random.Vocabulary(), 0.5))
	for i := range random.Vocabulary().Motions {
		m := &random.Vocabulary().Motions[i]
		if !m.HasRange() {
			continue
		}
		for side := range 2 {
			_, err := compared(w.Edition, w.reference, w.truths, f.With("client.range."+m.ID, side, m.Limits[0]), nil, w.Catalogue.Drills)
			require.NoError(t, err, m.ID)
		}
	}
}
