package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

func newBookCompare(sh *shell) *cobra.Command {
	to, f := &target{}, &format{}
	cmd := &cobra.Command{
		Use:   "compare FROM [TO]",
		Short: "Show what differs between two published revisions, part by part",
		Long: `Shows the rules, doses, drills, plans and other parts that differ between two revisions of a server, with what was
written before and after. Each is a revision or the number of its publication; without TO, what is live. Comments, and where and how a part is written, make no difference.`,
		Example: "  drillwright book compare 0f3c…a1 --server 127.0.0.1:7410",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return misused(cmd, "FROM is missing")
			}
			return atMost(2)(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if to.address == "" {
				return misused(cmd, "--server ADDR is missing: it is a server that keeps revisions")
			}
			conn, stop, err := to.connect(cmd)
			if err != nil {
				return err
			}
			defer stop()
			c, ends := v1.NewRulebookServiceClient(conn), [2]string{}
			for i, what := range args {
				if ends[i], err = revisionOf(cmd.Context(), c, what); err != nil {
					return to.explained(err)
				}
			}
			r, err := c.CompareRevisions(cmd.Context(), &v1.CompareRevisionsRequest{From: ends[0], To: ends[1]})
			if err != nil {
				return to.explained(err)
			}
			return f.print(sh, r, func(p *text.Page) { p.CompareRevisions(r) })
		},
	}
	to.flags(cmd)
	f.flags(cmd)
	return cmd
}
