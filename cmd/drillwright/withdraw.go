package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

func newBookWithdraw(sh *shell) *cobra.Command {
	s := &signed{}
	cmd := &cobra.Command{
		Use:   "withdraw REVISION",
		Short: "Take a revision back for good",
		Long: `Withdraws a revision, named by itself or by the number of its publication: it is never served, pinned or restored again. If it is live, the latest before it that
wasn't withdrawn goes live in its place at the same moment.`,
		Example: `  drillwright book withdraw 77aa... --server 127.0.0.1:7410 --base 77aa... --author "R. Oar" --note "Lets wide benching through after a dislocation"`,
		Args:    exactly("REVISION"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := s.check(cmd); err != nil {
				return err
			}
			if s.note == "" {
				return misused(cmd, "--note SENTENCE is missing: those who find it withdrawn want to know why")
			}
			c, stop, err := s.open(cmd)
			if err != nil {
				return err
			}
			defer stop()
			revision, err := revisionOf(cmd.Context(), c, args[0])
			if err != nil {
				return s.explained(err)
			}
			r, err := c.WithdrawRevision(cmd.Context(), &v1.WithdrawRevisionRequest{Revision: revision, BaseRevision: s.base,
				RequestId: newRequestID(), Author: s.author, Note: s.note})
			if err != nil {
				return s.explained(err)
			}
			return s.print(sh, r, func(p *text.Page) { p.Withdrawn(r) })
		},
	}
	return s.flags(cmd)
}
