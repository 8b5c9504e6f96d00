package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestColourOnlyAtATerminal(t *testing.T) {
	with := func(out *os.File, set ...string) bool {
		sh := &shell{out: out, env: func(name string) string {
			for _, s := range set {
				if value, ok := strings.CutPrefix(s, name+"="); ok {
					return value
				}
			}
			return ""
		}}
		return sh.colour()
	}
	file, err := os.CreateTemp(t.TempDir(), "out")
	assert.NoError(t, err)
	defer file.Close()
	assert.False(t, with(file), "a file is no terminal")

	terminal, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil && os.Getenv("DRILLWRIGHT_CI") == "" {
		t.Skip("no terminal to try: ", err)
	}
	require.NoError(t, err)
	defer terminal.Close()
	assert.True(t, with(terminal, "TERM=xterm"))
	assert.False(t, with(terminal, "TERM=xterm", "NO_COLOR=1"))
	assert.False(t, with(terminal, "TERM=dumb"))
}
