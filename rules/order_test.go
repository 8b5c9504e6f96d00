package rules

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
)

// draws are what one run of a property about order is over.
type draws struct {
	book, client, mix uint64
	dice              *rand.Rand
}

const (
	orderDrills = 70
	orderRules  = 30
)

func drawn(t *rapid.T) draws {
	seeds := rapid.Uint64Range(0, 1<<20)
	d := draws{book: seeds.Draw(t, "book"), client: seeds.Draw(t, "client"), mix: seeds.Draw(t, "order")}
	d.dice = rand.New(rand.NewPCG(d.mix, 0))
	return d
}

func (d draws) files() []authored.File {
	return append(random.Book(d.book, random.Vocabulary(), orderRules), random.Doses(d.book, random.Vocabulary(), 4))
}

// TestOrderOfRulesIsNoMatter: rules in another order of file and of name say the same of every drill. Doses stay where
// they are: the first that holds is taken.
func TestOrderOfRulesIsNoMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawn(t)
		files := d.files()
		other := slices.Clone(files)
		chunks := strings.SplitAfter(string(files[0].Data), "source: {kind: judged}\n")
		head, chunks := "rules:\n", chunks[:len(chunks)-1]
		chunks[0] = strings.TrimPrefix(chunks[0], head)
		require.Len(t, chunks, orderRules)
		renamed := map[string]string{}
		for i, to := range d.dice.Perm(len(chunks)) {
			old, id := fmt.Sprintf("g-%04d", i+1), fmt.Sprintf("g-%04d", to+1)
			renamed[old], chunks[i] = id, strings.ReplaceAll(chunks[i], old, id)
		}
		d.dice.Shuffle(len(chunks), func(i, j int) { chunks[i], chunks[j] = chunks[j], chunks[i] })
		other[0].Data = []byte(head + strings.Join(chunks, ""))
		snap := random.Catalogue(d.book, orderDrills)
		a, b := readWorld(t, snap, files), readWorld(t, snap, other)
		same(t, a, b, a.client(d.client), b.client(d.client), likeness{rule: func(id string) string {
			if to, ok := renamed[id]; ok {
				return to
			}
			return id
		}})
	})
}

// TestOrderOfDrillsIsNoMatter: drills whose ids stand in another order are judged the same.
func TestOrderOfDrillsIsNoMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawn(t)
		perm := d.dice.Perm(orderDrills)
		rename := func(id string) string {
			for i, to := range perm {
				if id == random.DrillID(i) {
					return random.DrillID(to)
				}
			}
			return id
		}
		a := readWorld(t, random.Catalogue(d.book, orderDrills), d.files())
		b := readWorld(t, catalog.NewSnapshot(random.Vocabulary(), random.Changed(a.Catalogue, func(c *catalog.Drill) {
			c.ID, c.VariantOf, c.RegressTo = rename(c.ID), rename(c.VariantOf), nil
		})), d.files())
		q, other := random.Client(d.client, random.Vocabulary(), 0.3), random.Client(d.client, random.Vocabulary(), 0.3)
		for _, list := range [][]string{other.Profile.Disliked, other.Profile.GoalLifts} {
			for i := range list {
				list[i] = rename(list[i])
			}
		}
		for i := range other.Profile.Log {
			other.Profile.Log[i].Drill = rename(other.Profile.Log[i].Drill)
		}
		same(t, a, b, random.Facts(d.client, a.Frame, q), random.Facts(d.client, b.Frame, other), likeness{drill: rename})
	})
}

// TestOrderOfTagsIsNoMatter: the lists of a drill are sets.
func TestOrderOfTagsIsNoMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawn(t)
		shuffled := func(list []string) []string {
			list = slices.Clone(list)
			d.dice.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
			return list
		}
		a := readWorld(t, random.Catalogue(d.book, orderDrills), d.files())
		b := readWorld(t, catalog.NewSnapshot(random.Vocabulary(), random.Changed(a.Catalogue, func(c *catalog.Drill) {
			c.Kit, c.Planes, c.Contraindications, c.Changes = shuffled(c.Kit), shuffled(c.Planes), shuffled(c.Contraindications), shuffled(c.Changes)
			c.Muscles = catalog.Muscles{Prime: shuffled(c.Muscles.Prime), Assist: shuffled(c.Muscles.Assist), Steady: shuffled(c.Muscles.Steady)}
		})), d.files())
		same(t, a, b, a.client(d.client), b.client(d.client), likeness{})
	})
}

// TestAnotherDrillChangesNone: what is said of a drill hangs on no other drill of the catalogue.
func TestAnotherDrillChangesNone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawn(t)
		a := readWorld(t, random.Catalogue(d.book, orderDrills), d.files())
		more := random.Catalogue(d.book, orderDrills+1).Drills
		more[orderDrills].ID = random.DrillID(d.dice.IntN(orderDrills)) + "-too"
		more[orderDrills].VariantOf = ""
		b := readWorld(t, catalog.NewSnapshot(random.Vocabulary(), more), d.files())
		require.Len(t, b.Catalogue.Drills, orderDrills+1)
		same(t, a, b, a.client(d.client), b.client(d.client), likeness{})
	})
}

// likeness says which rule and which drill of one world is which of the other; nil leaves the ids as they are.
type likeness struct{ rule, drill func(id string) string }

// same wants every truth, verdict and sum of points of one world in the other.
func same(t *rapid.T, a, b *world, fa, fb *client.Facts, l likeness) {
	lift := a.Catalogue.Drills[0]
	if l.rule == nil {
		l.rule = func(id string) string { return id }
	}
	if l.drill == nil {
		l.drill = func(id string) string { return id }
	}
	twin := func(d *catalog.Drill) *catalog.Drill { return b.Catalogue.Drill(l.drill(d.ID)) }
	held := heldAll(b, fb, twin(lift))
	for id, truths := range heldAll(a, fa, lift) {
		for _, d := range a.Catalogue.Drills {
			for side := range 2 {
				want, got := truths[2*d.Index+side], held[l.rule(id)][2*twin(d).Index+side]
				if want != got {
					t.Fatalf("rule %s, drill %s, side %d: %s, and then %s", id, d.ID, side, bitsOf(want), bitsOf(got))
				}
			}
		}
	}
	before, after := a.Judge(fa, lift), b.Judge(fb, twin(lift))
	for _, d := range a.Catalogue.Drills {
		for side := range 2 {
			if x, y := before.Verdict(d, side), after.Verdict(twin(d), side); x != y {
				t.Fatalf("drill %s, side %d: %s, and then %s", d.ID, side, x, y)
			}
			if x, y := before.Favours(d, side), after.Favours(twin(d), side); x != y && before.Verdict(d, side) != NotToday {
				t.Fatalf("drill %s, side %d: %d points, and then %d", d.ID, side, x, y)
			}
		}
	}
}

// heldAll is every truth from the compiled sets, by rule, then by drill*2+side.
func heldAll(w *world, f *client.Facts, lift *catalog.Drill) map[string][]Held {
	out := map[string][]Held{}
	w.truths.Each(f, uncovered(f), w.LiftRow(lift), func(i int, truth *compile.Truth) {
		r := w.judged[i]
		list := make([]Held, 2*len(w.Catalogue.Drills))
		for _, d := range w.Catalogue.Drills {
			for side := range 2 {
				list[2*d.Index+side] = heldBy(truth, r, d, side)
			}
		}
		out[r.ID] = list
	})
	return out
}
