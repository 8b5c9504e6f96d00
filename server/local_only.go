package server

import (
	"context"
	"fmt"
	"net"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/test/bufconn"
)

// Local runs the server inside the process and connects to it, without a socket: a command that works offline
// takes the same way as one that asks a server. The caller calls stop when done.
func (s *Server) Local() (conn *grpc.ClientConn, stop func(), err error) {
	pipe := bufconn.Listen(1 << 20)
	conn, err = grpc.NewClient("passthrough:///local",
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return pipe.DialContext(ctx) }),
		grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		return nil, nil, fmt.Errorf("connect in process: %w", err)
	}
	endChecks := s.checks.start(s.config.StopWithin)
	g := s.grpc(s)
	go g.Serve(pipe) // ends with stop
	return conn, func() {
		conn.Close()
		g.Stop()
		s.tasks.close()
		endChecks()
	}, nil
}
