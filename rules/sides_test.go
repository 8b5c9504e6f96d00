package rules

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
	"drillwright/rules/predicate"
)

// TestNoSideNoDifference: a rule that reads nothing of a side says the same of both.
func TestNoSideNoDifference(t *testing.T) {
	seeds := rapid.Uint64Range(0, 1<<20)
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(t, seeds.Draw(t, "book"), 60, 60)
		seed := seeds.Draw(t, "client")
		f, lift := w.client(seed), w.lift(seed)
		plain := w.reference.Judge(f, lift)
		w.truths.Each(f, uncovered(f), w.LiftRow(lift), func(i int, truth *compile.Truth) {
			r := w.judged[i]
			if r.When.Reads(func(ref *predicate.Ref) bool { return ref.Path != nil && ref.Path.Sided }) {
				return
			}
			for _, d := range w.Catalogue.Drills {
				require.Equal(t, bitsOf(heldBy(truth, r, d, 0)), bitsOf(heldBy(truth, r, d, 1)), "rule %s, drill %s: %s", r.ID, d.ID, r.CodeText)
			}
			one := w.Catalogue.Drills[int(seed)%len(w.Catalogue.Drills)]
			require.Equal(t, plain.Held(r, one, 0), plain.Held(r, one, 1), "rule %s, drill %s: %s", r.ID, one.ID, r.CodeText)
		})
	})
}

// TestFactsOfNoSide: a fact that has no side is the same on both, of every client that passes its check. The sets ask
// only one side for it.
func TestFactsOfNoSide(t *testing.T) {
	w := newWorld(t, 1, 60, 5)
	v := random.Vocabulary()
	passed := 0
	for seed := range uint64(200) {
		q := random.Client(seed, v, 0.3)
		strange(q, seed)
		if client.Check(w.Frame, q) != nil {
			continue
		}
		passed++
		f := client.Derive(w.Frame, q)
		for i, p := range w.Frame.Table.Paths {
			if p.Sided {
				continue
			}
			require.Equal(t, f.Status[0][i], f.Status[1][i], "client %d: %s", seed, p.Name)
			switch p.Kind {
			case client.Number:
				require.Equal(t, fmt.Sprint(f.Num[0][p.Slot]), fmt.Sprint(f.Num[1][p.Slot]), "client %d: %s", seed, p.Name)
			case client.Bool:
				require.Equal(t, f.Bool[0][p.Slot], f.Bool[1][p.Slot], "client %d: %s", seed, p.Name)
			default:
				require.Equal(t, f.Set[0][p.Slot], f.Set[1][p.Slot], "client %d: %s", seed, p.Name)
			}
		}
	}
	require.Greater(t, passed, 50)
}

// strange gives some clients a clearance for one region that limits a motion of another.
func strange(q *client.Request, seed uint64) {
	for i := range q.Profile.Clearances {
		if c := &q.Profile.Clearances[i]; seed%2 == 0 && len(c.RangeDeg) > 0 {
			c.RangeDeg[0].Motion, c.RangeDeg[0].ToDeg = "neck.flexion", 20
		}
	}
}

// TestDroppingAMeasureOpensNoGeneratedDrill is TestDroppingAMeasureOpensNothing on random books.
func TestDroppingAMeasureOpensNoGeneratedDrill(t *testing.T) {
	seeds := rapid.Uint64Range(0, 1<<20)
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(t, seeds.Draw(t, "book"), 80, 60)
		for range 5 {
			dropOne(t, w, seeds.Draw(t, "client"))
		}
	})
}

// dropOne takes one measure of a region in question from a client, where there is one.
func dropOne(t *rapid.T, w *world, seed uint64) {
	q := random.Client(seed, random.Vocabulary(), 0.2)
	f := random.Facts(seed, w.Frame, q)
	var drop []int
	for i, m := range q.Profile.RangeDeg {
		if f.InQuestion(random.Vocabulary().Motion(m.Of).Region, m.Side) {
			drop = append(drop, i)
		}
	}
	if len(drop) == 0 {
		return
	}
	i := rapid.SampledFrom(drop).Draw(t, "dropped")
	less := *q.Profile
	less.RangeDeg = append(append([]client.Measure{}, q.Profile.RangeDeg[:i]...), q.Profile.RangeDeg[i+1:]...)
	fewer := *q
	fewer.Profile = &less
	with, without := w.Judge(f, nil), w.Judge(random.Facts(seed, w.Frame, &fewer), nil)
	better := func(d *catalog.Drill, side int) bool {
		return without.Verdict(d, side) == Open && with.Verdict(d, side) != Open
	}
	for _, d := range w.Catalogue.Drills {
		for side := range 2 {
			if better(d, side) {
				t.Fatalf("%s on side %d is open without %v, and %s with it", d.ID, side, q.Profile.RangeDeg[i], with.Verdict(d, side))
			}
		}
	}
}
