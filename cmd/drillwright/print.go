package main

import (
	"bytes"
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"drillwright/server/text"
)

// format is how an answer is printed.
type format struct{ choice }

func (f *format) flags(cmd *cobra.Command) {
	f.choice = choice{"text", []string{"text", "json"}}
	cmd.Flags().Var(f, "format", "print as `text|json`")
}

// print writes a message as JSON, or as render writes it on a page.
func (f *format) print(sh *shell, m proto.Message, render func(*text.Page)) error {
	if f.value == "json" {
		return sh.printJSON(m)
	}
	p := &text.Page{Colour: sh.colour()}
	render(p)
	_, err := fmt.Fprint(sh.out, p)
	return err
}

// printJSON indents with encoding/json: protojson varies its blanks on purpose, and an answer must be the same bytes.
func (sh *shell) printJSON(m proto.Message) error {
	raw, err := protojson.Marshal(m)
	if err != nil {
		return fmt.Errorf("write %T as JSON: %w", m, err)
	}
	var out bytes.Buffer
	if err := json.Indent(&out, raw, "", "  "); err != nil {
		return fmt.Errorf("indent JSON: %w", err)
	}
	out.WriteByte('\n')
	_, err = out.WriteTo(sh.out)
	return err
}
