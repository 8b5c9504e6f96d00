package catalog_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
)

// published is a row of testdata/published/rom_norms.csv: a mean of active range in adults, or a handbook's normal value.
type published struct {
	id, motion string
	deg        float64
	handbook   bool
	over65     bool
	fromMemory bool // the value wasn't seen in its source
}

// measuredAs says which rows are of a motion where its own words don't: the spine stands there by its
// parts, and a sided motion of it by its side.
var measuredAs = map[string][]string{
	"shoulder.external_rotation":    nil, // the table measures rotation at 90° abduction
	"shoulder.internal_rotation":    nil,
	"shoulder.external_rotation_90": {"shoulder external rotation"},
	"shoulder.internal_rotation_90": {"shoulder internal rotation"},
	"neck.flexion":                  {"cervical spine flexion"},
	"neck.extension":                {"cervical spine extension"},
	"neck.rotation":                 {"cervical spine rotation left", "cervical spine rotation right", "cervical spine rotation (each)"},
	"neck.lateral_flexion": {"cervical spine lateral flexion left", "cervical spine lateral flexion right",
		"cervical spine lateral flexion (each)"},
	"thoracic.extension": {"thoracolumbar spine extension"},
	"thoracic.rotation":  {"thoracolumbar spine rotation (each)"},
	"lumbar.flexion":     {"lumbar spine flexion"},
	"lumbar.extension":   {"lumbar spine extension", "thoracolumbar spine extension"},
	"lumbar.lateral_flexion": {"lumbar spine lateral flexion left", "lumbar spine lateral flexion right",
		"thoracolumbar spine lateral flexion (each)"},
	"hip.extension":         {"hip extension", "hip extension beyond neutral"},
	"hip.internal_rotation": {"hip internal rotation", "hip internal rotation, seated hip flexed"},
}

func TestNormsAreTheSmallestAdultMeans(t *testing.T) {
	rows := readPublished(t)
	checked := 0
	for _, m := range embeddedMotions(t) {
		for _, age := range []int{18, 65} {
			mean, ok := smallestMean(rows, m.ID, age)
			if !ok {
				continue
			}
			n := normAt(t, m, age)
			require.Equal(t, mean.deg, n.LowDeg, "%s from %d: %s is smaller", m.ID, age, mean.id)
			require.Equal(t, mean.deg, rowOf(t, rows, m.ID, n.Row).deg, "%s from %d: %s", m.ID, age, n.Row)
			require.False(t, n.Judged, "%s from %d has a mean", m.ID, age)
			checked++
		}
	}
	require.Equal(t, 44, checked, "norms that stand on a mean")
}

func TestJudgedNormsAreHandbookRowsLess15PerCent(t *testing.T) {
	rows := readPublished(t)
	checked := 0
	for _, m := range embeddedMotions(t) {
		for _, n := range m.Norms {
			if n.Row == "" {
				require.True(t, n.Judged, "%s has neither row nor judgement", m.ID)
				require.NotEmpty(t, n.Note, m.ID)
				continue
			}
			if !n.Judged {
				continue
			}
			want := handbook(t, rows, m.ID) * 0.85
			if younger, ok := smallestMean(rows, m.ID, 18); ok {
				want = min(want, younger.deg) // the old aren't presumed to reach further than the young
			}
			require.InDelta(t, want, n.LowDeg, 1e-9, "%s %v", m.ID, n.Ages)
			rowOf(t, rows, m.ID, n.Row)
			checked++
		}
	}
	require.Equal(t, 19, checked, "norms that stand on a handbook row")
}

func TestNormsFromMemorySaySo(t *testing.T) {
	rows := readPublished(t)
	for _, m := range embeddedMotions(t) {
		for _, n := range m.Norms {
			if n.Row != "" && rowOf(t, rows, m.ID, n.Row).fromMemory {
				require.Contains(t, n.Note, "from memory", "%s: %s", m.ID, n.Row)
			}
		}
	}
}

func TestNormsCoverEveryAdultAge(t *testing.T) {
	for _, m := range embeddedMotions(t) {
		if !m.HasRange() {
			require.Empty(t, m.Norms, m.ID)
			continue
		}
		for age := 18; age <= 120; age++ {
			normAt(t, m, age)
		}
		for _, n := range m.Norms {
			require.GreaterOrEqual(t, n.Ages[0], 18, "%s: nothing is presumed of a minor from adults", m.ID)
		}
	}
}

func embeddedMotions(t *testing.T) []catalog.Motion {
	snap, err := catalog.Read(catalog.EmbeddedFiles())
	require.NoError(t, err)
	require.NotEmpty(t, snap.Vocabulary.Motions)
	return snap.Vocabulary.Motions
}

func readPublished(t *testing.T) []published {
	file, err := os.Open("../testdata/published/rom_norms.csv")
	require.NoError(t, err)
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var rows []published
	for _, l := range lines[1:] {
		deg, err := strconv.ParseFloat(l[3], 64)
		require.NoError(t, err, l[0])
		statistic, population := l[4], l[5]
		rows = append(rows, published{
			id:         l[0],
			motion:     l[1] + " " + l[2],
			deg:        deg,
			handbook:   strings.HasPrefix(statistic, "handbook"),
			over65:     strings.Contains(population, "65-85 y"),
			fromMemory: l[7] == "no",
		})
	}
	return rows
}

func isOf(r published, motion string) bool {
	names, ok := measuredAs[motion]
	if !ok {
		names = []string{strings.NewReplacer(".", " ", "_", " ").Replace(motion)}
	}
	for _, name := range names {
		if r.motion == name {
			return true
		}
	}
	return false
}

func smallestMean(rows []published, motion string, age int) (published, bool) {
	var least published
	found := false
	for _, r := range rows {
		if r.handbook || r.over65 != (age >= 65) || !isOf(r, motion) {
			continue
		}
		if !found || r.deg < least.deg {
			least, found = r, true
		}
	}
	return least, found
}

func handbook(t *testing.T, rows []published, motion string) float64 {
	for _, r := range rows {
		if r.handbook && isOf(r, motion) {
			return r.deg
		}
	}
	t.Fatalf("no handbook row of %s", motion)
	return 0
}

func rowOf(t *testing.T, rows []published, motion, id string) published {
	for _, r := range rows {
		if r.id == id {
			require.True(t, isOf(r, motion), "%s names %s, a row of %s", motion, id, r.motion)
			return r
		}
	}
	t.Fatalf("%s names %s, which isn't among the published rows", motion, id)
	return published{}
}

func normAt(t *testing.T, m catalog.Motion, age int) catalog.Norm {
	for _, n := range m.Norms {
		if n.Ages[0] <= age && age <= n.Ages[1] {
			return n
		}
	}
	t.Fatalf("%s has no norm at %d", m.ID, age)
	return catalog.Norm{}
}
