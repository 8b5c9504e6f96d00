package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

func newBookRestore(sh *shell) *cobra.Command {
	s := &seen{}
	cmd := &cobra.Command{
		Use:   "restore REVISION",
		Short: "Make an earlier revision live again, after its preview was looked at",
		Long: `Restores a revision that was published before; the number of its publication names it too. It is a publication like any other: look first at
book preview --restore REVISION, which prints the digest that this command wants.`,
		Example: `  drillwright book restore 4f0c... --server 127.0.0.1:7410 --base 77aa... --preview 9b1e... --author "R. Oar" --note "Back until the review"`,
		Args:    exactly("REVISION"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := s.check(cmd); err != nil {
				return err
			}
			samples, err := s.samples(cmd)
			if err != nil {
				return err
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
			r, err := c.RestoreRevision(cmd.Context(), &v1.RestoreRevisionRequest{Revision: revision, BaseRevision: s.base, PreviewDigest: s.digest,
				Samples:     samples,
				AcceptChurn: s.acceptChurn, RequestId: newRequestID(), Author: s.author, Note: s.note, ValidateOnly: s.only})
			if err != nil {
				return s.explained(s.explain(err))
			}
			return s.print(sh, r, func(p *text.Page) { p.Published(r.GetRevision(), s.only) })
		},
	}
	return s.flags(cmd)
}
