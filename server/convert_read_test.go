package server

import (
	"maps"
	"reflect"
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
		holdsNothing(t, reflect.ValueOf(used.wholes))
		for p, i := reflect.ValueOf(used.profile), 0; i < p.NumField(); i++ {
			if p.Field(i).Kind() == reflect.Slice {
				holdsNothing(t, p.Field(i))
			} else {
				require.Zero(t, p.Field(i).Interface(), "%s", p.Type().Field(i).Name)
			}
		}
	}
}

func holdsNothing(t *testing.T, list reflect.Value) {
	require.Zero(t, list.Len())
	for i := range list.Cap() {
		require.True(t, list.Slice(0, list.Cap()).Index(i).IsZero())
	}
}
