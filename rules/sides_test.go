package rules

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/condition"
	"drillwright/rules/internal/gen"
)

// TestNoSideNoDifference: a rule that reads nothing of a side says the same of both.
func TestNoSideNoDifference(t *testing.T) {
	seeds := rapid.Uint64Range(0, 1<<20)
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(t, seeds.Draw(t, "book"), 60, 60)
		seed := seeds.Draw(t, "client")
		f, lift := w.client(seed), w.lift(seed)
		plain := w.plainly.Judge(f, lift)
		w.truths.Each(f, uncovered(f), w.liftRow(lift), func(i int, truth *compile.Truth) {
			r := w.judged[i]
			if r.When.Reads(func(ref *condition.Ref) bool { return ref.Path != nil && ref.Path.Sided }) {
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
	q := gen.Client(seed, gen.Vocabulary(), 0.2)
	f := gen.Facts(seed, w.Frame, q)
	var drop []int
	for i, m := range q.Profile.RangeDeg {
		if f.InQuestion(gen.Vocabulary().Motion(m.Of).Region) {
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
	with, without := w.Judge(f, nil), w.Judge(gen.Facts(seed, w.Frame, &fewer), nil)
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
