package server

import (
	"bytes"
	"encoding/binary"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/encoding"
	"google.golang.org/grpc/status"

	v1 "drillwright/proto/drillwright/v1"
)

// asIs sends bytes as they are.
type asIs struct{}

func (asIs) Name() string                    { return "proto" }
func (asIs) Marshal(v any) ([]byte, error)   { return *v.(*[]byte), nil }
func (asIs) Unmarshal(d []byte, v any) error { *v.(*[]byte) = bytes.Clone(d); return nil }

var _ encoding.Codec = asIs{}

func TestMessagesThatCannotBeRead(t *testing.T) {
	r := run(t, Config{CheckShare: -1}, nil)
	const method, other = v1.SelectionService_Screen_FullMethodName, "/drillwright.v1.SelectionService/Skreen"
	ask := func(method string, message []byte, options ...grpc.CallOption) error {
		return r.conn.Invoke(t.Context(), method, &message, &[]byte{}, append(options, grpc.ForceCodec(asIs{}))...)
	}
	badText := binary.AppendUvarint([]byte{3<<3 | 2}, 2) // as_of
	badText = append(badText, 0xff, 0xfe)
	st := refuses(t, ask(method, badText), codes.InvalidArgument, "UNREADABLE_MESSAGE")
	require.Contains(t, st.Message(), "invalid UTF-8")
	refuses(t, ask(method, []byte{0xff, 0xff, 0xff}), codes.InvalidArgument, "UNREADABLE_MESSAGE")
	// What is too large gRPC refuses by itself, without details.
	require.Equal(t, codes.ResourceExhausted, status.Code(ask(method, make([]byte, 5<<20))))
	require.Equal(t, codes.ResourceExhausted, status.Code(ask(method, make([]byte, 64<<20), grpc.UseCompressor("gzip"))))
	refuses(t, ask(other, nil), codes.Unimplemented, "UNKNOWN_METHOD")
	refuses(t, ask("/no.Service/"+strings.Repeat("x", 3000), nil), codes.Unimplemented, "UNKNOWN_METHOD")

	const labels = `rpc_server_call_duration_seconds_count{rpc_method="%m",rpc_response_status_code="%c",rpc_system_name="grpc"} `
	count := func(method, code string) string { return strings.NewReplacer("%m", method, "%c", code).Replace(labels) }
	r.tells(count("drillwright.v1.SelectionService/Screen", "INVALID_ARGUMENT") + "2")
	r.tells(count("drillwright.v1.SelectionService/Screen", "RESOURCE_EXHAUSTED") + "2")
	r.tells(count(otherMethod, "UNIMPLEMENTED") + "2")
	require.NotContains(t, r.told(), "Skreen")
	r.stop()
	require.Equal(t, 6, strings.Count(r.lines.String(), "msg=call"), r.lines.String())
	require.NotContains(t, r.lines.String(), "Skreen")
}

func TestCallsInGzip(t *testing.T) {
	r := run(t, Config{CheckShare: -1}, nil)
	c := sampleClient(t)
	req := &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf}
	plain, err := r.Screen(t.Context(), req)
	require.NoError(t, err)
	packed, err := r.Screen(t.Context(), req, grpc.UseCompressor("gzip"))
	require.NoError(t, err)
	require.Equal(t, plain.String(), packed.String())
}
