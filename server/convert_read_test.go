package server

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/rules"
)

// Every entry of a map comes once, in order of its key; those that nobody knows may come last.
func TestInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids := slices.Sorted(slices.Values(rapid.SliceOfNDistinct(word5(), 0, 30, rapid.ID[string]).Draw(t, "ids")))
		m := map[string]int{}
		for i, key := range rapid.SliceOf(rapid.OneOf(word5(), rapid.SampledFrom(append(ids, "none")))).Draw(t, "keys") {
			m[key] = i
		}
		var keys []string
		for key, v := range inOrder(m, ids) {
			require.Equal(t, m[key], v)
			keys = append(keys, key)
		}
		require.Equal(t, len(m), len(keys))
		known := slices.DeleteFunc(slices.Clone(keys), func(key string) bool { return !slices.Contains(ids, key) })
		require.True(t, slices.IsSorted(known))
		if len(known) == len(keys) {
			require.Equal(t, slices.Sorted(maps.Keys(m)), keys)
		}
		rest := slices.DeleteFunc(slices.Clone(keys), func(key string) bool { return slices.Contains(ids, key) })
		require.True(t, slices.IsSorted(rest))
	})
}

// A reader that was used before reads as a new one does, and keeps nothing of whom it has read.
func TestReaderUsedAgain(t *testing.T) {
	e, err := rules.Embedded()
	require.NoError(t, err)
	full, example := fileAsked{fullProfile(t, e)}, fileAsked{sample(t)}
	used := &reader{}
	for _, m := range []fileAsked{full, example, full} {
		fresh := &reader{}
		fresh.convert(e.Frame, m)
		used.convert(e.Frame, m)
		require.Empty(t, used.list)
		require.Equal(t, fresh.request.Digest(), used.request.Digest())
		used.empty()
		p := &used.profile
		holdsNothing(t, used.measures)
		holdsNothing(t, used.wholes)
		holdsNothing(t, p.Best)
		holdsNothing(t, p.Pain)
		holdsNothing(t, p.Rungs)
		holdsNothing(t, p.Answers)
		holdsNothing(t, p.Log)
	}
}

func holdsNothing[T any](t *testing.T, room []T) {
	require.Empty(t, room)
	for _, left := range room[:cap(room)] {
		require.Zero(t, left)
	}
}
