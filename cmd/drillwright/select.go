package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/clientfile"
	"drillwright/server/text"
)

func newSelect(sh *shell) *cobra.Command {
	a, t, v, plan, minutes := &asking{}, &taken{}, &view{}, "", int32(0)
	cmd := &cobra.Command{
		Use:     "select",
		Short:   "Build today's session",
		Example: "  drillwright select --client client.yaml --plan shoulder-session --minutes 30",
		Args:    exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			return answer(a, sh, cmd, func(c v1.SelectionServiceClient, f *clientfile.File) (*v1.SelectResponse, error) {
				return c.Select(cmd.Context(), &v1.SelectRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf,
					Plan: plan, Minutes: minutes, KitTaken: t.kit, StationsTaken: t.stations, View: v.in(&a.format)})
			}, (*text.Page).Select)
		},
	}
	cmd.Flags().StringVar(&plan, "plan", "", "`ID` of the session plan (default: the one for the sore region)")
	cmd.Flags().Int32Var(&minutes, "minutes", 0, "there are `N` minutes (default: as many as the plan says)")
	t.flags(cmd)
	v.flags(cmd)
	return a.flagsAndDraft(cmd)
}
