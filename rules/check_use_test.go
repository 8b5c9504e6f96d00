package rules_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules"
)

// TestUnusedTerm: the vocabulary is checked both ways.
func TestUnusedTerm(t *testing.T) {
	files := rules.EmbeddedFiles()
	for i, f := range files {
		if strings.HasSuffix(f.Name, "/vocabulary.yaml") {
			text := strings.Replace(string(f.Data), "  medicines:\n", "  medicines:\n    - {id: sea_water, name: sea water}\n", 1)
			require.NotEqual(t, text, string(f.Data))
			files[i].Data = []byte(text)
		}
	}
	_, err := rules.Read(files)
	require.ErrorContains(t, err, `medicine "sea_water" is used by no drill and no rule; use it or take it out`)
}
