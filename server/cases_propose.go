package server

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/selection"
)

// ProposedCases is the text of a file of cases: those that were proposed, and in comments what no case can exercise and
// what was not decided.
func ProposedCases(proposals []selection.Proposal) string {
	var cases, impossible, undecided []string
	for _, p := range proposals {
		said := fmt.Sprintf("#   %s: %s: %s\n#     %s\n", p.At, p.Rule.ID, strings.Join(strings.Fields(p.Text), " "), p.Proof)
		switch p.Existence {
		case analysis.Exists:
			cases = append(cases, caseText(p.Case))
		case analysis.NoClient:
			impossible = append(impossible, said)
		default:
			undecided = append(undecided, said)
		}
	}
	b := &strings.Builder{}
	if len(cases) == 0 {
		b.WriteString("cases: []\n")
	} else {
		b.WriteString("cases:\n" + strings.Join(cases, "\n"))
	}
	for _, part := range []struct {
		says string
		list []string
	}{{"No case can exercise these; each with its proof.", impossible}, {"Not decided.", undecided}} {
		if len(part.list) > 0 {
			fmt.Fprintf(b, "\n# %s\n%s", part.says, strings.Join(part.list, ""))
		}
	}
	return b.String()
}

// caseText is a case as an item of a file of cases.
func caseText(c selection.Case) string {
	b := &strings.Builder{}
	fmt.Fprintf(b, "  - id: %s\n    about: %s\n    client:\n", c.ID.Value, strconv.Quote(c.About))
	for line := range strings.Lines(WriteClient(c.Request)) {
		b.WriteString("      " + line)
	}
	fmt.Fprintf(b, "    ask: {%s}\n    want: {%s}\n", askText(&c.Ask), wantText(&c.Want))
	return b.String()
}

func askText(a *rules.CaseAsk) string {
	var parts []string
	if a.Screen {
		parts = append(parts, "screen: true")
	}
	for _, of := range []struct{ key, id string }{{"substitute", a.Substitute.Value}, {"select", a.Select.Value},
		{"explain", a.Explain.Value}} {
		if of.id != "" {
			parts = append(parts, of.key+": "+of.id)
		}
	}
	if a.Minutes > 0 {
		parts = append(parts, fmt.Sprintf("minutes: %d", a.Minutes))
	}
	parts = append(parts, listText("kit_taken", a.KitTaken)...)
	return strings.Join(append(parts, listText("stations_taken", a.StationsTaken)...), ", ")
}

// wantText writes what proposals want.
func wantText(w *rules.CaseWant) string {
	var parts []string
	for _, r := range w.Refer {
		parts = append(parts, "refer: {rule: "+r.Rule.Value+"}")
	}
	for _, of := range []struct {
		key  string
		list rules.ByRule
	}{{"barred_by", w.BarredBy}, {"cautions", w.Cautions}, {"doses", w.Doses}} {
		for _, e := range of.list {
			parts = append(parts, of.key+": {"+listText(e.Key, e.Value)[0]+"}")
		}
	}
	return strings.Join(slices.Concat(parts, listText("advice", w.Advice), listText("open", w.Open), listText("holds", w.Holds)), ", ")
}

func listText(key string, list []authored.Text) []string {
	if len(list) == 0 {
		return nil
	}
	return []string{key + ": [" + strings.Join(values(list), ", ") + "]"}
}
