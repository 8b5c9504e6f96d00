package main

import (
	"fmt"
	"log/slog"
	"net"

	"github.com/spf13/cobra"

	"drillwright/rules"
	"drillwright/server"
)

func newServe(sh *shell) *cobra.Command {
	var listen, call string
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Answer over gRPC on a loopback address until interrupted",
		Long: `Serves the built-in edition over gRPC, with health and reflection, until it is interrupted.
Prints the address it listens on. Other machines can't reach it: TLS and tokens come later.
Client data is neither stored nor logged.`,
		Example: `  drillwright serve
  drillwright serve --listen 127.0.0.1:0 --call 112`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := loopback(listen); err != nil {
				return misused(cmd, "--listen %s: %w", listen, err)
			}
			return serve(cmd, sh, listen, call)
		},
	}
	cmd.Flags().StringVar(&listen, "listen", "127.0.0.1:7410", "listen on `ADDR`; port 0 takes a free one")
	cmd.Flags().StringVar(&call, "call", "", "`TEXT` that says whom to call in an emergency (default: your local emergency number)")
	return cmd
}

func serve(cmd *cobra.Command, sh *shell, listen, call string) error {
	edition, err := rules.Embedded()
	if err != nil {
		return fmt.Errorf("read the built-in edition: %w", err)
	}
	s, err := server.New(server.Config{Edition: edition, Call: call, Log: slog.New(slog.NewTextHandler(sh.err, nil))})
	if err != nil {
		return fmt.Errorf("start: %w", err)
	}
	listener, err := net.Listen("tcp", listen)
	if err != nil {
		return fmt.Errorf("listen on %q: %w", listen, err)
	}
	fmt.Fprintf(sh.out, "listening on %s\n", listener.Addr())
	return s.Serve(cmd.Context(), listener)
}
