package catalog_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/catalog/drilltest"
)

// TestHugeCataloguesAreBounded: drills that take over from each other without end are told, and not followed.
func TestHugeCataloguesAreBounded(t *testing.T) {
	if testing.Short() {
		t.Skip("reads huge catalogues")
	}
	const many = 15_000
	chain := func(order func(i int) int) string {
		b := &strings.Builder{}
		b.WriteString("drills:\n")
		for i := range many {
			n, of := order(i), drilltest.Base
			if n > 0 {
				of = fmt.Sprintf("v-%d", n-1)
			}
			fmt.Fprintf(b, "  - {id: v-%d, name: V %d, variant_of: %s, changes: [load]}\n", n, n, of)
		}
		return b.String()
	}
	wide := &strings.Builder{}
	wide.WriteString("blocks:\n  - id: wide\n    regions:\n")
	for i := range 1900 {
		fmt.Fprintf(wide, "      r%d: {rung: x}\n", i)
	}
	wide.WriteString("drills:\n")
	for i := range many {
		fmt.Fprintf(wide, "  - {id: w-%d, name: W, use: [wide]}\n", i)
	}
	unknown := &strings.Builder{}
	unknown.WriteString("drills:\n")
	for i := range many {
		fmt.Fprintf(unknown, "  - {id: u-%d, name: U, variant_of: nobody-%d, changes: [load]}\n", i, i)
	}
	for name, one := range map[string]struct{ text, told string }{
		"parents first":  {chain(func(i int) int { return i }), "and so on, more than 50 times"},
		"parents last":   {chain(func(i int) int { return many - 1 - i }), "and so on, more than 50 times"},
		"all take much":  {wide.String(), "more problems"},
		"all of unknown": {unknown.String(), "14900 more problems from here on"},
	} {
		files := slices.Concat(drilltest.Vocabulary(), []authored.File{drilltest.File(drilltest.Base, nil, nil),
			{Name: "many.yaml", Data: []byte(one.text)}})
		_, err := catalog.Read(files)
		require.ErrorContains(t, err, one.told, name)
		require.LessOrEqual(t, strings.Count(err.Error(), "\nmany.yaml:"), 100, name)
	}
}
