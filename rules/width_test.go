package rules_test

import (
	"go/scanner"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const widest = 140

// TestLinesAreNotTooWide: no line of our Go has more than 140 letters, but where a raw text, such as a tag or a query, goes on beyond.
func TestLinesAreNotTooWide(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{range .GoFiles}}{{$.Dir}}/{{.}}
{{end}}{{range .TestGoFiles}}{{$.Dir}}/{{.}}
{{end}}{{range .XTestGoFiles}}{{$.Dir}}/{{.}}
{{end}}`, "drillwright/...").Output()
	require.NoError(t, err)
	files := strings.Fields(string(out))
	require.Greater(t, len(files), 300)
	for _, path := range files {
		if strings.HasSuffix(path, ".pb.go") {
			continue
		}
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		for _, line := range tooWide(text) {
			assert.Fail(t, "a line is too wide", "%s:%d", filepath.Base(path), line)
		}
	}
	assert.Equal(t, []int{3}, tooWide([]byte("package p\nvar a = `"+strings.Repeat("x", widest)+"`\n// "+strings.Repeat("y", widest)+"\n")))
}

// tooWide are the numbers of the lines that are too wide and hold no part of a raw text.
func tooWide(text []byte) []int {
	raw := map[int]bool{}
	var s scanner.Scanner
	fset := token.NewFileSet()
	file := fset.AddFile("", -1, len(text))
	s.Init(file, text, nil, 0)
	for {
		pos, tok, lit := s.Scan()
		if tok == token.EOF {
			break
		}
		if tok == token.STRING && lit[0] == '`' {
			first := file.Line(pos)
			for line := first; line <= first+strings.Count(lit, "\n"); line++ {
				raw[line] = true
			}
		}
	}
	var wide []int
	for i, line := range strings.Split(string(text), "\n") {
		if utf8.RuneCountInString(line) > widest && !raw[i+1] {
			wide = append(wide, i+1)
		}
	}
	return wide
}
