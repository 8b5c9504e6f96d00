package server

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestHeapGrowth(t *testing.T) {
	for live, percent := range map[uint64]int{0: HeapGrowth, 1 << 20: HeapGrowth, 24 << 20: HeapGrowth, 48 << 20: 200, 96 << 20: 100,
		1 << 30: leastGrowth} {
		require.Equal(t, percent, growth(live), "%d MB", live>>20)
	}
	was := debug.SetGCPercent(100)
	defer debug.SetGCPercent(was)
	TendHeap()
	set := debug.SetGCPercent(100)
	require.True(t, leastGrowth <= set && set <= HeapGrowth, "%d", set)
}

// TestAdoptedIsCalled: at the start, and each time that something else went live.
func TestAdoptedIsCalled(t *testing.T) {
	called := 0
	s, err := New(Config{Edition: embedded(), Adopted: func() { called++ }})
	require.NoError(t, err)
	require.Equal(t, 1, called)
	s.Adopt(embedded())
	require.Equal(t, 2, called)
}
