package server_test

import (
	"context"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	reflectionv1 "google.golang.org/grpc/reflection/grpc_reflection_v1"
	reflectionv1alpha "google.golang.org/grpc/reflection/grpc_reflection_v1alpha"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server"
	"drillwright/server/clientfile"
)

// edition is the embedded one, compiled once for all tests.
var edition *rules.Edition

// TestMain is also that of the process in which authors' work is done.
func TestMain(m *testing.M) {
	switch os.Args[0] {
	case "authors":
		if err := server.DoAuthorsWork(os.Stdin, os.Stdout, os.Stderr); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		return
	case "no-work":
		fmt.Fprint(os.Stderr, "there is no\nmemory left")
		os.Exit(3)
	}
	var err error
	if edition, err = rules.Embedded(); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// boot serves on a loopback port of the system's choice until the test ends.
func boot(t *testing.T, config server.Config) *grpc.ClientConn {
	t.Helper()
	s, err := server.New(config)
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, listener) }()
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	t.Cleanup(func() {
		conn.Close()
		stop()
		require.NoError(t, <-ended)
	})
	return conn
}

func within(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// shoulder is a client of the rowing club with a sore left shoulder.
func shoulder(t *testing.T) *clientfile.File {
	t.Helper()
	path := filepath.Join("..", "testdata", "clients", "left-shoulder-press.yaml")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	c, err := clientfile.Read(authored.File{Name: "left-shoulder-press.yaml", Data: data})
	require.NoError(t, err)
	return c
}

func TestEveryQuestionIsAnswered(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition, Call: "the harbour office"})
	selection, c := v1.NewSelectionServiceClient(conn), shoulder(t)
	headers := map[string]*v1.AnswerHeader{}

	screen, err := selection.Screen(within(t), &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
	require.NoError(t, err)
	headers["screen"] = screen.GetHeader()

	substitute, err := selection.Substitute(within(t), &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf,
		Lift: "barbell-overhead-press", View: v1.View_REASONS})
	require.NoError(t, err)
	headers["substitute"] = substitute.GetHeader()
	require.NotEmpty(t, substitute.GetSubstitutes())
	require.LessOrEqual(t, len(substitute.GetSubstitutes()), 5)
	for _, s := range substitute.GetSubstitutes() {
		require.NotEmpty(t, s.GetSides(), s.GetDrill().GetId())
		require.NotEmpty(t, s.GetReasons(), s.GetDrill().GetId())
	}

	session, err := selection.Select(within(t), &v1.SelectRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Minutes: 45})
	require.NoError(t, err)
	headers["select"] = session.GetHeader()
	require.NotEmpty(t, session.GetDrills())

	explain, err := selection.Explain(within(t), &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf,
		Drill: "barbell-overhead-press"})
	require.NoError(t, err)
	headers["explain"] = explain.GetHeader()
	require.NotEqual(t, v1.Verdict_VERDICT_UNSPECIFIED, explain.GetVerdict())

	for name, h := range headers {
		require.Equal(t, "m-0412", h.GetRef(), name)
		require.Equal(t, c.AsOf, h.GetAsOf(), name)
		require.Equal(t, "the harbour office", h.GetCall(), name)
		require.Equal(t, edition.Revision, h.GetReceipt().GetRevision(), name)
		require.NotEmpty(t, h.GetReceipt().GetRequestDigest(), name)
		require.NotEmpty(t, h.GetCautions(), name)
	}
}

func TestBasicViewLeavesOutReasonsOnly(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	c := shoulder(t)
	ask := func(view v1.View) *v1.SubstituteResponse {
		resp, err := v1.NewSelectionServiceClient(conn).Substitute(within(t), &v1.SubstituteRequest{Profile: c.Profile,
			Complaints: c.Complaints, AsOf: c.AsOf, Lift: "barbell-overhead-press", View: view})
		require.NoError(t, err)
		return resp
	}
	basic, full := ask(v1.View_BASIC), ask(v1.View_REASONS)
	for _, s := range full.GetSubstitutes() {
		s.Reasons, s.Parts = nil, nil
	}
	require.NotEqual(t, basic.GetHeader().GetReceipt().GetRequestDigest(), full.GetHeader().GetReceipt().GetRequestDigest(),
		"another question")
	full.Header.Receipt.RequestDigest = basic.Header.Receipt.RequestDigest
	require.Empty(t, diff(full, basic))
	require.Empty(t, diff(basic, ask(v1.View_VIEW_UNSPECIFIED)))
}

