package rules

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
)

// comeWithTheProgram are all files that do.
func comeWithTheProgram() []authored.File {
	return append(EmbeddedFiles(), authored.FilesOf(embedded, "floor", floorFolder)...)
}

// TestTrees: what is unpacked of each file that comes with the program is what parsing it comes to today, node by node, and it has no
// mistake that an unpacked file would hide.
func TestTrees(t *testing.T) {
	files := comeWithTheProgram()
	for _, f := range files {
		parsing, unpacking := authored.NewDecoder(), newDecoder()
		keys := unpacking.Trees.Keys(f)
		if !assert.NotEmpty(t, keys, "%s isn't among the trees: go generate ./rules", f.Name) {
			continue
		}
		parsed, unpacked := parsing.Parse(f), unpacking.Parse(f)
		require.NoError(t, parsing.Err())
		require.NoError(t, unpacking.Err())
		require.Equal(t, parsed, unpacked, f.Name)
		for i := range parsed.Content {
			require.Equal(t, parsing.At(parsed.Content[i]).String(), unpacking.At(unpacked.Content[i]).String())
			if i%2 == 0 {
				require.Equal(t, parsed.Content[i].Value, keys[i/2])
			}
		}
	}
	packed, err := authored.PackTrees(files)
	require.NoError(t, err)
	require.Len(t, packedTrees, len(packed), "the trees are of other files too: go generate ./rules")
}

// TestEmbeddedIsWithoutMistake: the edition that comes with the program passes all that is asked of an author's, and is the same edition.
func TestEmbeddedIsWithoutMistake(t *testing.T) {
	e, err := Embedded()
	require.NoError(t, err)
	asDraft, err := Read(EmbeddedFiles())
	require.NoError(t, err)
	require.Equal(t, e.Revision, asDraft.Revision)
	require.Equal(t, e.Files(), asDraft.Files())
	_, err = Read(commented(EmbeddedFiles())) // none of which is among the trees
	require.NoError(t, err)
}

// TestMistakeInAFileAmongTheTrees: of a file that is unpacked a mistake is told at its place, as of one that is parsed.
func TestMistakeInAFileAmongTheTrees(t *testing.T) {
	var files, longer []authored.File // without rules that cases name; the longer ones are parsed, and all stands where it did
	for _, f := range EmbeddedFiles() {
		if f.Name != "rules/book/favours.yaml" {
			files = append(files, f)
			longer = append(longer, authored.File{Name: f.Name, Data: append(bytes.Clone(f.Data), "\n\n"...)})
		}
	}
	_, unpacked := Read(files)
	_, parsed := Read(longer)
	require.ErrorContains(t, unpacked, "rules/book/cases")
	require.EqualError(t, unpacked, parsed.Error())
}

// BenchmarkStart reads the edition that comes with the program, as a start does: unpacked, its files are; parsed, each has a comment
// more and must be parsed; draft, they are parsed and held against all that is asked of an author.
func BenchmarkStart(b *testing.B) {
	files := commented(EmbeddedFiles())
	measure := func(name string, read func() (*Edition, error)) {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := read()
				require.NoError(b, err)
			}
		})
	}
	measure("unpacked", Embedded)
	measure("parsed", func() (*Edition, error) { return ReadDraft(nil, files) })
	measure("draft", func() (*Edition, error) { return Read(files) })
}
