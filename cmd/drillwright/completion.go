package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"drillwright/catalog/authored"
)

// completions write what a shell reads to complete our command lines.
var completions = map[string]func(root *cobra.Command, w io.Writer) error{
	"bash": func(root *cobra.Command, w io.Writer) error { return root.GenBashCompletionV2(w, true) },
	"fish": func(root *cobra.Command, w io.Writer) error { return root.GenFishCompletion(w, true) },
	"zsh":  func(root *cobra.Command, w io.Writer) error { return root.GenZshCompletion(w) },
}

func newCompletion() *cobra.Command {
	shells := sortedKeys(completions)
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "Print what lets a shell complete commands and flags",
		Long:  "Prints a script for bash, zsh or fish that lets it complete commands and flags.",
		Example: `  source <(drillwright completion bash)
  drillwright completion zsh > "${fpath[1]}/_drillwright"
  drillwright completion fish > ~/.config/fish/completions/drillwright.fish`,
		Args:      exactly("SHELL"),
		ValidArgs: shells,
		RunE: func(cmd *cobra.Command, args []string) error {
			write, ok := completions[args[0]]
			if !ok {
				return misused(cmd, "unknown shell %q; %s", args[0], authored.DidYouMean(args[0], shells))
			}
			if err := write(cmd.Root(), cmd.OutOrStdout()); err != nil {
				return fmt.Errorf("write for %s: %w", args[0], err)
			}
			return nil
		},
	}
}
