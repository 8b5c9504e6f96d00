package rules_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
	"drillwright/rules"
)

// rewritten is the built-in edition with texts replaced, in pairs; each stands once in all files together.
func rewritten(t *testing.T, pairs ...string) *rules.Edition {
	files := rules.EmbeddedFiles()
	for i := 0; i < len(pairs); i += 2 {
		found := 0
		for k := range files {
			found += bytes.Count(files[k].Data, []byte(pairs[i]))
			files[k].Data = bytes.Replace(files[k].Data, []byte(pairs[i]), []byte(pairs[i+1]), 1)
		}
		require.Equal(t, 1, found, pairs[i])
	}
	// The cases are left as they are: those that speak of what is gone would be mistakes of this draft.
	e, err := rules.ReadDraft(withoutCases(files), rules.EmbeddedFiles())
	require.NoError(t, err)
	return e
}

func withoutCases(files []authored.File) []authored.File {
	return slices.DeleteFunc(files, func(f authored.File) bool { return strings.HasPrefix(f.Name, "rules/book/cases") })
}

// told writes changes, a line each.
func told(list []rules.PartChange) string {
	var b strings.Builder
	for _, p := range list {
		fmt.Fprintf(&b, "%s %s %s in %s\n", p.Change, p.Kind, p.ID, p.File)
		for _, f := range p.Fields {
			fmt.Fprintf(&b, "  %s: %s => %s\n", f.Field, f.Before, f.After)
		}
	}
	return b.String()
}

var edits = []string{
	"any(motions, drill.arc[#].to > client.range[#] + client.margin[#])", "any(motions, drill.arc[#].to > client.range[#] + 2)",
	"adjust: {sets: {add: -1}, effort: {cap: 6}}", "adjust: {sets: {add: -2}, reps: {times: 0.5}}",
	"dose: {sets: 3, reps: [12, 12], tempo: \"3-2-3\", rest_seconds: 90, effort: [7, 8]",
	"dose: {sets: 2, reps: [10, 12], tempo: \"3-2-3\", rest_seconds: 90, effort: [7, 8]",
	"valid_days: {range: 42", "valid_days: {range: 40",
	"- {id: shoulder, name: shoulder, sided: true}", "- {id: shoulder, name: shoulder joint, sided: true}",
	"2015\"}\n  - region: wrist\n", "2016\"}\n  - region: wrist\n",
	"{id: one-leg, name: \"Step or lunge\", purpose: train, count: 1", "{id: one-leg, name: \"Step\", purpose: finish, count: 1",
	"  - list: hip\n    name: asked about the hip and groin", "  - list: hip\n    name: asked about the groin",
	"asks: \"Have you ever had cancer?\"", "asks: \"Did you ever have cancer?\"",
	"  - id: strap-assisted-single-leg-squat\n    name: Single-leg squat holding suspension straps\n",
	"  - id: held-single-leg-squat\n    name: Single-leg squat holding suspension straps\n",
	"  - id: pistol-squat\n    name: Full single-leg squat, free leg in front\n    variant_of: single-leg-squat\n",
	"  - id: pistol-squat\n    name: Full single-leg squat, free leg in front\n    speed: slow\n    variant_of: single-leg-squat\n",
}

const editsTold = `changed dose dose-heel-pain-weeks-1-2 in rules/book/doses.yaml
  dose.reps: [12, 12] => [10, 12]
  dose.sets: 3 => 2
added drill held-single-leg-squat in catalog/data/knee_squat.yaml
changed drill pistol-squat in catalog/data/knee_squat.yaml
  speed:  => slow
removed drill strap-assisted-single-leg-squat in catalog/data/knee_squat.yaml
changed file measures in rules/book/measures.yaml
  valid_days.range: 42 => 40
changed ladder elbow in rules/book/ladders.yaml
  source.note: order of rungs judged; entry by irritability after McClure & Michener 2015 => order of rungs judged; entry by irritability after McClure & Michener 2016
changed plan knee-session in rules/book/plans.yaml
  slots[one-leg].name: Step or lunge => Step
  slots[one-leg].purpose: train => finish
changed question cancer_history in rules/book/screening.yaml
  asks: Have you ever had cancer? => Did you ever have cancer?
changed rule arc-beyond-range in rules/book/bars.yaml
  when: any(motions, drill.arc[#].to > client.range[#] + client.margin[#]) => any(motions, drill.arc[#].to > client.range[#] + 2)
changed rule moderate-irritability-dose in rules/book/adjust.yaml
  adjust.effort: {cap: 6} => 
  adjust.reps:  => {times: 0.5}
  adjust.sets.add: -1 => -2
changed screening hip in rules/book/screening.yaml
  name: asked about the hip and groin => asked about the groin
changed term regions/shoulder in catalog/data/vocabulary.yaml
  name: shoulder => shoulder joint
`

