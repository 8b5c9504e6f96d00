package main

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

// previewWithin is how long a preview may take: a thousand clients are asked some questions each, on two editions.
const previewWithin = 5 * time.Minute

func newBookPreview(sh *shell) *cobra.Command {
	d, to, f, restore := &drafting{}, &target{}, &format{}, ""
	cmd := &cobra.Command{
		Use:   "preview [DIR]",
		Short: "Say whose answers a draft would change, and by which rule",
		Long: `Reads a folder of rulebook files as a draft, as book check does, and asks every sample client's questions on
the draft and on what is live (the built-in edition, or that of --server): screening, a substitute for each
goal lift, and the session of the usual plan. It shows how much changes, who loses what was picked, and each
answer whose verdicts, first pick or screening change, with the rules that change it.

The sample clients come with the program; --clients adds your own, as client files with as_of.
The last line is the command that publishes the draft just as it was previewed. With --restore it previews going
back to an earlier revision instead of a draft.`,
		Example: `  drillwright book preview rules/book
  drillwright book preview my-book --clients my-clients --only-these`,
		Args: atMost(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			req := &v1.PreviewRulebookRequest{}
			var err error
			switch {
			case len(args) == 0 && restore == "":
				return misused(cmd, "DIR is missing")
			case len(args) == 1 && restore != "":
				return misused(cmd, "--restore %s is previewed instead of a folder: leave %s out", restore, args[0])
			case restore != "":
				req.Samples, err = d.samples(cmd)
			default:
				req.Draft, req.Samples, err = d.read(cmd, args[0])
			}
			if err != nil {
				return err
			}
			conn, stop, err := to.connect(cmd)
			if err != nil {
				return err
			}
			defer stop()
			ctx, cancel := context.WithTimeout(cmd.Context(), previewWithin)
			defer cancel()
			c := v1.NewRulebookServiceClient(conn)
			if req.Restore, err = revisionOf(ctx, c, restore); err != nil {
				return to.explained(err)
			}
			r, err := c.PreviewRulebook(ctx, req)
			if err != nil {
				return to.explained(d.explain(err))
			}
			return f.print(sh, r, func(p *text.Page) {
				p.Preview(r.GetPreview(), d.publishing(r.GetPreview(), req.GetRestore(), cmp.Or(to.address, "ADDR")+to.credential.again()))
			})
		},
	}
	cmd.Flags().StringVar(&restore, "restore", "", "preview going back to this `REVISION`")
	d.flags(cmd)
	to.flags(cmd)
	f.flags(cmd)
	return cmd
}

// publishing is the command that publishes, or restores, what was previewed, with the same clients.
func (d *drafting) publishing(v *v1.Previewed, restore, server string) string {
	what := "publish " + quoted(d.folder)
	if restore != "" {
		what = "restore " + quoted(restore)
	}
	return fmt.Sprintf("drillwright book %s --base %s --preview %s%s --author NAME --note TEXT --server %s",
		what, v.GetBaseRevision(), v.GetDigest(), d.again(), server)
}
