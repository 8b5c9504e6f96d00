package server

import (
	"flag"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/selection"
)

// TestNothingIsLeftUncovered: every rule and clause of the embedded book is exercised by its cases, or it is proved that no
// case can.
func TestNothingIsLeftUncovered(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e, err := rules.Embedded()
	require.NoError(t, err)
	proofs := map[string]string{}
	all := proposed(t, e)
	require.Equal(t, ProposedCases(all), ProposedCases(proposed(t, e)), "the same book, other bytes")
	for _, p := range all {
		require.Equal(t, analysis.NoClient, p.Existence, "%s: %s: %s: %s; book cases --propose has a case if there is one", p.At, p.Rule.ID,
			p.Text, p.Proof)
		if p.Clause == nil {
			proofs[p.Rule.ID] = p.Proof
		}
	}
	require.Equal(t, "wherever it would decide, the drill is closed by refer-artery-heart-eye", proofs["vessel-dose"])
	require.Equal(t, "wherever it would decide, the drill is closed by refer-under-18-without-guardian", proofs["minor-guardian"])
	require.Equal(t, "it holds for no client on any drill", proofs["neck-nerve-far-back"])
	require.Contains(t, proofs["dose-any"], "another dose is taken before it")
	require.Len(t, proofs, 4)
}

// TestProposalsReadBack: the embedded book with a few of its files of cases alone is proposed for what they leave; the
// text is read as a file of the book, its cases pass, and they cover all that they were proposed for.
func TestProposalsReadBack(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	var files []authored.File
	for _, f := range rules.EmbeddedFiles() {
		if !strings.HasSuffix(f.Name, "cases_gaps.yaml") && !strings.HasSuffix(f.Name, "cases_other_lifts.yaml") {
			files = append(files, f)
		}
	}
	e, err := rules.Read(files)
	require.NoError(t, err)
	all := proposed(t, e)
	text := ProposedCases(all)

	e, err = rules.Read(append(files, authored.File{Name: "rules/book/cases_proposed.yaml", Data: []byte(text)}))
	require.NoError(t, err)
	cases, err := Cases(e)
	require.NoError(t, err)
	coverage, found := analysis.NewCoverage(e), 0
	outcomes, err := selection.RunCases(t.Context(), e, cases, coverage)
	require.NoError(t, err)
	for _, o := range outcomes {
		require.Empty(t, o.Faults, o.Case.ID.Value)
	}
	left := map[string]bool{}
	for _, u := range coverage.Uncovered() {
		left[u.Rule.ID+u.Text] = true
	}
	for _, p := range all {
		if p.Existence == analysis.Exists {
			found++
		}
		require.Equal(t, p.Existence != analysis.Exists, left[p.Rule.ID+p.Text], "%s: %s", p.Rule.ID, p.Text)
	}
	require.Greater(t, found, 5)
}

func proposed(t *testing.T, e *rules.Edition) []selection.Proposal {
	cases, err := Cases(e)
	require.NoError(t, err)
	coverage := analysis.NewCoverage(e)
	_, err = selection.RunCases(t.Context(), e, cases, coverage)
	require.NoError(t, err)
	all, err := selection.Propose(t.Context(), e, cases, coverage)
	require.NoError(t, err)
	return all
}

var proveAll = flag.Bool("prove", false,
	"hold all proofs of what no case can exercise against the cases of the embedded book, not those of some rules: minutes")

// TestNoProofIsRefuted: of the embedded book without its cases, nothing is proved impossible that one of them exercises. Of
// some rules with such proofs, unless all are wanted.
func TestNoProofIsRefuted(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := embedded()
	cases, err := Cases(e)
	require.NoError(t, err)
	coverage, some, least := analysis.NewCoverage(e), analysis.NewCoverage(e), 30
	_, err = selection.RunCases(t.Context(), e, cases, coverage)
	require.NoError(t, err)
	if !*proveAll {
		var few []string
		for i, u := range coverage.Uncovered() {
			if i%8 == 0 {
				few = append(few, u.Rule.ID)
			}
		}
		some.Only(few...)
		least = 3
	}
	proved := 0
	all, err := selection.Propose(t.Context(), e, nil, some)
	require.NoError(t, err)
	for _, p := range all {
		if p.Existence == analysis.NoClient {
			proved++
			require.False(t, coverage.Covers(p.Uncovered), "%s: %s: %s: %s", p.At, p.Rule.ID, p.Text, p.Proof)
		}
	}
	require.GreaterOrEqual(t, proved, least)
}
