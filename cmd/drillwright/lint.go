package main

import (
	"fmt"
	"io"
	"strings"

	"drillwright/rules/analysis"
	"drillwright/server"
)

// printFindings writes what a lint found, each with its evidence, then how many there are.
func printFindings(out io.Writer, list []analysis.Finding) error {
	b := &strings.Builder{}
	found := 0
	for _, f := range list {
		if f.NotDecided {
			fmt.Fprintf(b, "%s: %s\n", f.Kind, f.Message)
			continue
		}
		found++
		fmt.Fprintf(b, "%s: %s: %s\n", f.At, f.Kind, f.Message)
		writeIDs(b, "rules", f.Rules)
		writeIDs(b, "drills", f.Drills)
		if f.Client != nil {
			b.WriteString("  client:\n    " + strings.ReplaceAll(strings.TrimSpace(server.WriteClient(f.Client)), "\n", "\n    ") + "\n")
		}
	}
	fmt.Fprintln(b, several(found, "finding"))
	_, err := io.WriteString(out, b.String())
	return err
}

// writeIDs names a few, and says how many more there are.
func writeIDs(b *strings.Builder, what string, ids []string) {
	const most = 8
	if len(ids) == 0 {
		return
	}
	fmt.Fprintf(b, "  %s: %s", what, strings.Join(ids[:min(most, len(ids))], ", "))
	if more := len(ids) - most; more > 0 {
		fmt.Fprintf(b, " and %d more", more)
	}
	b.WriteString("\n")
}
