package authored

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// writings are values as people write them, each after "key: ".
var writings = []string{
	"plain", "two words # and a comment", `"in quotes"`, `"a \"b\" \u00e9"`, `'it''s'`, `'single'`, "12", "-3.5", "true", "null", "~", "",
	"2026-11-24", "\"°\"", "é è", "[a, \"b\", 3]", "[]", "{}", "{a: 1, b: {c: [x, y]}}", "{é: x, after: y}", "[°, b, 'c']",
	"over two\n  lines", "\"over two\n  lines\"", "|\n  a block\n   of text\n", ">-\n  folded\n  text\n",
	"\n  - one\n  - {two: 2}\n  -\n    three: 3",
	"\n  deeper:\n    still: yes\n",
}

// TestTreesAreWhatParsingComesTo: whatever a file holds, its tree is unpacked as it was parsed, and at the same places.
func TestTreesAreWhatParsingComesTo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var text strings.Builder
		text.WriteString(rapid.SampledFrom([]string{"", "# What it is.\n", "\uFEFF", "---\n", "\n\n"}).Draw(t, "beginning"))
		for i, w := range rapid.SliceOfN(rapid.SampledFrom(writings), 1, 8).Draw(t, "values") {
			fmt.Fprintf(&text, "key%d: %s\n", i, w)
		}
		end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end of line")
		file := File{Name: "file.yaml", Data: []byte(strings.ReplaceAll(text.String(), "\n", end))}

		packed, err := PackTrees([]File{{Name: "other.yaml", Data: []byte("other: 1\n")}, file})
		require.NoError(t, err)
		parsing, unpacking := NewDecoder(), NewDecoder()
		unpacking.Trees = UnpackTrees(string(packed))
		parsed, unpacked := parsing.Parse(file), unpacking.Parse(file)
		require.NotNil(t, unpacking.unpacked(file, SourceOf(file)))
		require.Equal(t, parsed, unpacked)
		require.Equal(t, parsing.At(parsed).String(), unpacking.At(unpacked).String())
		for i, key := range unpacking.Trees.Keys(file) {
			require.Equal(t, parsed.Content[2*i].Value, key)
		}
	})
}

// TestTreesOfOtherBytes: a file that differs by one is parsed, and one with a mistake is never packed.
func TestTreesOfOtherBytes(t *testing.T) {
	packed, err := PackTrees([]File{{Name: "a.yaml", Data: []byte("a: 1\n")}})
	require.NoError(t, err)
	d := NewDecoder()
	d.Trees = UnpackTrees(string(packed))
	other := File{Name: "a.yaml", Data: []byte("a: 2\n")}
	require.Nil(t, d.Trees.Keys(other))
	require.Equal(t, "2", d.Parse(other).Content[1].Value)

	_, err = PackTrees([]File{{Name: "b.yaml", Data: []byte("b: 1\nb: 2\n")}})
	require.ErrorContains(t, err, "b.yaml:2:1")
	_, err = PackTrees([]File{{Name: "c.yaml", Data: []byte("c: !!binary aGk=\n")}})
	require.Error(t, err)
}
