package server

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	v1 "drillwright/proto/drillwright/v1"
)

func TestFolderOfMismatches(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b")
	require.NoError(t, readyFolder(dir))
	require.NoError(t, readyFolder(dir), "it may be there")
	require.NoError(t, os.Chmod(dir, 0o750))
	_, err := New(Config{KeepMismatches: dir})
	require.ErrorContains(t, err, "its mode is 0750")
	require.ErrorContains(t, err, "chmod 700")

	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	require.Error(t, readyFolder(file))
}

func TestKeepsOnlySoMany(t *testing.T) {
	dir := t.TempDir()
	g := given{request: &v1.ScreenRequest{}, served: &v1.ScreenResponse{}}
	write := func(digest, differs string) {
		require.NoError(t, keep(dir, mismatch{Method: "/x/Screen", digest: digest, Differs: differs}, g, &v1.ScreenResponse{}))
	}
	for i := range mostKept + 20 {
		write(fmt.Sprint(i), "first")
	}
	write("7", "again")
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, files, mostKept)
	data, err := os.ReadFile(filepath.Join(dir, "screen-7.json"))
	require.NoError(t, err)
	require.Contains(t, string(data), `"differs": "again"`)
}
