package server

import (
	"bytes"
	"context"
	"io"
	"net"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/http2"
	"golang.org/x/net/http2/hpack"

	v1 "drillwright/proto/drillwright/v1"
)

// TestAFloodOfResetsIsPaced: a connection on which calls are begun and taken back as fast as can be has few of them looked at, and others
// are answered meanwhile.
func TestAFloodOfResetsIsPaced(t *testing.T) {
	r := run(t, Config{CheckShare: -1}, nil)
	c := sampleClient(t)
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Second)
	defer cancel()
	began := time.Now()
	conn, err := net.Dial("tcp", r.conn.Target())
	require.NoError(t, err)
	defer context.AfterFunc(ctx, func() { conn.Close() })()
	go io.Copy(io.Discard, conn) // ends with the connection
	flooded := make(chan int, 1)
	go func() { flooded <- takeBack(conn, v1.SelectionService_Screen_FullMethodName) }()
	answered := 0
	for ; ctx.Err() == nil; answered++ {
		_, err := r.Screen(t.Context(), &v1.ScreenRequest{Profile: c.Profile, AsOf: c.AsOf})
		require.NoError(t, err)
	}
	sent := <-flooded
	count := regexp.MustCompile(`rpc_server_call_duration_seconds_count{rpc_method="[^"]*Screen",rpc_response_status_code="CANCELLED",[^}]*} (\d+)`)
	looked := 0
	if found := count.FindStringSubmatch(r.told()); found != nil {
		looked, err = strconv.Atoi(found[1])
		require.NoError(t, err)
	}
	seconds := int(time.Since(began)/time.Second) + 1
	const inOneRead = 32 << 10 / 20 // so many fit into what gRPC reads at a time
	t.Logf("%d sent, %d looked at in %d s, %d others answered", sent, looked, seconds, answered)
	require.Greater(t, looked, mostResets)
	require.LessOrEqual(t, looked, seconds*(mostResets+inOneRead))
	require.Greater(t, answered, 100)
}

// takeBack begins calls of a method and takes each back, until the connection ends, and is how many.
func takeBack(conn net.Conn, method string) (sent int) {
	var block bytes.Buffer
	encoder := hpack.NewEncoder(&block)
	framer := http2.NewFramer(conn, nil)
	if _, err := conn.Write([]byte(http2.ClientPreface)); err != nil {
		return 0
	}
	err := framer.WriteSettings()
	for id := uint32(1); err == nil; id, sent = id+2, sent+1 {
		block.Reset()
		for _, field := range [][2]string{{":method", "POST"}, {":scheme", "http"}, {":path", method}, {":authority", "any"},
			{"content-type", "application/grpc"}, {"te", "trailers"}} {
			encoder.WriteField(hpack.HeaderField{Name: field[0], Value: field[1]})
		}
		if err = framer.WriteHeaders(http2.HeadersFrameParam{StreamID: id, BlockFragment: block.Bytes(), EndHeaders: true}); err == nil {
			err = framer.WriteRSTStream(id, http2.ErrCodeCancel)
		}
	}
	return sent
}

func TestARestIsASecondAtMost(t *testing.T) {
	began := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	c := &sender{}
	for range mostResets {
		c.reset(began)
	}
	require.Zero(t, c.rest(began), "so many may be taken back")
	c.reset(began.Add(400 * time.Millisecond))
	require.Equal(t, 500*time.Millisecond, c.rest(began.Add(500*time.Millisecond)))
	require.Zero(t, c.rest(began.Add(time.Second)))
	c.reset(began.Add(time.Second))
	require.Zero(t, c.rest(began.Add(time.Second)), "the next second begins anew")
}
