package main

import (
	"context"
	"net"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/descriptorpb"
	"google.golang.org/protobuf/types/known/emptypb"

	v1 "drillwright/proto/drillwright/v1"
)

func TestContractIsNotPrintedAtATerminal(t *testing.T) {
	terminal, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil && os.Getenv("DRILLWRIGHT_CI") == "" {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	require.NoError(t, err)
	defer terminal.Close()
	err = run(context.Background(), []string{"contract"}, strings.NewReader(""), terminal, terminal, os.Getenv)
	require.ErrorContains(t, err, "nothing to read at a terminal: drillwright contract > drillwright.binpb")
	require.Equal(t, 2, exitCode(err))
}

// TestOwnClientCallsAgainWhatReads counts what a server that is never available hears of each method: what reads comes five times, as
// the published policy says, what changes something once.
func TestOwnClientCallsAgainWhatReads(t *testing.T) {
	if testing.Short() {
		t.Skip("waits between the calls")
	}
	var mu sync.Mutex
	heard := map[string]int{}
	unavailable := grpc.NewServer(grpc.UnknownServiceHandler(func(_ any, stream grpc.ServerStream) error {
		method, _ := grpc.MethodFromServerStream(stream)
		mu.Lock()
		defer mu.Unlock()
		heard[method]++
		return status.Error(codes.Unavailable, "not now")
	}))
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go unavailable.Serve(listener)
	defer unavailable.Stop()

	want := map[string]int{}
	var calls sync.WaitGroup
	v1.Files().RangeFilesByPackage("drillwright.v1", func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			service := f.Services().Get(i)
			for j := range service.Methods().Len() {
				method := service.Methods().Get(j)
				name := "/" + string(service.FullName()) + "/" + string(method.Name())
				want[name] = 1
				if method.Options().(*descriptorpb.MethodOptions).GetIdempotencyLevel() == descriptorpb.MethodOptions_NO_SIDE_EFFECTS {
					want[name] = 5
				}
				calls.Go(func() {
					server := &target{address: listener.Addr().String()} // one each: a channel that fails much stops calling again
					conn, stop, err := server.connect(commandIn(t.Context()))
					if assert.NoError(t, err) {
						defer stop()
						err = conn.Invoke(context.Background(), name, &emptypb.Empty{}, &emptypb.Empty{})
						assert.Equal(t, codes.Unavailable, status.Code(err), "%s: %v", name, err)
					}
				})
			}
		}
		return true
	})
	calls.Wait()
	require.Equal(t, want, heard)
}

// TestOwnClientBridgesARestart asks a server that isn't there for the first third of a second.
func TestOwnClientBridgesARestart(t *testing.T) {
	if testing.Short() {
		t.Skip("waits between the calls")
	}
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := gone.Addr().String()
	require.NoError(t, gone.Close())
	again := grpc.NewServer(grpc.UnknownServiceHandler(func(_ any, stream grpc.ServerStream) error {
		if err := stream.RecvMsg(&emptypb.Empty{}); err != nil {
			return err
		}
		return stream.SendMsg(&emptypb.Empty{})
	}))
	defer again.Stop()
	time.AfterFunc(time.Second/3, func() {
		listener, err := net.Listen("tcp", address)
		if assert.NoError(t, err) {
			again.Serve(listener)
		}
	})
	conn, stop, err := (&target{address: address}).connect(commandIn(t.Context()))
	require.NoError(t, err)
	defer stop()
	err = conn.Invoke(context.Background(), v1.SelectionService_Screen_FullMethodName, &emptypb.Empty{}, &emptypb.Empty{})
	require.NoError(t, err)
}

func commandIn(ctx context.Context) *cobra.Command {
	cmd := &cobra.Command{}
	cmd.SetContext(ctx)
	return cmd
}
