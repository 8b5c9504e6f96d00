package rules

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/internal/gen"
)

// sameTruths fails where two editions of the same drills and rules differ in a truth of a rule, for one client.
func sameTruths(t require.TestingT, a, b *Edition, f, g *client.Facts, lift string) {
	var seen []*compile.Truth
	copied := func(truth *compile.Truth) *compile.Truth {
		c := *truth
		c.Possible, c.Sure, c.Firm = slices.Clone(c.Possible), slices.Clone(c.Sure), slices.Clone(c.Firm)
		return &c
	}
	var ids []string
	a.NewTruths().Each(f, a.Catalogue.Drill(lift), func(r *Rule, truth *compile.Truth) {
		seen, ids = append(seen, copied(truth)), append(ids, r.ID)
	})
	i := 0
	b.NewTruths().Each(g, b.Catalogue.Drill(lift), func(r *Rule, truth *compile.Truth) {
		require.Equal(t, ids[i], r.ID)
		require.Equal(t, seen[i], copied(truth), "rule %s", r.ID)
		i++
	})
	require.Len(t, ids, i)
}
