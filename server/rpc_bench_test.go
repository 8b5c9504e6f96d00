package server

import (
	"context"
	"fmt"
	"math"
	"net"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/protobuf/proto"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/clientfile"
)

// prebuilt answers every question with a response that was made before: what a call costs without its answer. It
// stands behind the same server, interceptors and requests.
type prebuilt struct {
	*Server
	screen     *v1.ScreenResponse
	substitute *v1.SubstituteResponse
	choose     *v1.SelectResponse
	explain    *v1.ExplainResponse
}

func (p *prebuilt) Screen(ctx context.Context, m *v1.ScreenRequest) (*v1.ScreenResponse, error) {
	return p.screen, p.read(ctx, m)
}

func (p *prebuilt) Substitute(ctx context.Context, m *v1.SubstituteRequest) (*v1.SubstituteResponse, error) {
	return p.substitute, p.read(ctx, m)
}

func (p *prebuilt) Select(ctx context.Context, m *v1.SelectRequest) (*v1.SelectResponse, error) {
	return p.choose, p.read(ctx, m)
}

func (p *prebuilt) Explain(ctx context.Context, m *v1.ExplainRequest) (*v1.ExplainResponse, error) {
	return p.explain, p.read(ctx, m)
}

// read is what a call does before its handler judges.
func (p *prebuilt) read(ctx context.Context, m asking) error {
	e, err := p.edition(ctx)
	if err != nil {
		return err
	}
	r, err := read(ctx, e.Edition, m)
	if err == nil {
		r.done()
	}
	return err
}

// sample is the example client with the sore shoulder.
func sample(tb testing.TB) *clientfile.File {
	data, err := os.ReadFile("../testdata/clients/left-shoulder-press.yaml")
	require.NoError(tb, err)
	c, err := clientfile.Read(authored.File{Name: "left-shoulder-press.yaml", Data: data})
	require.NoError(tb, err)
	return c
}

// fullProfile is the same client with everything measured and told that can be: every range, strength and hold on both
// sides, the pain and the rung of every region, the tests, a month's log.
func fullProfile(tb testing.TB, e *rules.Edition) *clientfile.File {
	c, v := sample(tb), e.Frame.Vocabulary
	both := func(into map[string]*v1.SidedMeasure, motion string, sided bool, value float64) {
		at := &v1.Measure{Value: proto.Float64(value), Date: "2026-11-20", By: v1.MeasuredBy_SAME_MEASURER}
		switch {
		case into[motion] != nil:
		case sided:
			into[motion] = &v1.SidedMeasure{Left: at, Right: at}
		default:
			into[motion] = &v1.SidedMeasure{Midline: at}
		}
	}
	for _, m := range v.Motions {
		both(c.Profile.StrengthN, m.ID, m.Sided, 150)
		both(c.Profile.HoldSeconds, m.ID, m.Sided, 30)
		if m.HasRange() {
			both(c.Profile.RangeDeg, m.ID, m.Sided, math.Trunc(m.Limits[1]*0.8))
		}
	}
	none := &v1.Pain{Rest: proto.Float64(0), Worst: proto.Float64(0), NextDay: proto.Float64(0), SettleHours: proto.Float64(0),
		WakesAtNight: proto.Bool(false), Date: "2026-11-22"}
	for _, r := range v.Regions {
		top := &v1.Standing{At: "unrestricted", Since: "2026-09-14"}
		pain, rung := &v1.SidedPain{Midline: none}, &v1.SidedRung{Midline: top}
		if r.Sided {
			pain, rung = &v1.SidedPain{Left: none, Right: none}, &v1.SidedRung{Left: top, Right: top}
		}
		if c.Profile.Pain[r.ID] == nil {
			c.Profile.Pain[r.ID] = pain
		}
		if c.Profile.Rung[r.ID] == nil {
			c.Profile.Rung[r.ID] = rung
		}
	}
	for _, test := range v.Tests {
		c.Profile.Best[test.ID] = &v1.Best{Sets: proto.Int32(2), Reps: proto.Int32(12), Form: v1.Form_OK, Date: "2026-11-18"}
	}
	c.Profile.Log = &v1.TrainingLog{}
	for day := range 10 {
		for _, drill := range []string{"barbell-overhead-press", "goblet-squat", "lat-pulldown"} {
			c.Profile.Log.Sets = append(c.Profile.Log.Sets, &v1.LoggedSet{Drill: drill, Day: fmt.Sprintf("2026-11-%02d", 10+day), Reps: 10,
				LoadKg: 20})
		}
	}
	return c
}

// dial serves a selection service on a loopback port and connects to it.
func dial(b *testing.B, s *Server, selection v1.SelectionServiceServer) v1.SelectionServiceClient {
	return v1.NewSelectionServiceClient(connect(b, s.grpc(selection)))
}

func connect(b *testing.B, g *grpc.Server, more ...grpc.DialOption) *grpc.ClientConn {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	go g.Serve(listener) // ends with Stop
	conn, err := grpc.NewClient(listener.Addr().String(), append(more, grpc.WithTransportCredentials(insecure.NewCredentials()))...)
	require.NoError(b, err)
	b.Cleanup(func() {
		conn.Close()
		g.Stop()
	})
	return conn
}

func processorTime() time.Duration {
	var use syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
		panic(fmt.Sprintf("read the processor time: %v", err))
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}
