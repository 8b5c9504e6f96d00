package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

func newBookPublish(sh *shell) *cobra.Command {
	s := &seen{}
	cmd := &cobra.Command{
		Use:   "publish DIR",
		Short: "Make a folder's rulebook live, after its preview was looked at",
		Long: `Publishes a folder on a server that has a store. It wants the revision that the draft was made from and the
digest of its preview, both of which book preview prints: nobody publishes what they haven't seen. A case that
fails, or more changes than the book's churn budget allows, stop it.`,
		Example: `  drillwright book publish mybook --server 127.0.0.1:7410 --base 4f0c... --preview 9b1e... --author "R. Oar" --note "Deadlifts after eight weeks"`,
		Args:    exactly("DIR"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := s.check(cmd); err != nil {
				return err
			}
			draft, samples, err := s.read(cmd, args[0])
			if err != nil {
				return err
			}
			draft.BaseRevision = s.base
			c, stop, err := s.open(cmd)
			if err != nil {
				return err
			}
			defer stop()
			r, err := c.PublishRulebook(cmd.Context(), &v1.PublishRulebookRequest{Draft: draft, PreviewDigest: s.digest, Samples: samples,
				AcceptChurn: s.acceptChurn, RequestId: newRequestID(), Author: s.author, Note: s.note, ValidateOnly: s.only})
			if err != nil {
				return s.explained(s.explain(err))
			}
			return s.print(sh, r, func(p *text.Page) { p.Published(r.GetRevision(), s.only) })
		},
	}
	return s.flags(cmd)
}
