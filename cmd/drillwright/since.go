package main

import (
	"github.com/spf13/cobra"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

func newBookSince(sh *shell) *cobra.Command {
	a := &asking{}
	questions := []string{"screen", "substitute", "select", "explain"}
	cmd := &cobra.Command{
		Use:   "since QUESTION",
		Short: "Say since which revision a question has had the answer that it has now",
		Long: `Asks what is live, then one earlier revision after the other, until one answers otherwise.
QUESTION is screen, substitute LIFT, select, or explain DRILL, as it would be asked with --client FILE.`,
		Example: "  drillwright book since substitute barbell-overhead-press --client client.yaml --server 127.0.0.1:7410",
		Args:    cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return misused(cmd, "QUESTION is missing")
			}
			f, err := a.read(sh, cmd)
			if err != nil {
				return err
			}
			req := &v1.FindSinceRequest{}
			names := map[string]string{"substitute": "LIFT", "explain": "DRILL"}
			wanted := []string{"QUESTION"}
			if name := names[args[0]]; name != "" {
				wanted = append(wanted, name)
			}
			if err := exactly(wanted...)(cmd, args); err != nil {
				return err
			}
			switch args[0] {
			case "screen":
				req.Question = &v1.FindSinceRequest_Screen{Screen: &v1.ScreenRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf}}
			case "substitute":
				req.Question = &v1.FindSinceRequest_Substitute{Substitute: &v1.SubstituteRequest{Profile: f.Profile, Complaints: f.Complaints,
					AsOf: f.AsOf, Lift: args[1], View: v1.View_REASONS}}
			case "select":
				req.Question = &v1.FindSinceRequest_Select{Select: &v1.SelectRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf,
					View: v1.View_REASONS}}
			case "explain":
				req.Question = &v1.FindSinceRequest_Explain{Explain: &v1.ExplainRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf,
					Drill: args[1]}}
			default:
				return misused(cmd, "unknown question %q; %s", args[0], authored.DidYouMean(args[0], questions))
			}
			conn, stop, err := a.connect(cmd)
			if err != nil {
				return err
			}
			defer stop()
			r, err := v1.NewRulebookServiceClient(conn).FindSince(cmd.Context(), req)
			if err != nil {
				return a.refused(f, err)
			}
			return a.print(sh, r, func(p *text.Page) { p.Since(r) })
		},
	}
	return a.flags(cmd)
}
