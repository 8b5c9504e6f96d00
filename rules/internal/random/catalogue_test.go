package random_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules/internal/random"
)

func TestDrillsStayWithinTheVocabulary(t *testing.T) {
	snap := random.Catalogue(3, 2000)
	v := snap.Vocabulary
	rows := 0
	for i, d := range snap.Drills {
		require.Equal(t, i, d.Index)
		require.Equal(t, random.DrillID(i), d.ID)
		require.NotNil(t, snap.Drill(d.Family))
		require.Equal(t, "drive", d.Main.Role)
		if len(d.Rows) == 2 {
			require.Equal(t, catalog.OneSide, d.Sides)
			rows++
		}
		for _, row := range d.Rows {
			for _, load := range row.Regions {
				require.True(t, v.Has("region", load.Region))
			}
			for _, a := range row.Arcs {
				limits := v.Motion(a.Motion).Limits
				for _, end := range []*float64{a.From, &a.To, a.Hardest} {
					if end != nil {
						require.Zero(t, math.Mod(*end, 5))
						require.GreaterOrEqual(t, *end, limits[0], a.Motion)
						require.LessOrEqual(t, *end, limits[1], a.Motion)
					}
				}
				if a.From != nil {
					require.LessOrEqual(t, *a.From, a.To)
				}
			}
		}
	}
	require.InDelta(t, 0.4, float64(rows)/2000, 0.05)
}

func BenchmarkCatalogue(b *testing.B) {
	random.Vocabulary()
	for b.Loop() {
		random.Catalogue(1, 10_000)
	}
}
