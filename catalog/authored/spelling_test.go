package authored

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// drillIDs are ids as authors write them, from the catalogue's files.
func drillIDs(tb testing.TB) []string {
	files, err := filepath.Glob("../data/*.yaml")
	require.NoError(tb, err)
	var ids []string
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(tb, err)
		for _, m := range drillID.FindAllSubmatch(text, -1) {
			ids = append(ids, string(m[1]))
		}
	}
	require.Greater(tb, len(ids), 500)
	return ids
}

var drillID = regexp.MustCompile(`(?m)^ *- \{?id: ([a-z0-9]+-[a-z0-9-]+)`)

// TestDistanceOfBitsIsThatOfTheTable holds the quick way against the table, on texts of few letters, so that swaps and long
// runs come up.
func TestDistanceOfBitsIsThatOfTheTable(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 4))
	text := func(most int, letters string) string {
		var b strings.Builder
		all := []rune(letters)
		for range 1 + dice.IntN(most) {
			b.WriteRune(all[dice.IntN(len(all))])
		}
		return b.String()
	}
	for range 30_000 {
		short, long := text(64, "ab-"), text(90, "ab-é")
		require.Equal(t, distanceTable([]rune(short), []rune(long)), distanceBits(short, long), "%q %q", short, long)
	}
	ids := drillIDs(t)
	for range 3000 {
		a, b := ids[dice.IntN(len(ids))], ids[dice.IntN(len(ids))]
		require.Equal(t, distanceTable([]rune(a), []rune(b)), distance(a, b, 1000), "%q %q", a, b)
	}
	require.Equal(t, 3, distance("", "abc", 1000))
	require.Equal(t, 1, distance("barbell", "babrell", 1000))
	require.Equal(t, 1, distance(strings.Repeat("é", 70), strings.Repeat("é", 71), 1000))
}

func TestNearestWords(t *testing.T) {
	ids := drillIDs(t)
	require.Equal(t, "barbell-overhead-press", Nearest("barbel-overhead-pres", ids))
	require.Empty(t, Nearest(strings.Repeat("barbell-", 16), ids), "a word of 128 letters is near none")
	require.Empty(t, NearestFew(strings.Repeat("row-", 32), ids, 5), "a word of more parts than any id is like none")
	require.Len(t, NearestFew("cable-press-standing", ids, 5), 5)
}

// BenchmarkDidYouMean: words that no rule of thumb throws out.
func BenchmarkDidYouMean(b *testing.B) {
	ids := drillIDs(b)
	for name, word := range map[string]string{
		"near": "barbel-overhead-pres", "none": "zzzzzzzzzzzzzzzzzzzzzzzzzzzz", "press": "press-" + strings.Repeat("x", 60),
		"parts": "press-row-curl-squat-lunge-hinge-raise-hold-carry-plank-step-bridge-band-cable-arm-leg", "long": strings.Repeat("x", 128),
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				DidYouMean(word, ids)
			}
		})
	}
}
