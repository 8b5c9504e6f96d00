package main

import (
	"os"
	"os/exec"
	"runtime"

	"github.com/spf13/cobra"

	"drillwright/server"
)

// authorsWork is the command of the process in which a server has drafts checked, previewed and held against the reference.
const authorsWork = "authors"

func newAuthorsWork(sh *shell) *cobra.Command {
	return &cobra.Command{
		Use:    authorsWork,
		Short:  "Do the work of authors for the server that starts this",
		Hidden: true,
		Args:   exactly(),
		// An interrupt that a terminal sends to both is for the server: main keeps it away here, and the server ends this process.
		RunE: func(*cobra.Command, []string) error {
			runtime.GOMAXPROCS(1)
			return server.DoAuthorsWork(sh.in, sh.out, sh.err)
		},
	}
}

// authorsProcess starts this very program, whatever stands in its place on disk by now.
func authorsProcess() (func() *exec.Cmd, error) {
	program := "/proc/self/exe" // Linux has it
	if _, err := os.Stat(program); err != nil {
		if program, err = os.Executable(); err != nil {
			return nil, err
		}
	}
	return func() *exec.Cmd {
		return &exec.Cmd{Path: program, Args: []string{"drillwright", authorsWork}}
	}, nil
}
