package authored_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
)

// TestColumnsCountCharacters: what stands before a quote on its line may take several bytes a character.
func TestColumnsCountCharacters(t *testing.T) {
	for _, before := range []string{"ten degrees", "10°", "10° — 20°"} {
		d := authored.NewDecoder()
		n := d.Parse(authored.File{Name: "a.yaml", Data: []byte(`top: {note: "` + before + `", when: "a > b"}`)})
		var file struct {
			Top struct {
				Note string        `yaml:"note"`
				When authored.Text `yaml:"when"`
			} `yaml:"top"`
		}
		d.Decode(n, &file)
		require.NoError(t, d.Err())
		require.Equal(t, "a > b", file.Top.When.Value)
		first := file.Top.When.PosOf(0)
		require.Equal(t, []rune(first.Source.Lines()[0])[first.Col-1], 'a', before)
	}
}
