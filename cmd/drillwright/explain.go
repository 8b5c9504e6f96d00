package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/clientfile"
	"drillwright/server/text"
)

func newExplain(sh *shell) *cobra.Command {
	a, t, lift := &asking{}, &taken{}, ""
	cmd := &cobra.Command{
		Use:     "explain DRILL",
		Short:   "Say why a drill may or may not be done, side by side, and what would open it",
		Example: "  drillwright explain parallel-bar-dip --client client.yaml",
		Args:    exactly("DRILL"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return answer(a, sh, cmd, func(c v1.SelectionServiceClient, f *clientfile.File) (*v1.ExplainResponse, error) {
				return c.Explain(cmd.Context(), &v1.ExplainRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf,
					Drill: args[0], Lift: lift, KitTaken: t.kit, StationsTaken: t.stations})
			}, (*text.Page).Explain)
		},
	}
	cmd.Flags().StringVar(&lift, "lift", "", "judge it as a substitute for the lift `ID`")
	t.flags(cmd)
	return a.flagsAndDraft(cmd)
}
