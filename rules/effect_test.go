package rules

import (
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEveryKeyBelongsSomewhere: a key of a rule is one that every rule has, or belongs to one effect, whose row names it; and nothing
// else is named there.
func TestEveryKeyBelongsSomewhere(t *testing.T) {
	common := []string{"id", "effect", "when", "because", "untested", "source"}
	var own []string
	for _, trait := range traits {
		require.Equal(t, trait.effect, trait.effect.trait().effect)
		require.True(t, trait.aboutDrills || trait.judged == 0 && !trait.oneRow, "%s is about the person and judged on drills", trait.effect)
		for _, k := range trait.keys {
			require.NotContains(t, own, k.key)
			own = append(own, k.key)
		}
	}
	raw := reflect.TypeFor[rawRule]()
	for i := range raw.NumField() {
		if key := raw.Field(i).Tag.Get("yaml"); key != "" && !slices.Contains(common, key) {
			require.Contains(t, own, key, "no effect has it")
			own = slices.DeleteFunc(own, func(k string) bool { return k == key })
		}
	}
	require.Empty(t, own, "no rule can say these")
}
