package server

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"

	v1 "drillwright/proto/drillwright/v1"
)

// TestCheckRulebookLints: findings come typed, with their place and what shows them. The golden file has those of the draft's
// own rules, and is written anew with -update; the catalogue has others, for its tags and conditions are without rules.
func TestCheckRulebookLints(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	const golden = "../testdata/lint.json"
	text, err := os.ReadFile("../testdata/lint.yaml")
	require.NoError(t, err)
	s, err := New(Config{Edition: embedded()})
	require.NoError(t, err)
	r, err := s.CheckRulebook(t.Context(), &v1.CheckRulebookRequest{Lint: true,
		Draft: &v1.Draft{Files: []*v1.RulebookFile{{Name: "rules/club.yaml", Text: string(text)}}}})
	require.NoError(t, err)
	require.Empty(t, r.Problems)
	own, others := &v1.CheckRulebookResponse{}, map[string]bool{}
	for _, f := range r.Findings {
		if f.File == "rules/club.yaml" {
			own.Findings = append(own.Findings, f)
		} else {
			others[f.Kind] = true
		}
	}
	require.Equal(t, map[string]bool{"unreachable_drill": true, "condition_without_rule": true, "unexplained_tag": true}, others)
	raw, err := protojson.Marshal(own)
	require.NoError(t, err)
	var got bytes.Buffer
	require.NoError(t, json.Indent(&got, raw, "", "  "))
	if *update {
		require.NoError(t, os.WriteFile(golden, append(got.Bytes(), '\n'), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	require.JSONEq(t, string(want), got.String())
}
