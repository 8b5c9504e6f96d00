package rules

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestPointsOfSomeDrillsFirst: the points of a drill are the same whichever drills are asked about before it, one by one,
// a set of them, or all.
func TestPointsOfSomeDrillsFirst(t *testing.T) {
	w := newWorld(t, 23, 80, 100)
	given := 0
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64Range(0, 1<<20).Draw(t, "client")
		f, lift := w.client(seed), w.lift(seed)
		alone, parts := w.JudgeOne(f, lift), w.Judge(f, lift)
		defer alone.Done()
		defer parts.Done()
		for range 3 {
			bits := rapid.SliceOfN(rapid.Bool(), len(w.Catalogue.Drills), len(w.Catalogue.Drills)).Draw(t, "asked")
			some := w.program.Drills(func(d int) bool { return bits[d] })
			seen := 0
			for s := range parts.Left(some) {
				seen++
				require.True(t, bits[s.Drill])
				require.Equal(t, meant(alone.ResultOf(s.Drill)), meant(s))
			}
			if seen > 0 && rapid.Bool().Draw(t, "one") {
				d := rapid.IntRange(0, len(bits)-1).Draw(t, "drill")
				require.Equal(t, meant(alone.ResultOf(d)), meant(parts.ResultOf(d)))
			}
		}
		for d := range w.Catalogue.Drills {
			s := meant(alone.ResultOf(d))
			require.Equal(t, s, meant(parts.ResultOf(d)))
			if s.Points != [2]int{} {
				given++
			}
		}
	})
	require.Positive(t, given)
}

// meant leaves out what a standing says of a side that is barred.
func meant(s DrillResult) DrillResult {
	for side := range 2 {
		if s.Barred[side] {
			s.Untested[side], s.Points[side] = false, 0
		}
	}
	return s
}