// diff compares two messages to the byte.
func diff(a, b proto.Message) string {
	one, _ := proto.MarshalOptions{Deterministic: true}.Marshal(a)
	two, _ := proto.MarshalOptions{Deterministic: true}.Marshal(b)
	if string(one) == string(two) {
		return ""
	}
	return "the messages differ"
}

func TestSameQuestionSameBytes(t *testing.T) {
	conn, other := boot(t, server.Config{Edition: edition}), boot(t, server.Config{Edition: edition})
	c := shoulder(t)
	req := &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "barbell-bench-press",
		View: v1.View_REASONS}
	first, err := v1.NewSelectionServiceClient(conn).Substitute(within(t), req)
	require.NoError(t, err)
	for range 2 {
		for _, to := range []*grpc.ClientConn{conn, other} {
			again, err := v1.NewSelectionServiceClient(to).Substitute(within(t), req)
			require.NoError(t, err)
			require.Empty(t, diff(first, again))
		}
	}
}

func TestLocalGivesTheSameAnswer(t *testing.T) {
	s, err := server.New(server.Config{Edition: edition})
	require.NoError(t, err)
	local, stop, err := s.Local()
	require.NoError(t, err)
	defer stop()
	c := shoulder(t)
	req := &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf}
	here, err := v1.NewSelectionServiceClient(local).Screen(within(t), req)
	require.NoError(t, err)
	there, err := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition})).Screen(within(t), req)
	require.NoError(t, err)
	require.Empty(t, diff(here, there))
}

func TestRevisionAndRequestID(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	var header, trailer metadata.MD
	ctx := metadata.AppendToOutgoingContext(within(t), "x-request-id", "abc-17")
	_, err := v1.NewCatalogServiceClient(conn).ListTerms(ctx, &v1.ListTermsRequest{}, grpc.Header(&header), grpc.Trailer(&trailer))
	require.NoError(t, err)
	require.Equal(t, []string{"abc-17"}, header.Get("x-request-id"))
	require.Equal(t, []string{edition.Revision}, trailer.Get("drillwright-revision"))

	_, err = v1.NewCatalogServiceClient(conn).ListTerms(within(t), &v1.ListTermsRequest{}, grpc.Header(&header))
	require.NoError(t, err)
	require.NotEmpty(t, header.Get("x-request-id")[0])
}

func TestHealthFollowsTheEdition(t *testing.T) {
	s, err := server.New(server.Config{})
	require.NoError(t, err)
	conn, stop, err := s.Local()
	require.NoError(t, err)
	defer stop()
	health := grpc_health_v1.NewHealthClient(conn)
	for _, service := range []string{"", "drillwright.v1.SelectionService", "drillwright.v1.CatalogService"} {
		resp, err := health.Check(within(t), &grpc_health_v1.HealthCheckRequest{Service: service})
		require.NoError(t, err)
		require.Equal(t, grpc_health_v1.HealthCheckResponse_NOT_SERVING, resp.GetStatus(), service)
	}
	_, err = v1.NewCatalogServiceClient(conn).GetDrill(within(t), &v1.GetDrillRequest{Id: "push-up"})
	require.Equal(t, codes.Unavailable, status.Code(err))
	require.Equal(t, "NO_EDITION", info(t, err).GetReason())

	s.Adopt(edition)
	for _, service := range []string{"", "drillwright.v1.SelectionService", "drillwright.v1.CatalogService"} {
		resp, err := health.Check(within(t), &grpc_health_v1.HealthCheckRequest{Service: service})
		require.NoError(t, err)
		require.Equal(t, grpc_health_v1.HealthCheckResponse_SERVING, resp.GetStatus(), service)
	}
}

