package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/clientfile"
	"drillwright/server/text"
)

func newSubstitute(sh *shell) *cobra.Command {
	a, t, v, limit := &asking{}, &taken{}, &view{}, int32(0)
	cmd := &cobra.Command{
		Use:   "substitute LIFT",
		Short: "Say what to do instead of a lift that hurts",
		Example: `  drillwright substitute barbell-overhead-press --client client.yaml
  drillwright substitute pull-up --client client.yaml --stations-taken lat_pulldown --limit 3`,
		Args: exactly("LIFT"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return answer(a, sh, cmd, func(c v1.SelectionServiceClient, f *clientfile.File) (*v1.SubstituteResponse, error) {
				return c.Substitute(cmd.Context(), &v1.SubstituteRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf,
					Lift: args[0], KitTaken: t.kit, StationsTaken: t.stations, Limit: limit, View: v.in(&a.format)})
			}, (*text.Page).Substitute)
		},
	}
	cmd.Flags().Int32Var(&limit, "limit", 0, "at most `N` substitutes (default: as many as the rulebook says)")
	t.flags(cmd)
	v.flags(cmd)
	return a.flagsAndDraft(cmd)
}
