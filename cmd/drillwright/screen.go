package main

import (
	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/clientfile"
	"drillwright/server/text"
)

func newScreen(sh *shell) *cobra.Command {
	a := &asking{}
	return a.flagsAndDraft(&cobra.Command{
		Use:     "screen",
		Short:   "Say whether to see a professional first, and what is still to be asked",
		Example: "  drillwright screen --client client.yaml",
		Args:    exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			return answer(a, sh, cmd, func(c v1.SelectionServiceClient, f *clientfile.File) (*v1.ScreenResponse, error) {
				return c.Screen(cmd.Context(), &v1.ScreenRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf})
			}, (*text.Page).Screen)
		},
	})
}
