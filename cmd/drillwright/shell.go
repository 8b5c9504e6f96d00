package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"drillwright/catalog/authored"
)

// shell is what a command reads and writes.
type shell struct {
	in       io.Reader
	out, err io.Writer
	env      func(string) string
}

// colour is true when a person at a terminal reads the output and hasn't asked for none.
func (sh *shell) colour() bool {
	return sh.env("NO_COLOR") == "" && sh.env("TERM") != "dumb" && sh.terminal()
}

// terminal is true when the output goes to one.
func (sh *shell) terminal() bool {
	file, ok := sh.out.(*os.File)
	return ok && term.IsTerminal(int(file.Fd()))
}

// usage is a command line that can't be carried out as it was written.
type usage struct {
	command string
	err     error
}

func (u *usage) Error() string {
	return fmt.Sprintf("%v\nsee: %s --help", u.err, u.command)
}

func (u *usage) Unwrap() error { return u.err }

func misused(cmd *cobra.Command, format string, args ...any) error {
	return &usage{cmd.CommandPath(), fmt.Errorf(format, args...)}
}

// exitCode is 0 when all went well, 2 for a command line that is wrong, 1 for everything else: problems in a
// file, an invalid client, an id that names nothing, a server that isn't there.
func exitCode(err error) int {
	var wrong *usage
	switch {
	case err == nil:
		return 0
	case errors.As(err, &wrong):
		return 2
	default:
		return 1
	}
}

// exactly checks the number of arguments in words; names are the arguments as help shows them.
func exactly(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) < len(names):
			return misused(cmd, "%s is missing", names[len(args)])
		case len(args) > len(names):
			return misused(cmd, "%q is one argument too many", args[len(names)])
		}
		return nil
	}
}

// atMost is exactly for arguments that may be left out.
func atMost(n int) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > n {
			return misused(cmd, "%q is one argument too many", args[n])
		}
		return nil
	}
}

// group is a command that only holds others.
func group(use, short string, commands ...*cobra.Command) *cobra.Command {
	cmd := &cobra.Command{Use: use, Short: short, Args: cobra.ArbitraryArgs, RunE: func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return misused(cmd, "%s needs a command", cmd.CommandPath())
		}
		var names []string
		for _, c := range commands {
			names = append(names, c.Name())
		}
		return misused(cmd, "unknown command %q; %s", args[0], authored.DidYouMean(args[0], names))
	}}
	cmd.AddCommand(commands...)
	return cmd
}

// choice is a flag that takes one of a few words.
type choice struct {
	value string
	words []string
}

func (c *choice) String() string { return c.value }
func (c *choice) Type() string   { return "word" }

// Set implements pflag.Value.
func (c *choice) Set(s string) error {
	for _, w := range c.words {
		if s == w {
			c.value = s
			return nil
		}
	}
	return fmt.Errorf("it must be %s", strings.Join(c.words, " or "))
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
