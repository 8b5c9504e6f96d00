package selection_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
)

// TestSharesAreAsPublished: each share of the book is a ratio that was measured, rounded down and never more than the whole, and says
// where from; what stands from memory is called so.
func TestSharesAreAsPublished(t *testing.T) {
	rows := published(t, "ratios.csv")
	for _, s := range edition(t).Frame.Measures.Loads.Shares.Of {
		found := false
		for _, r := range rows {
			if r["ratio_a_to_b"] == "" {
				continue
			}
			ratio := number(t, r["ratio_a_to_b"])
			if r["drill_a"] == s.From && r["drill_b"] == s.Drill {
				ratio = 1 / ratio
			} else if r["drill_a"] != s.Drill || r["drill_b"] != s.From {
				continue
			}
			found = true
			require.InDelta(t, min(100, math.Floor(ratio*100+1e-9)), s.Percent, 1, "%s: %s of %s", r["id"], s.Drill, s.From)
			require.LessOrEqual(t, s.Percent, 100*ratio, r["id"])
			if r["confirmed"] == "no" {
				require.Equal(t, "memory", s.Source.Kind.Value, r["id"])
			}
			author, _, _ := strings.Cut(s.Source.Cite[0].Value, "-")
			require.True(t, strings.HasPrefix(strings.ToLower(r["source"]), author), "%s: %s", r["id"], author)
		}
		require.True(t, found, "%s of %s: no row", s.Drill, s.From)
	}
}

// TestImplausibleShareIsRefused: a curl above the squat, as it was printed, and any share between machines.
func TestImplausibleShareIsRefused(t *testing.T) {
	var text string
	for _, f := range rules.EmbeddedFiles() {
		if strings.HasSuffix(f.Name, "/measures.yaml") {
			text = string(f.Data)
		}
	}
	for _, r := range published(t, "ratios.csv") {
		if r["id"] != "RAT019" {
			continue
		}
		share := fmt.Sprintf("      of:\n        - {drill: %s, from: %s, percent: 118, source: {kind: published, cite: %q}}\n", r["drill_a"],
			r["drill_b"], r["source"])
		_, err := rules.ReadDraft([]authored.File{{Name: "measures.yaml", Data: []byte(strings.Replace(text, "      of:\n", share, 1))}},
			rules.EmbeddedFiles())
		require.ErrorContains(t, err, "118")
		share = strings.Replace(share, "118", "100", 1)
		_, err = rules.ReadDraft([]authored.File{{Name: "measures.yaml", Data: []byte(strings.Replace(text, "      of:\n", share, 1))}},
			rules.EmbeddedFiles())
		require.ErrorContains(t, err, "loads compare between free weights alone")
	}
}
