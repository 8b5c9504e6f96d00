package analysis

import (
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/internal/random"
)

var builtInOnce = sync.OnceValues(rules.Embedded)

// builtIn is the built-in edition, read once for all tests: nothing changes an edition.
func builtIn(t testing.TB) *rules.Edition {
	t.Helper()
	e, err := builtInOnce()
	require.NoError(t, err)
	return e
}

// someWorld is a book over a catalogue, with clients made by chance.
type someWorld struct{ *rules.Edition }

func generated(t require.TestingT, seed uint64, drills, asked int) someWorld {
	return readOn(t, random.Catalogue(seed, drills), append(random.Book(seed, random.Vocabulary(), asked),
		random.Doses(seed, random.Vocabulary(), 4)))
}

// readOn reads a book over a catalogue that is there; what it lacks is that of the built-in edition.
func readOn(t require.TestingT, snap *catalog.Snapshot, book []authored.File) someWorld {
	e, err := rules.ReadOn(snap, book, bookFiles())
	require.NoError(t, err)
	return someWorld{e}
}

// bookFiles are those of the built-in book.
func bookFiles() []authored.File {
	return slices.DeleteFunc(rules.EmbeddedFiles(), func(f authored.File) bool { return !strings.HasPrefix(f.Name, "rules/book/") })
}

// client draws a client of whom much, some or nothing is unknown.
func (w someWorld) client(seed uint64) *client.Facts {
	share := []float64{0.3, 0.05, 0.7, 0}[seed%4]
	return random.Facts(seed, w.Frame, random.Client(seed, w.Frame.Vocabulary, share))
}

// lift is a drill for most clients, and none for some.
func (w someWorld) lift(seed uint64) *catalog.Drill {
	if seed%5 == 4 {
		return nil
	}
	return w.Catalogue.Drills[int(seed*7)%len(w.Catalogue.Drills)]
}