func TestCompareTellsWhatWasWritten(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	base := rewritten(t)
	after := rewritten(t, edits...)
	list := rules.Compare(base, after)
	require.Equal(t, editsTold, told(list))
	for _, p := range list {
		require.Positive(t, p.Line, p.ID)
	}

	back := told(rules.Compare(after, base))
	require.Contains(t, back, "removed drill held-single-leg-squat")
	require.Contains(t, back, "dose.sets: 2 => 3")
	require.Empty(t, rules.Compare(base, base))
}

// TestCompareKnowsTheOrderOfDoses: it decides, unlike any other order.
func TestCompareKnowsTheOrderOfDoses(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	base := rewritten(t)
	var doses string
	for _, f := range rules.EmbeddedFiles() {
		if f.Name == "rules/book/doses.yaml" {
			doses = string(f.Data)
		}
	}
	from, to := strings.Index(doses, "  - id: dose-outer-elbow\n"), strings.Index(doses, "  - id: dose-kneecap-tendon-hold\n")
	moved := doses[from:to]
	after := rewritten(t, moved, "", "  - id: dose-heel-pain-weeks-3-4\n", moved+"  - id: dose-heel-pain-weeks-3-4\n")
	require.Equal(t, `changed dose dose-outer-elbow in rules/book/doses.yaml
  order: after dose-outer-elbow-men => after dose-heel-pain-weeks-1-2
`, told(rules.Compare(base, after)))
}

// TestCompareOverlooksHowAndWhere: files under other names, without comments, their mappings in lines and in another
// order, the items of every list but the doses' in another order too.
func TestCompareOverlooksHowAndWhere(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	base, edited := rewritten(t), rewritten(t, edits...)
	random := rand.New(rand.NewPCG(3, 4))
	var files []authored.File
	for i, f := range rules.EmbeddedFiles() {
		var doc yaml.Node
		require.NoError(t, yaml.Unmarshal(f.Data, &doc))
		for k := 0; k < len(doc.Content[0].Content); k += 2 {
			key, list := doc.Content[0].Content[k].Value, doc.Content[0].Content[k+1]
			if key == "rules" || key == "cautions" || key == "plans" {
				random.Shuffle(len(list.Content), func(i, j int) { list.Content[i], list.Content[j] = list.Content[j], list.Content[i] })
			}
		}
		otherwise(random, &doc)
		data, err := yaml.Marshal(&doc)
		require.NoError(t, err)
		files = append(files, authored.File{Name: fmt.Sprintf("elsewhere/%02d.yaml", i), Data: data})
	}
	random.Shuffle(len(files), func(i, j int) { files[i], files[j] = files[j], files[i] })
	after, err := rules.Read(files)
	require.NoError(t, err)
	require.Empty(t, told(rules.Compare(base, after)))
	require.Empty(t, told(rules.Compare(after, base)))
	require.Len(t, rules.Compare(after, edited), strings.Count(editsTold, " in "))
}

// otherwise writes the same in another way.
func otherwise(random *rand.Rand, n *yaml.Node) {
	n.HeadComment, n.LineComment, n.FootComment = "", "", ""
	if n.Kind == yaml.MappingNode {
		pairs := len(n.Content) / 2
		random.Shuffle(pairs, func(i, j int) {
			n.Content[2*i], n.Content[2*j] = n.Content[2*j], n.Content[2*i]
			n.Content[2*i+1], n.Content[2*j+1] = n.Content[2*j+1], n.Content[2*i+1]
		})
	}
	switch {
	case n.Kind != yaml.ScalarNode:
		n.Style ^= yaml.FlowStyle
	case n.Style == yaml.LiteralStyle:
		n.Value, n.Style = strings.Join(strings.Fields(n.Value), " "), yaml.DoubleQuotedStyle
	}
	for _, c := range n.Content {
		otherwise(random, c)
	}
}
