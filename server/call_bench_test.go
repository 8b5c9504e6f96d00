package server

import (
	"context"
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/mem"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// BenchmarkCall measures whole calls over loopback, both ends in this process, the caller sending and taking bytes as they are:
//
//	CALL        the call, as it is served
//	empty/CALL  the same less its handler: read, held to its limits, answered by a copy made before
//	floor/CALL  the same bytes both ways through the same transport, which reads nothing of them
//
// Run it on one core (-cpu 1): a ratio of CALL to its floor is what the engine costs beyond its bytes. The client is one of whom everything
// is known; substitute_example is the example client, who reports a tenth of that.
func BenchmarkCall(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(HeapGrowth)) // as serve runs
	e, err := rules.Embedded()
	require.NoError(b, err)
	s, err := New(Config{Edition: e})
	require.NoError(b, err)
	full, example := fullProfile(b, e), sample(b)
	for _, one := range []struct {
		name, method string
		request      proto.Message
	}{
		{"substitute", "Substitute", &v1.SubstituteRequest{Profile: full.Profile, Complaints: full.Complaints, AsOf: full.AsOf,
			Lift: "barbell-overhead-press", View: v1.View_BASIC}},
		{"substitute_example", "Substitute", &v1.SubstituteRequest{Profile: example.Profile, Complaints: example.Complaints, AsOf: example.AsOf,
			Lift: "barbell-overhead-press", View: v1.View_BASIC}},
		{"select", "Select", &v1.SelectRequest{Profile: full.Profile, Complaints: full.Complaints, AsOf: full.AsOf, View: v1.View_BASIC}},
		{"explain", "Explain", &v1.ExplainRequest{Profile: full.Profile, Complaints: full.Complaints, AsOf: full.AsOf,
			Drill: "barbell-overhead-press"}},
		{"screen", "Screen", &v1.ScreenRequest{Profile: full.Profile, Complaints: full.Complaints, AsOf: full.AsOf}},
	} {
		method := "/" + v1.SelectionService_ServiceDesc.ServiceName + "/" + one.method
		sent, err := proto.Marshal(one.request)
		require.NoError(b, err)
		live := rawCaller(b, s.grpc(s))
		answer, err := live(method, sent)
		require.NoError(b, err)
		copies := &prebuilt{Server: s}
		into := map[string]proto.Message{"Screen": new(v1.ScreenResponse), "Substitute": new(v1.SubstituteResponse),
			"Select":  new(v1.SelectResponse),
			"Explain": new(v1.ExplainResponse)}[one.method]
		require.NoError(b, proto.Unmarshal(answer, into))
		copies.screen, _ = into.(*v1.ScreenResponse)
		copies.substitute, _ = into.(*v1.SubstituteResponse)
		copies.choose, _ = into.(*v1.SelectResponse)
		copies.explain, _ = into.(*v1.ExplainResponse)
		floor := grpc.NewServer(append(s.transport(), grpc.ForceServerCodecV2(raw{}),
			grpc.UnknownServiceHandler(func(_ any, stream grpc.ServerStream) error {
				var asked []byte
				if err := stream.RecvMsg(&asked); err != nil {
					return err
				}
				return stream.SendMsg(answer)
			}))...)
		for _, way := range []struct {
			name string
			call func(method string, sent []byte) ([]byte, error)
		}{{"", live}, {"empty/", rawCaller(b, s.grpc(copies))}, {"floor/", rawCaller(b, floor)}} {
			b.Run(way.name+one.name, func(b *testing.B) {
				b.ReportAllocs()
				before := processorTime()
				for b.Loop() {
					if _, err := way.call(method, sent); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(processorTime()-before)/float64(b.N), "cpu-ns/op")
			})
		}
	}
}

// rawCaller serves on a loopback port and calls with bytes.
func rawCaller(b *testing.B, g *grpc.Server) func(method string, sent []byte) ([]byte, error) {
	conn := connect(b, g, grpc.WithDefaultCallOptions(grpc.ForceCodecV2(raw{})))
	return func(method string, sent []byte) ([]byte, error) {
		var got []byte
		err := conn.Invoke(context.Background(), method, sent, &got)
		return got, err
	}
}

// raw moves bytes as they are.
type raw struct{}

func (raw) Marshal(v any) (mem.BufferSlice, error) {
	return mem.BufferSlice{mem.SliceBuffer(v.([]byte))}, nil
}

func (raw) Unmarshal(data mem.BufferSlice, v any) error {
	*v.(*[]byte) = data.Materialize()
	return nil
}

func (raw) Name() string { return "proto" }
