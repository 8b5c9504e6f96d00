package main

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/server/clientfile"
)

func newBookSchema(sh *shell) *cobra.Command {
	of := choice{words: append(rules.Kinds(), "client")}
	cmd := &cobra.Command{
		Use:   "schema [DIR]",
		Short: "Print the JSON Schema of the files, so that an editor completes and checks them",
		Long: `Prints one JSON Schema (2020-12): of any file of a folder, of files of one kind, or of client files.
Its words are those of the edition that is built in, or of the folder: print it anew after the vocabulary was changed.
An editor that reads it completes keys and words, says what each is, and marks what the strict reader would refuse
for its keys, types and words. Expressions are checked by book check alone.`,
		Example: `  drillwright book schema > drillwright.schema.json
  drillwright book schema --of client > client.schema.json
  drillwright book schema --of rules my-book`,
		Args: atMost(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			edition, _, err := readBook(args)
			if err != nil {
				return err
			}
			text, err := json.MarshalIndent(schemaOf(edition, of.value), "", "  ")
			if err != nil {
				return fmt.Errorf("write the schema: %w", err)
			}
			_, err = fmt.Fprintf(sh.out, "%s\n", text)
			return err
		},
	}
	cmd.Flags().Var(&of, "of", "the kind of file, its top `KEY`, or client (default: any file of a folder)")
	return cmd
}

func schemaOf(edition *rules.Edition, kind string) *authored.Schema {
	if kind == "client" {
		return clientfile.Schema(edition)
	}
	return edition.Schema(kind)
}
