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
	"google.golang.org/grpc/status"

	contract "drillwright/proto"
	"drillwright/rules"
	"drillwright/server"
)

// target is who answers: the built-in edition or a draft in this process, or a server.
type target struct {
	address string
	credential
	draft string // the folder of a draft; "" for the built-in edition
}

func (t *target) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&t.address, "server", "", "ask the server at `ADDR` instead of the built-in edition")
	t.credential.flags(cmd)
}

// draftFlag lets a draft answer, for questions that its author tries it with.
func (t *target) draftFlag(cmd *cobra.Command) {
	cmd.Flags().StringVar(&t.draft, "draft", "", "ask the draft in `DIR`, as book check reads it, instead of the built-in edition")
	cmd.MarkFlagsMutuallyExclusive("draft", "server")
}

// connect opens the way to the services; the caller calls stop when done.
func (t *target) connect(cmd *cobra.Command) (conn *grpc.ClientConn, stop func(), err error) {
	switch {
	case t.address == "" && t.credential.again() != "":
		return nil, nil, misused(cmd, "--server ADDR is missing:%s says how to ask one", t.credential.again())
	case t.address == "":
		return t.inProcess()
	}
	options, err := t.credential.options(cmd, t.address)
	if err != nil {
		return nil, nil, err
	}
	conn, err = grpc.NewClient(t.address, append(options, grpc.WithDefaultServiceConfig(contract.ServiceConfig))...)
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
	case st.Code() == codes.Unavailable && t.address != "" && len(st.Details()) == 0:
		return fmt.Errorf("call %q: %s", t.address, t.credential.unanswered(st))
	case st.Code() == codes.Canceled:
		return context.Canceled
	}
	return errors.New(st.Message())
}

// onLoopback is false of addresses that other machines can reach.
func onLoopback(address string) (bool, error) {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false, fmt.Errorf("it must be HOST:PORT, such as 127.0.0.1:7410")
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback(), nil
}

// loopback refuses addresses that other machines can reach.
func loopback(address string) error {
	near, err := onLoopback(address)
	if err == nil && !near {
		err = errors.New("only loopback addresses (127.0.0.1, ::1, localhost): what is told there is neither encrypted nor asks for a token")
	}
	return err
}
