package server

import (
	"context"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"

	v1 "drillwright/proto/drillwright/v1"
)

// belated begins its work when its time is over.
type belated struct{ *Server }

func (b belated) Screen(ctx context.Context, m *v1.ScreenRequest) (*v1.ScreenResponse, error) {
	<-ctx.Done()
	return b.Server.Screen(ctx, m)
}

func (b belated) Substitute(ctx context.Context, m *v1.SubstituteRequest) (*v1.SubstituteResponse, error) {
	<-ctx.Done()
	return b.Server.Substitute(ctx, m)
}

func (b belated) Select(ctx context.Context, m *v1.SelectRequest) (*v1.SelectResponse, error) {
	<-ctx.Done()
	return b.Server.Select(ctx, m)
}

func (b belated) Explain(ctx context.Context, m *v1.ExplainRequest) (*v1.ExplainResponse, error) {
	<-ctx.Done()
	return b.Server.Explain(ctx, m)
}

// TestADeadlineEndsTheWork: over the wire, whatever is asked, and however long the caller would wait.
func TestADeadlineEndsTheWork(t *testing.T) {
	s, err := New(Config{Edition: embedded(), CheckShare: -1, Limits: Limits{Call: 50 * time.Millisecond}})
	require.NoError(t, err)
	g := s.grpc(belated{s})
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go g.Serve(listener) // ends with Stop
	t.Cleanup(g.Stop)
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	selection, c := v1.NewSelectionServiceClient(conn), sampleClient(t)
	hour, cancel := context.WithTimeout(t.Context(), time.Hour)
	defer cancel()
	for name, ask := range map[string]func() error{
		"screen": func() error {
			_, err := selection.Screen(hour, &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
			return err
		},
		"substitute": func() error {
			_, err := selection.Substitute(hour, &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "push-up"})
			return err
		},
		"select": func() error {
			_, err := selection.Select(hour, &v1.SelectRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
			return err
		},
		"explain": func() error {
			_, err := selection.Explain(hour, &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Drill: "push-up"})
			return err
		},
		"an unknown lift": func() error {
			_, err := selection.Substitute(hour, &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "x"})
			return err
		},
	} {
		began := time.Now()
		st := refuses(t, ask(), codes.DeadlineExceeded, "DEADLINE_EXCEEDED")
		require.Equal(t, "the call took longer than the 50ms that this server gives it", st.Message(), name)
		require.Less(t, time.Since(began), 10*time.Second, name)
	}
}

// Whoever is late with mistakes isn't told of them: they may be fewer than there are.
func TestMistakesFoundTooLate(t *testing.T) {
	s, err := New(Config{Edition: embedded(), CheckShare: -1})
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), time.Nanosecond)
	defer cancel()
	<-ctx.Done()
	info := &grpc.UnaryServerInfo{FullMethod: v1.SelectionService_Substitute_FullMethodName}
	_, err = s.report(ctx, &v1.SubstituteRequest{Lift: "x"}, info, func(ctx context.Context, req any) (any, error) {
		return s.validate(ctx, req, info, func(context.Context, any) (any, error) { return nil, nil })
	})
	st := status.Convert(err)
	require.Equal(t, codes.DeadlineExceeded, st.Code())
	require.Equal(t, "DEADLINE_EXCEEDED", st.Details()[0].(*errdetails.ErrorInfo).GetReason())
	require.Equal(t, "the call took longer than its deadline", st.Message())
}
