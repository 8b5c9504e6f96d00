package main

import (
	"fmt"

	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
)

func newBookCopy(sh *shell) *cobra.Command {
	t, revision := &target{}, ""
	cmd := &cobra.Command{
		Use:   "copy DIR",
		Short: "Copy a rulebook's files into a new folder, to edit them there",
		Long: `Writes every file of an edition (vocabulary, drills, rules, doses, ladders, plans and cases) into a folder that
is empty or not there yet: of what a server serves, of an earlier revision, or of the built-in edition.`,
		Example: `  drillwright book copy mybook
  drillwright book copy mybook --server 127.0.0.1:7410`,
		Args: exactly("DIR"),
		RunE: func(cmd *cobra.Command, args []string) error {
			conn, stop, err := t.connect(cmd)
			if err != nil {
				return err
			}
			defer stop()
			c := v1.NewRulebookServiceClient(conn)
			revision, err := revisionOf(cmd.Context(), c, revision)
			if err != nil {
				return t.explained(err)
			}
			r, err := c.GetRulebook(cmd.Context(), &v1.GetRulebookRequest{Revision: revision})
			if err != nil {
				return t.explained(err)
			}
			files := draftOf(r.GetFiles())
			if err := writeDraft(args[0], files); err != nil {
				return err
			}
			_, err = fmt.Fprintf(sh.out, "%s in %s.\nRevision %s\n", several(len(files), "file"), args[0], r.GetRevision())
			return err
		},
	}
	cmd.Flags().StringVar(&revision, "revision", "", "copy this `REVISION`, or the publication of this number (default: what is live)")
	t.flags(cmd)
	return cmd
}
