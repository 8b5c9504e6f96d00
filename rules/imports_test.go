package rules_test

import (
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// layers from the core outwards: a package may import packages of its own layer's left only.
var layers = []string{"drillwright/catalog", "drillwright/rules/client", "drillwright/rules/internal/gen", "drillwright/rules/predicate", "drillwright/rules/compile", "drillwright/rules", "drillwright/rules/selection", "drillwright/proto", "drillwright/testdata/clients", "drillwright/server", "drillwright/cmd"}

// core packages know no wire, no database and no clock.
var core = map[string]bool{"drillwright/catalog": true, "drillwright/rules/client": true, "drillwright/rules/internal/gen": true, "drillwright/rules/predicate": true, "drillwright/rules/compile": true, "drillwright/rules": true, "drillwright/rules/selection": true}

func layer(path string) int {
	best := -1
	for i, l := range layers {
		if path == l || strings.HasPrefix(path, l+"/") && l != "drillwright/rules" {
			best = i
		}
	}
	return best
}

func TestImportsRunOneWay(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "drillwright/...").Output()
	require.NoError(t, err)
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		words := strings.Fields(line)
		from := layer(words[0])
		require.GreaterOrEqual(t, from, 0, "%s belongs to no layer", words[0])
		for _, imported := range words[1:] {
			if strings.HasPrefix(imported, "drillwright/") {
				require.LessOrEqual(t, layer(imported), from, "%s imports %s", words[0], imported)
			}
			if core[words[0]] {
				for _, outside := range []string{"google.golang.org/", "net", "database/sql", "os"} {
					require.False(t, imported == outside || strings.HasSuffix(outside, "/") && strings.HasPrefix(imported, outside), "%s imports %s", words[0], imported)
				}
			}
		}
	}
}
