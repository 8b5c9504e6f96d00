package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
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

// TestEveryCitationIsAnEntry: whatever of the built-in edition rests on a publication cites it by its id, rules, doses, cautions,
// plans and tables, the tags of drills and the norms of motions.
func TestEveryCitationIsAnEntry(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	n := 0
	for _, f := range rules.EmbeddedFiles() {
		var top yaml.Node
		require.NoError(t, yaml.Unmarshal(f.Data, &top), f.Name)
		walk(&top, func(m map[string]*yaml.Node) {
			at := func(node *yaml.Node) string { return fmt.Sprintf("%s:%d", f.Name, node.Line) }
			cite := m["cite"]
			if kind := m["kind"]; kind != nil && (kind.Value == "published" || kind.Value == "study") {
				require.NotNil(t, cite, "%s names no publication", at(kind))
			}
			if row := m["row"]; row != nil && m["low_deg"] != nil {
				require.NotNil(t, cite, "%s doesn't say where its row comes from", at(row))
			}
			if cite == nil || cite.Tag == "!!null" {
				return
			}
			for _, c := range append(cite.Content, cite) {
				if c.Kind == yaml.ScalarNode {
					require.NotNil(t, e.Book.Source(c.Value), "%s: %q is no id of a source", at(c), c.Value)
					n++
				}
			}
		})
	}
	require.Greater(t, n, 250)
}

// walk calls do for every mapping below a node.
func walk(n *yaml.Node, do func(map[string]*yaml.Node)) {
	if n.Kind == yaml.MappingNode {
		m := map[string]*yaml.Node{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			m[n.Content[i].Value] = n.Content[i+1]
		}
		do(m)
	}
	for _, c := range n.Content {
		walk(c, do)
	}
}

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
	return "sources:\n  - id: " + id +
		"\n    authors: [Known K, Other O]\n    year: 2001\n    title: Of knowing\n    published_in: Journal of Knowledge 1:1\n" +
		"    identifier: doi:10.1000/known\n    says: \"That it is known.\"\n    seen: " + seen + "\n"
}

// aReferral is a file of one rule of such a source.
func aReferral(source string) string {
	return "rules:\n  - id: one\n    effect: refer\n    urgency: soon\n    scope: person\n    when: \"client.age_years > 90\"\n" +
		"    because: \"See a doctor in the next few days.\"\n    source: " + source + "\n"
}

// TestSourcesOfADraft: they take the index of the base's, as any kind of file does; those of the floor stay.
func TestSourcesOfADraft(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	draft := func(texts ...string) []authored.File {
		var files []authored.File
		for i, text := range texts {
			files = append(files, authored.File{Name: []string{"one.yaml", "two.yaml"}[i], Data: []byte(text)})
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
	again, err := next.Redraft(nil)
	require.NoError(t, err)
	require.Equal(t, ids(next.Book.Sources), ids(again.Book.Sources))

	next, err = e.Redraft(draft(aSource("known-2001", "true")))
	require.NoError(t, err, "rules that aren't there may cite it")
	require.Subset(t, ids(next.Book.Sources), []string{"known-2001", "robertson-2017"}, "what stands of the base keeps its own")

	next, err = e.Redraft(draft(strings.Replace(aSource("robertson-2017", "true"), "Of knowing", "Of bones", 1)))
	require.NoError(t, err)
	require.Equal(t, "Known K & Other O 2001", next.Book.Source("robertson-2017").Short(), "the draft's takes its place")
}

func ids(list []*rules.SourceEntry) []string {
	var all []string
	for _, s := range list {
		all = append(all, s.ID.Value)
	}
	return all
}
