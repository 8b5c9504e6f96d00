package random_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/internal/random"
	"drillwright/rules/predicate"
)

// read reads a generated book over the rest of the embedded edition.
func read(t *testing.T, seed uint64, n int) *rules.Edition {
	t.Helper()
	v := random.Vocabulary()
	draft := append(random.Book(seed, v, n), random.Doses(seed, v, 10))
	e, err := rules.ReadDraft(draft, rules.EmbeddedFiles())
	require.NoError(t, err)
	return e
}

// generated lists the rules of a book that are not the floor's.
func generated(e *rules.Edition) []*rules.Rule {
	var list []*rules.Rule
	for _, r := range e.Book.Rules {
		if !r.Floor {
			list = append(list, r)
		}
	}
	return list
}

func TestBooksRead(t *testing.T) {
	notShort(t)
	for seed := range uint64(3) {
		e := read(t, seed, 400)
		require.Len(t, generated(e), 400)
		require.Len(t, e.Book.Doses, 10)
	}
}

// notShort leaves a test out of -short, which CI runs under the race detector: these generate books on one goroutine.
func notShort(t *testing.T) {
	if testing.Short() {
		t.Skip("generates large books")
	}
}

// TestMix holds the generator to what it says of itself, in percent of a large book.
func TestMix(t *testing.T) {
	notShort(t)
	e := read(t, 7, 1200)
	list := generated(e)
	shares := map[string]float64{}
	for i, text := range random.Conditions(7, random.Vocabulary(), 1200) {
		r := list[i]
		require.Equal(t, text, r.CodeText)
		add := func(what string, holds bool) {
			if holds {
				shares[what] += 100.0 / 1200
			}
		}
		add(string(r.Effect), true)
		add("domain", strings.Contains(text, "(motions,") || strings.Contains(text, "(regions,") || strings.Contains(text, "(stressors,"))
		add("motions", strings.Contains(text, "(motions,"))
		add("not", strings.Contains(text, "not ") || strings.Contains(text, "!="))
		add("measured", strings.Contains(text, "measured("))
		add("lift", strings.Contains(text, "lift."))
		add("choice", strings.Contains(text, "?"))
	}
	t.Log(shares)
	for what, want := range map[string]struct{ share, within float64 }{
		"bar": {35, 5}, "caution": {20, 5}, "favour": {30, 5}, "adjust": {15, 5},
		"domain": {2.5, 0.1}, "motions": {2.5, 1}, "not": {25, 5}, "measured": {1.5, 1}, "lift": {30, 10}, "choice": {9, 4},
	} {
		require.InDelta(t, want.share, shares[what], want.within, what)
	}
}

// TestAtoms: conditions have two to eight atoms outside domains, and several levels.
func TestAtoms(t *testing.T) {
	notShort(t)
	atoms, levels := map[int]int{}, map[int]int{}
	for _, r := range generated(read(t, 8, 600)) {
		a, l := shape(r.When, predicate.Always)
		atoms[a]++
		levels[l]++
	}
	t.Log(atoms, levels)
	for n := 2; n <= 8; n++ {
		require.Positive(t, atoms[n], "%d atoms", n)
	}
	for n := 1; n <= 4; n++ {
		require.Positive(t, levels[n], "%d levels", n)
	}
}

// shape counts the atoms of a condition, one for a whole domain, and its levels: a join below one of its own
// kind is no level more.
func shape(n *predicate.Node, above predicate.Op) (atoms, levels int) {
	if n.Domain != "" || len(n.Kids) == 0 {
		return 1, 0
	}
	at := n.Op
	if n.Op == predicate.Not {
		at = above
	}
	for _, k := range n.Kids {
		a, l := shape(k, at)
		atoms, levels = atoms+a, max(levels, l)
	}
	if at != above {
		levels++
	}
	return atoms, levels
}

func TestSameSeedSameBytes(t *testing.T) {
	v := random.Vocabulary()
	whole := func(seed uint64) string {
		drills := random.Catalogue(seed, 200).Drills
		q := random.Client(seed, v, 0.3)
		text, err := json.Marshal([]any{drills, random.Book(seed, v, 200), random.Doses(seed, v, 10), q.Profile, q.Complaints, q.KitTaken,
			q.StationsTaken, q.Minutes})
		require.NoError(t, err)
		return string(text)
	}
	first, again := whole(1), whole(1)
	require.True(t, first == again)
	require.False(t, first == whole(2))
}

func TestLongBooksAreSplit(t *testing.T) {
	files := random.Book(1, random.Vocabulary(), 4000)
	require.Greater(t, len(files), 1)
	ids := 0
	for _, f := range files {
		require.Less(t, len(f.Data), authored.MaxFileBytes)
		ids += strings.Count(string(f.Data), "- id: g-")
	}
	require.Equal(t, 4000, ids)
}

func frame(t *testing.T) *client.Frame {
	t.Helper()
	e, err := rules.Embedded()
	require.NoError(t, err)
	return client.NewFrame(random.Catalogue(1, random.ClientDrills), e.Frame.Ladders, e.Frame.Lists, e.Frame.Measures)
}

func TestClientsPassTheirCheck(t *testing.T) {
	notShort(t)
	fr := frame(t)
	covered := 0
	for seed := range uint64(200) {
		q := random.Client(seed, fr.Vocabulary, []float64{0, 0.3, 0.9}[seed%3])
		require.NoError(t, client.Check(fr, q), "seed %d", seed)
		f := client.Derive(fr, q)
		covered += len(f.Covered[0]) + len(f.Covered[1])
	}
	require.Greater(t, covered, 50)
}

// TestUnknown: a fully told client leaves open no fact that a generated rule reads; the others leave some open.
func TestUnknown(t *testing.T) {
	notShort(t)
	fr := frame(t)
	list := generated(read(t, 9, 400))
	open := func(unknown float64) (open, all int) {
		for seed := range uint64(5) {
			f := random.Facts(seed, fr, random.Client(seed, fr.Vocabulary, unknown))
			for _, r := range list {
				r.When.Refs(func(ref *predicate.Ref) {
					if ref.Path == nil {
						return
					}
					all++
					if !f.Status[0][fr.Table.Index(ref.Path)].Known() {
						open++
					}
				})
			}
		}
		return open, all
	}
	none, _ := open(0)
	require.Zero(t, none)
	few, all := open(0.3)
	t.Logf("%d of %d facts read are unknown", few, all)
	require.Greater(t, few, all/20)
}
