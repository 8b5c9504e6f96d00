package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"drillwright/rules"
)

// answered says when a part of each form is answered.
var answered = map[string]string{
	"bitset":  "answered once, when the book is compiled",
	"scalar":  "answered once a request, and once a side where it reads the side",
	"indexed": "looked up by the client's value, once a request and side",
	"closure": "asked of each drill that the parts before it leave",
}

// printHow writes how each rule is judged, then the sums and the rules that hold closures.
func printHow(out io.Writer, list []rules.RuleHow) error {
	b := &strings.Builder{}
	for _, r := range list {
		writeRule(b, r)
	}
	b.WriteString("\nAll rules together\n")
	for _, f := range rules.Forms(list) {
		fmt.Fprintf(b, "  %-7s  %5d parts, %5d distinct  %s\n", f.Form, f.Parts, f.Distinct, answered[f.Form])
	}
	writeCostliest(b, list)
	_, err := io.WriteString(out, b.String())
	return err
}

func writeRule(b *strings.Builder, r rules.RuleHow) {
	side := "the same on both sides"
	if r.Sided() {
		side = "reads the side"
	}
	fmt.Fprintf(b, "\n%s, %s, %s\n  %s\n", r.ID, r.Effect, side, r.At)
	if len(r.Parts) == 0 {
		b.WriteString("    holds for every drill\n")
	}
	for _, p := range r.Parts {
		text := p.Text
		if p.Count > 1 {
			text = fmt.Sprintf("%d × %s", p.Count, text)
		}
		fmt.Fprintf(b, "    %-7s  %-4s  %-16s  ", p.Form, map[bool]string{true: "side"}[p.Sided], size(p))
		const indent, width = 4 + 7 + 2 + 4 + 2 + 16 + 2, 120
		for i, line := range wrapped(text, width-indent) {
			if i > 0 {
				b.WriteString(strings.Repeat(" ", indent))
			}
			b.WriteString(line + "\n")
		}
	}
}

// size is how many rows of drills a bitset holds, or how many values an index is looked up in.
func size(p rules.PartHow) string {
	what := map[string]string{"bitset": "row", "indexed": "value"}[p.Form]
	switch {
	case what == "":
		return ""
	case p.Least < p.Most:
		return fmt.Sprintf("%d to %d %ss", p.Least, p.Most, what)
	}
	return several(p.Most, what)
}

// wrapped breaks a text at blanks; a word that is longer than a line stands alone.
func wrapped(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case len([]rune(line))+1+len([]rune(word)) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	return append(lines, line)
}

// writeCostliest lists the rules that hold closures: the more closures, the costlier.
func writeCostliest(b *strings.Builder, list []rules.RuleHow) {
	dear := slices.DeleteFunc(slices.Clone(list), func(r rules.RuleHow) bool { return r.Closures() == 0 })
	slices.SortStableFunc(dear, func(a, b rules.RuleHow) int { return cmp.Compare(b.Closures(), a.Closures()) })
	if len(dear) == 0 {
		b.WriteString("\nNo rule holds a closure.\n")
		return
	}
	b.WriteString("\nRules that hold closures, the dearest first\n")
	for _, r := range dear {
		fmt.Fprintf(b, "  %5d  %s\n", r.Closures(), r.ID)
	}
}
