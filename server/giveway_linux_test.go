package server

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestGiveWay: every thread of a process for authors' work runs where nothing else wants to.
func TestGiveWay(t *testing.T) {
	c, started, _ := child(t, "authors")
	_, err := c.do(t.Context(), checking(t))
	require.NoError(t, err)
	threads, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/stat", started.started[0].Process.Pid))
	require.NoError(t, err)
	require.Greater(t, len(threads), 2)
	for _, path := range threads {
		stat, err := os.ReadFile(path)
		require.NoError(t, err)
		_, fields, _ := strings.Cut(string(stat), ") ")
		require.Equal(t, "5", strings.Fields(fields)[38], "%s: its policy, as proc(5) numbers them", path) // SCHED_IDLE
	}
}
