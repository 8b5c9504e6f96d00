package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestGeneratedFilesAreCurrent: run go generate ./rules/client after the table of fields or the contract has changed.
func TestGeneratedFilesAreCurrent(t *testing.T) {
	root := filepath.Join("..", "..", "..")
	files, err := generate(root)
	require.NoError(t, err)
	for name, text := range files {
		committed, err := os.ReadFile(filepath.Join(root, name))
		require.NoError(t, err)
		require.Equal(t, string(text), string(committed), "%s isn't what go generate ./rules/client writes", name)
	}
}
