package rules

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/internal/random"
)

// caughtWithin is how many (rule, drill, side) may be judged on expr's machine before a fault in one index is found.
const caughtWithin = 400_000

// TestPlantedFaultIsCaughtByGeneratedBooks: the comparison behind TestGeneratedBooksAgree finds a fault in one index.
func TestPlantedFaultIsCaughtByGeneratedBooks(t *testing.T) {
	judged := 0
	for book := uint64(0); judged < caughtWithin; book++ {
		w := newWorld(t, book, 100, 100)
		w.Edition = w.Planted("")
		w.truths = w.program.NewTruths()
		for seed := range uint64(4) {
			n, err := w.compared(seed)
			judged += n
			if err != nil {
				t.Logf("book %d, after %d judged: %v", book, judged, err)
				return
			}
		}
	}
	t.Fatalf("nothing found after %d judged", judged)
}

// TestPlantedFaultIsCaughtByClients: a dozen clients judged three ways on the embedded edition find it too.
func TestPlantedFaultIsCaughtByClients(t *testing.T) {
	sound := embeddedEdition(t)
	e, reference := sound.Planted("drill.rung.shoulder"), sound.ByReference()
	truths := e.program.NewTruths()
	judged := 0
	for seed := range uint64(12) {
		q := random.Client(seed, e.Frame.Vocabulary, 0.3)
		q.Profile.Disliked, q.Profile.GoalLifts, q.Profile.Log = nil, nil, nil // they name drills of a generated catalogue
		few := e.Catalogue.Drills[int(seed)*60:][:40]
		n, err := compared(e, reference, truths, client.Derive(e.Frame, q), few[0], few)
		judged += n
		if err != nil {
			t.Logf("client %d of 12, after %d judged: %v", seed+1, judged, err)
			require.LessOrEqual(t, judged, caughtWithin)
			return
		}
	}
	t.Fatalf("nothing found after %d judged", judged)
}
