package main

import (
	_ "embed"
	"fmt"

	"github.com/spf13/cobra"
)

//go:generate go run licences_gen.go
//go:embed licences.txt
var licences string

func newLicences() *cobra.Command {
	return &cobra.Command{
		Use:   "licences",
		Short: "List what is linked into the program, with its licences",
		Long:  "Lists the modules that are linked into the program, and prints their licences and notices whole.",
		Args:  exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			_, err := fmt.Fprint(cmd.OutOrStdout(), licences)
			return err
		},
	}
}
