package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"

	contract "drillwright/proto"
	"drillwright/rules"
	"drillwright/server"
)

// target is who answers: the built-in edition or a draft in this process, or a server.
type target struct {
	address string
	draft   string // the folder of a draft; "" for the built-in edition
}

func (t *target) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&t.address, "server", "", "ask the server at `ADDR` instead of the built-in edition")
}

// draftFlag lets a draft answer, for questions that its author tries it with.
func (t *target) draftFlag(cmd *cobra.Command) {
	cmd.Flags().StringVar(&t.draft, "draft", "", "ask the draft in `DIR`, as book check reads it, instead of the built-in edition")
	cmd.MarkFlagsMutuallyExclusive("draft", "server")
}

// connect opens the way to the services; the caller calls stop when done.
func (t *target) connect(cmd *cobra.Command) (conn *grpc.ClientConn, stop func(), err error) {
	if t.address == "" {
		return t.inProcess()
	}
	if err := loopback(t.address); err != nil {
		return nil, nil, misused(cmd, "--server %s: %w", t.address, err)
	}
	conn, err = grpc.NewClient(t.address, grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultServiceConfig(contract.ServiceConfig))
	if err != nil {
		return nil, nil, fmt.Errorf("connect to %q: %w", t.address, err)
	}
	return conn, func() { conn.Close() }, nil
}

// inProcess answers by the same handlers as a server, and without a socket.
func (t *target) inProcess() (*grpc.ClientConn, func(), error) {
	if os.Getenv("GOGC") == "" { // it is over before a collection pays
		debug.SetGCPercent(server.HeapGrowth)
	}
	edition, err := t.edition()
	if err != nil {
		return nil, nil, err
	}
	s, err := server.New(server.Config{Edition: edition})
	if err != nil {
		return nil, nil, fmt.Errorf("start in this process: %w", err)
	}
	return s.Local()
}

func (t *target) edition() (*rules.Edition, error) {
	if t.draft == "" {
		return rules.Embedded()
	}
	edition, _, err := readBook([]string{t.draft})
	return edition, err
}

// explained is an error of a call in the words of the server, without those of the transport.
func (t *target) explained(err error) error {
	st, ok := status.FromError(err)
	switch {
	case !ok:
		return err
	case st.Code() == codes.Unavailable && t.address != "":
		return fmt.Errorf("call %q: no server answers there", t.address)
	case st.Code() == codes.Canceled:
		return context.Canceled
	}
	return errors.New(st.Message())
}

// loopback refuses addresses that other machines can reach: what goes there is health data, in the open.
func loopback(address string) error {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return fmt.Errorf("it must be HOST:PORT, such as 127.0.0.1:7410")
	}
	if ip := net.ParseIP(host); host == "localhost" || ip != nil && ip.IsLoopback() {
		return nil
	}
	return errors.New("only loopback addresses (127.0.0.1, ::1, localhost) until there is TLS and tokens; those come later")
}