func TestHealthWhileDraining(t *testing.T) {
	s, err := server.New(server.Config{Edition: edition, StopWithin: time.Minute})
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, listener) }()
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	defer conn.Close()

	watch, err := grpc_health_v1.NewHealthClient(conn).Watch(within(t), &grpc_health_v1.HealthCheckRequest{})
	require.NoError(t, err)
	seen, err := watch.Recv()
	require.NoError(t, err)
	require.Equal(t, grpc_health_v1.HealthCheckResponse_SERVING, seen.GetStatus())
	began := time.Now()
	stop()
	seen, err = watch.Recv()
	require.NoError(t, err)
	require.Equal(t, grpc_health_v1.HealthCheckResponse_NOT_SERVING, seen.GetStatus())
	require.NoError(t, <-ended)
	require.Less(t, time.Since(began), 20*time.Second, "a watch holds up no stop")
}

func TestReflectionListsAndResolves(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	stream, err := reflectionv1.NewServerReflectionClient(conn).ServerReflectionInfo(within(t))
	require.NoError(t, err)
	ask := func(req *reflectionv1.ServerReflectionRequest) *reflectionv1.ServerReflectionResponse {
		require.NoError(t, stream.Send(req))
		resp, err := stream.Recv()
		require.NoError(t, err)
		return resp
	}
	var services []string
	list := ask(&reflectionv1.ServerReflectionRequest{MessageRequest: &reflectionv1.ServerReflectionRequest_ListServices{}})
	for _, s := range list.GetListServicesResponse().GetService() {
		services = append(services, s.GetName())
	}
	require.Subset(t, services, []string{"drillwright.v1.SelectionService", "drillwright.v1.CatalogService", "grpc.health.v1.Health"})
	for _, symbol := range []string{"drillwright.v1.Profile", "google.rpc.BadRequest", "google.rpc.ErrorInfo", "google.rpc.ResourceInfo",
		"google.rpc.RetryInfo"} {
		of := &reflectionv1.ServerReflectionRequest_FileContainingSymbol{FileContainingSymbol: symbol}
		resp := ask(&reflectionv1.ServerReflectionRequest{MessageRequest: of})
		require.NotEmpty(t, resp.GetFileDescriptorResponse().GetFileDescriptorProto(), symbol)
	}

	older, err := reflectionv1alpha.NewServerReflectionClient(conn).ServerReflectionInfo(within(t))
	require.NoError(t, err)
	//lint:ignore SA1019 older clients still ask in v1alpha
	request := &reflectionv1alpha.ServerReflectionRequest{MessageRequest: &reflectionv1alpha.ServerReflectionRequest_ListServices{}}
	require.NoError(t, older.Send(request))
	resp, err := older.Recv()
	require.NoError(t, err)
	//lint:ignore SA1019 older clients still ask in v1alpha
	require.NotEmpty(t, resp.GetListServicesResponse().GetService())
	require.NoError(t, stream.CloseSend())
	require.NoError(t, older.CloseSend())
}

func TestTooMuchMetadata(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	ask := func(size int) error {
		_, err := v1.NewCatalogServiceClient(conn).ListTerms(metadata.AppendToOutgoingContext(within(t), "x-note", strings.Repeat("x", size)),
			&v1.ListTermsRequest{})
		return err
	}
	require.NoError(t, ask(50<<10))
	require.Error(t, ask(70<<10))
	require.Error(t, ask(15<<20))
	require.NoError(t, ask(0))
}

func TestTooLargeAMessage(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	_, err := v1.NewCatalogServiceClient(conn).ListDrills(within(t), &v1.ListDrillsRequest{Filter: strings.Repeat("x", 5<<20)})
	require.Equal(t, codes.ResourceExhausted, status.Code(err))
}

// info is the ErrorInfo of an error.
func info(t *testing.T, err error) *errdetails.ErrorInfo {
	t.Helper()
	for _, d := range status.Convert(err).Details() {
		if i, ok := d.(*errdetails.ErrorInfo); ok {
			require.Equal(t, "drillwright", i.GetDomain())
			return i
		}
	}
	t.Fatalf("no ErrorInfo in %v", err)
	return nil
}
