package main

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/grpc/health/grpc_health_v1"
)

// defaultAddress is where a server listens that isn't told.
const defaultAddress = "127.0.0.1:7410"

// healthWithin is how long a server may take to say how it is.
const healthWithin = 5 * time.Second

func newHealth() *cobra.Command {
	var to target
	cmd := &cobra.Command{
		Use:   "health",
		Short: "Say whether a server answers, for what watches over it",
		Long: `Asks a server whether it serves, and says so in a line. It ends with 0 when the server does; with 1 when it says that it
doesn't (while it starts or stops, or was without its store for too long), or when nothing answers within five seconds.`,
		Example: `  drillwright health
  drillwright health --server 127.0.0.1:7411`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			conn, stop, err := to.connect(cmd)
			if err != nil {
				return err
			}
			defer stop()
			ctx, cancel := context.WithTimeout(cmd.Context(), healthWithin)
			defer cancel()
			is, err := grpc_health_v1.NewHealthClient(conn).Check(ctx, &grpc_health_v1.HealthCheckRequest{})
			if err != nil {
				return to.explained(err)
			}
			if is.GetStatus() != grpc_health_v1.HealthCheckResponse_SERVING {
				return fmt.Errorf("the server at %s says %s", to.address, is.GetStatus())
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "the server at %s is serving\n", to.address)
			return err
		},
	}
	to.flags(cmd)
	server := cmd.Flags().Lookup("server")
	server.Usage, server.DefValue, to.address = "ask the server at `ADDR`", defaultAddress, defaultAddress
	return cmd
}
