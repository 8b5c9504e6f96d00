package authored_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
)

// TestHugeFilesAreBounded: of what is far beyond any honest file little is told, and how much there is.
func TestHugeFilesAreBounded(t *testing.T) {
	many := func(n int, line string) string {
		b := &strings.Builder{}
		for i := range n {
			fmt.Fprintf(b, line+"\n", i)
		}
		return b.String()
	}
	for name, one := range map[string]struct{ text, told string }{
		"anchors":    {"list:\n" + many(80_000, "- &a%d x"), "79900 more problems from here on"},
		"keys":       {many(150_000, "key%d: 1"), "150000 keys under one; the most that is read is 2000"},
		"keys below": {"top:\n" + many(120_000, "  key%d: 1"), "120000 keys under one"},
		"long line":  {"list: [" + strings.Repeat("{a: 1,5}, ", 150_000) + "]", "the line has 1500008 bytes"},
		"twice":      {"list:\n" + many(60_000, "- {a: 1, a: 2} # %d"), "more problems from here on"},
		"deep":       {"list: " + strings.Repeat("\n [", 500_000), "file.yaml:"},
		"deep keys":  {strings.Repeat("{a: ", 4_000) + "1" + strings.Repeat("}", 4_000), "file.yaml"},
	} {
		d := authored.NewDecoder()
		top := d.Parse(authored.File{Name: "file.yaml", Data: []byte(one.text)})
		var into struct {
			List []string `yaml:"list"`
		}
		if top != nil {
			d.Decode(top, &into)
		}
		err := d.Err()
		require.Error(t, err, name)
		text := err.Error()
		require.Contains(t, text, one.told, name)
		require.LessOrEqual(t, strings.Count(text, "\nfile.yaml:"), 100, name)
		require.Less(t, len(text), 50_000, name)
	}
}
