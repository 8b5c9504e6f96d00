package main

import (
	"errors"
	"fmt"
	"io"
	"runtime/debug"

	"github.com/spf13/cobra"

	"drillwright/rules"
)

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which program this is",
		Long: `Prints the version of the program, the source that it was built from, the version of its engine, which is in
every receipt, and the Go that built it. The same source and the same Go give the same program, byte for byte:

  go build -trimpath ./cmd/drillwright`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			info, ok := debug.ReadBuildInfo()
			if !ok {
				return errors.New("the program doesn't say what it was built from")
			}
			return printVersion(cmd.OutOrStdout(), info)
		},
	}
}

func printVersion(w io.Writer, info *debug.BuildInfo) error {
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	source := "not known"
	if set["vcs.revision"] != "" {
		source = fmt.Sprintf("%s of %s", set["vcs.revision"], set["vcs.time"])
		if set["vcs.modified"] == "true" {
			source += ", and changed since"
		}
	}
	_, err := fmt.Fprintf(w, "drillwright %s\nsource  %s\nengine  %s\ngo      %s %s/%s\n", info.Main.Version, source, rules.EngineVersion,
		info.GoVersion, set["GOOS"], set["GOARCH"])
	return err
}
