package rules_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules"
)

// TestEveryReferralHasItsSource: what sends somebody away, and everything of the floor, rests on entries that are whole, or
// says that it rests on none.
func TestEveryReferralHasItsSource(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses, e.Book.Advices) {
		if !r.Floor && r.Effect != rules.Refer {
			continue
		}
		require.Contains(t, []string{"published", "common_practice", "memory", "judged"}, r.Source.Kind, r.ID)
		require.Equal(t, r.Source.Kind == "published", len(r.Source.Cites) > 0 && !slices.ContainsFunc(r.Source.Cites, unseen), r.ID)
		if r.Source.Kind == "memory" {
			require.NotEmpty(t, r.Source.Note, "%s: what is from memory", r.ID)
		}
		for _, s := range r.Source.Cites {
			require.NotEmpty(t, s.Authors, r.ID)
			require.NotZero(t, s.Year, r.ID)
			require.NotEmpty(t, s.Title, r.ID)
			require.NotEmpty(t, s.PublishedIn, r.ID)
			require.NotEmpty(t, s.Says, r.ID)
			require.Contains(t, s.CitedBy, r.ID)
			require.Contains(t, r.Source.Text, s.Short(), r.ID)
			if r.Floor {
				require.True(t, s.Floor, "%s cites %q, which not every book has", r.ID, s.ID.Value)
			}
		}
	}
	for _, s := range e.Book.Sources {
		require.NotEmpty(t, s.CitedBy, "nothing cites %s", s.ID.Value)
		if s.Floor {
			require.True(t, slices.ContainsFunc(s.CitedBy, func(id string) bool { return strings.HasPrefix(id, "floor-") }),
				"no rule of the floor cites %s", s.ID.Value)
		}
	}
}

func unseen(s *rules.SourceEntry) bool { return !*s.Seen }

func TestShortCitation(t *testing.T) {
	for want, authors := range map[string][]string{
		"Somerville W 1959":             {"Somerville W"},
		"McClure PW & Michener LA 1959": {"McClure PW", "Michener LA"},
		"Riebe D et al. 1959":           {"Riebe D", "Franklin BA", "Thompson PD"},
		"Wells PS et al. 1959":          {"Wells PS", "et al."},
		"US Food and Drug Agency 1959":  {"US Food and Drug Agency"},
		"Holmgren T et al. 1959":        {"Holmgren T", "Öberg B", "et al."},
	} {
		require.Equal(t, want, (&rules.SourceEntry{Authors: authors, Year: 1959}).Short())
	}
}

// aSource is a file of one entry.
func aSource(id, seen string) string {
	return "sources:\n  - id: " + id + "\n    authors: [Known K, Other O]\n    year: 2001\n    title: Of knowing\n    published_in: Journal of Knowledge 1:1\n" +
		"    identifier: doi:10.1000/known\n    says: \"That it is known.\"\n    seen: " + seen + "\n"
}

// aReferral is a file of one rule of such a source.
func aReferral(source string) string {
	return "rules:\n  - id: one\n    effect: refer\n    urgency: soon\n    scope: person\n    when: \"client.age_years > 90\"\n" +
		"    because: \"See a doctor in the next few days.\"\n    source: " + source + "\n"
}

// TestSourcesOfADraft: they take the place of the base's, as any kind of file does; those of the floor stay.
func TestSourcesOfADraft(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	draft := func(texts ...string) []catalog.File {
		var files []catalog.File
		for i, text := range texts {
			files = append(files, catalog.File{Name: []string{"one.yaml", "two.yaml"}[i], Data: []byte(text)})
		}
		return files
	}

	next, err := e.Redraft(draft(aReferral("{kind: published, cite: [robertson-2017, riebe-2015]}")))
	require.NoError(t, err, "the base's sources are there")
	require.Equal(t, "Robertson GAJ & Wood AM 2017; Riebe D et al. 2015", next.Book.Rule("one").Source.Text)

	next, err = e.Redraft(draft(aReferral("{kind: memory, cite: [known-2001, riebe-2015], note: half of it}"),
		strings.Replace(aSource("known-2001", "false"), "seen:", "unsure: \"All of it.\"\n    seen:", 1)))
	require.NoError(t, err)
	require.Equal(t, "Known K & Other O 2001 (from memory); Riebe D et al. 2015", next.Book.Rule("one").Source.Text)
	require.NotContains(t, ids(next.Book.Sources), "robertson-2017")
	require.Equal(t, []string{"one"}, next.Book.Sources[slices.Index(ids(next.Book.Sources), "known-2001")].CitedBy)

	_, err = e.Redraft(draft(aSource("known-2001", "true")))
	require.ErrorContains(t, err, `refer.yaml`, "the base's rules have lost theirs")
	require.ErrorContains(t, err, `unknown source "robertson-2017"`)
	require.NotContains(t, err.Error(), "known-2001\";", "rules that aren't there may cite it")
}

func ids(list []*rules.SourceEntry) []string {
	var all []string
	for _, s := range list {
		all = append(all, s.ID.Value)
	}
	return all
}
