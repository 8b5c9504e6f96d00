package server

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"

	v1 "drillwright/proto/drillwright/v1"
)

// running is a server with metrics, on loopback ports.
type running struct {
	v1.SelectionServiceClient
	t       *testing.T
	conn    *grpc.ClientConn
	server  *Server
	address string // of the metrics
	lines   bytes.Buffer
	stop    func() // and wait; then lines may be read
}

// run serves until the test ends, or stop. plant may be nil.
func run(t *testing.T, config Config, plant func(given, *checker) (response, error)) *running {
	t.Helper()
	r := &running{t: t}
	if config.Edition == nil {
		config.Edition = embedded()
	}
	config.Log = slog.New(slog.NewTextHandler(&r.lines, nil))
	var err error
	config.Metrics, err = net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	r.address = config.Metrics.Addr().String()
	r.server, err = New(config)
	require.NoError(t, err)
	r.server.checks.rest = 0
	if plant != nil {
		r.server.checks.byReference = func(g given) (response, error) { return plant(g, r.server.checks) }
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- r.server.Serve(ctx, listener) }()
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	r.conn, r.SelectionServiceClient = conn, v1.NewSelectionServiceClient(conn)
	r.stop = sync.OnceFunc(func() {
		conn.Close()
		cancel()
		require.NoError(t, <-ended)
	})
	t.Cleanup(r.stop)
	return r
}

// told is what the server tells of its metrics.
func (r *running) told() string {
	resp, err := http.Get("http://" + r.address + "/metrics")
	require.NoError(r.t, err)
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	require.NoError(r.t, err)
	return string(text)
}

// tells waits until the metrics hold a line.
func (r *running) tells(line string) {
	r.t.Helper()
	for late := time.Now().Add(20 * time.Second); !bytes.Contains([]byte(r.told()), []byte("\n"+line+"\n")); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(late) {
			r.t.Fatalf("the metrics never say %q:\n%s", line, r.told())
		}
	}
}

// gone waits until no goroutine runs something.
func (r *running) gone(what string) {
	r.t.Helper()
	stacks := make([]byte, 1<<20)
	for late := time.Now().Add(5 * time.Second); ; time.Sleep(time.Millisecond) {
		now := stacks[:runtime.Stack(stacks, true)]
		if !bytes.Contains(now, []byte(what)) {
			return
		}
		if time.Now().After(late) {
			r.t.Fatalf("%s still runs:\n%s", what, now)
		}
	}
}
