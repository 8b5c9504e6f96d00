package rules

import (
	"flag"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
)

var leastJudged = flag.Int("judged", 0, "go on with generated books until this many (rule, drill, side) were judged on expr's machine")

// world is a generated book over a generated catalogue, and the same judged by reference.
type world struct {
	*Edition
	reference *Edition
	truths    *compile.Truths
}

func newWorld(t require.TestingT, seed uint64, drills, rules int) *world {
	return readWorld(t, random.Catalogue(seed, drills), append(random.Book(seed, random.Vocabulary(), rules),
		random.Doses(seed, random.Vocabulary(), 4)))
}

// bookFiles are what a generated book lacks: ladders, questions, measures and plans.
var bookFiles = authored.FilesOf(embedded, "book", "rules/book/")

// readWorld reads a book over a catalogue that is there.
func readWorld(t require.TestingT, snap *catalog.Snapshot, book []authored.File) *world {
	e, err := ReadOn(snap, book, bookFiles)
	require.NoError(t, err)
	return &world{e, e.ByReference(), e.program.NewTruths()}
}

// client draws a client of whom much, some or nothing is unknown.
func (w *world) client(seed uint64) *client.Facts {
	share := []float64{0.3, 0.05, 0.7, 0}[seed%4]
	return random.Facts(seed, w.Frame, random.Client(seed, w.Frame.Vocabulary, share))
}

// lift is a drill for most clients, and none for some.
func (w *world) lift(seed uint64) *catalog.Drill {
	if seed%5 == 4 {
		return nil
	}
	return w.Catalogue.Drills[int(seed*7)%len(w.Catalogue.Drills)]
}

// compared compares the three ways on every drill for one client.
func (w *world) compared(seed uint64) (judged int, err error) {
	f, lift := w.client(seed), w.lift(seed)
	judged, err = compared(w.Edition, w.reference, w.truths, f, lift, w.Catalogue.Drills)
	if err != nil {
		return judged, fmt.Errorf("client %d: %w", seed, err)
	}
	plain, compiled := w.reference.Judge(f, lift), w.Judge(f, lift)
	defer compiled.Done()
	return judged, waiting(plain, compiled)
}

// TestGeneratedBooksAgree: on random books, catalogues and clients the three ways say the same. With -judged it goes
// on from there, several clients a book.
func TestGeneratedBooksAgree(t *testing.T) {
	seeds := rapid.Uint64Range(0, 1<<20)
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(t, seeds.Draw(t, "book"), rapid.IntRange(60, 120).Draw(t, "drills"), rapid.IntRange(5, 40).Draw(t, "rules"))
		_, err := w.compared(seeds.Draw(t, "client"))
		require.NoError(t, err)
	})
	total := 0
	for book := uint64(0); total < *leastJudged; book++ {
		w := newWorld(t, 1<<21+book, 60+int(book*13%61), 100)
		for c := range uint64(8) {
			judged, err := w.compared(16*book + c)
			require.NoError(t, err, "book %d", book)
			total += judged
		}
	}
	if total > 0 {
		t.Logf("%d (rule, drill, side) judged three ways", total)
	}
}

// TestLargeCatalogueAgrees: closures and sets say the same on a catalogue of many words of bits, expr's machine on some
// of its drills.
func TestLargeCatalogueAgrees(t *testing.T) {
	w := newWorld(t, 11, 3000, 100)
	for seed := range uint64(3) {
		f, lift := w.client(seed), w.lift(seed)
		alone, compiled := w.JudgeOne(f, lift), w.Judge(f, lift)
		w.truths.Each(f, uncovered(f), w.LiftRow(lift), func(i int, truth *compile.Truth) {
			r := w.judged[i]
			for _, d := range w.Catalogue.Drills {
				for side := range 2 {
					if closures, sets := alone.Held(r, d, side), heldBy(truth, r, d, side); closures != sets {
						t.Fatalf("client %d, rule %s, drill %s, side %d: closures %s, sets %s", seed, r.ID, d.ID, side, bitsOf(closures), bitsOf(sets))
					}
				}
			}
		})
		for _, d := range w.Catalogue.Drills {
			require.NoError(t, summed(alone, compiled, d, int(seed)%2, "sets"))
		}
		require.NoError(t, waiting(alone, compiled))
		_, err := compared(w.Edition, w.reference, w.truths, f, lift, w.Catalogue.Drills[int(seed)*900:][:20])
		require.NoError(t, err)
	}
}
