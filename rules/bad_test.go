package rules_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules"
)

var update = flag.Bool("update", false, "write the goldens of testdata anew")

// TestBadFiles reads each archive of testdata/bad as a draft and holds the whole message against its golden.
func TestBadFiles(t *testing.T) {
	paths, err := filepath.Glob("../testdata/bad/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			archive, err := txtar.ParseFile(path)
			require.NoError(t, err)
			var draft []catalog.File
			want := -1
			for i, f := range archive.Files {
				if f.Name == "want" {
					want = i
				} else {
					draft = append(draft, catalog.File{Name: f.Name, Data: f.Data})
				}
			}
			_, err = rules.ReadDraft(draft, rules.EmbeddedFiles())
			require.Error(t, err, "a bad file was read without a word")
			var problems catalog.Problems
			require.ErrorAs(t, err, &problems)
			got := err.Error() + "\n"
			if *update {
				archive.Files[want].Data = []byte(got)
				require.NoError(t, os.WriteFile(path, txtar.Format(archive), 0o644))
				return
			}
			require.Equal(t, string(archive.Files[want].Data), got)
		})
	}
}
