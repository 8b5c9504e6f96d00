package server

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"strings"
	"sync/atomic"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/tap"
	"google.golang.org/protobuf/types/known/durationpb"
)

// Limits bound what callers can make a server hold and do. A field that is zero has its default.
type Limits struct {
	// Message is the most bytes of one message, in or out, unpacked. Default: 4 MiB.
	Message int
	// Streams is how many calls one connection may have open at once. Default: 256.
	Streams int
	// Calls is how many calls may be open at once in all; those beyond are refused at once, before their message is read.
	// Health and reflection are not counted. Default: 512.
	Calls int
	// Call ends a call that takes longer, whatever its caller would wait for, and the work on it; that of sending its message
	// counts. Calls on the rulebook have 12 times as long. Default: 10 s.
	Call time.Duration
	// Handshake is how long a new connection may take until it speaks HTTP/2. Default: 10 s.
	Handshake time.Duration
	// PingAfter is how long a connection may be silent before the server asks whether the other end is there. Default: 1 min.
	PingAfter time.Duration
	// PingTimeout is how long the other end may take to answer that, or to take what was sent. Default: 20 s.
	PingTimeout time.Duration
	// PingEvery is how often a client may ask whether the server is there, also without a call: one that does so more often, again
	// and again, is cut off. Default: 5 s, for clients that do so every 10 s or more.
	PingEvery time.Duration
	// Age is how old a connection may be before its client is told to open another, give or take a tenth: so calls spread over
	// servers that were added. Default: 30 min.
	Age time.Duration
	// AgeGrace is how long the calls of a connection that is too old may still take. Default: as long as a call on the rulebook.
	AgeGrace time.Duration
}

// WithDefaults fills in what is zero.
func (l Limits) WithDefaults() Limits {
	l.Message, l.Streams, l.Calls = cmp.Or(l.Message, 4<<20), cmp.Or(l.Streams, 256), cmp.Or(l.Calls, 512)
	l.Call, l.Handshake = cmp.Or(l.Call, 10*time.Second), cmp.Or(l.Handshake, 10*time.Second)
	l.PingAfter, l.PingTimeout = cmp.Or(l.PingAfter, time.Minute), cmp.Or(l.PingTimeout, 20*time.Second)
	l.PingEvery, l.Age = cmp.Or(l.PingEvery, 5*time.Second), cmp.Or(l.Age, 30*time.Minute)
	l.AgeGrace = cmp.Or(l.AgeGrace, editFactor*l.Call)
	return l
}

// editFactor is how many times as long as another call one on the rulebook may take: it asks hundreds of questions.
const editFactor = 12

// callLimit is how long a call may take.
func (l Limits) callLimit(method string) time.Duration {
	if ofRulebook(method) {
		return editFactor * l.Call
	}
	return l.Call
}

// tooLong is why a call ended that took longer than the server allows.
type tooLong struct{ most time.Duration }

func (t tooLong) Error() string {
	return fmt.Sprintf("the call took longer than the %v that this server gives it", t.most)
}

// Unwrap makes errors.Is(err, context.DeadlineExceeded) true.
func (t tooLong) Unwrap() error { return context.DeadlineExceeded }

// shed is a call that was refused because too many are open.
type shed struct{ most int }

func (s shed) Error() string {
	return fmt.Sprintf("the server answers %d calls at once and has no room for another now; try again later", s.most)
}

func (s shed) status() *status.Status {
	return withDetails(codes.ResourceExhausted, "TOO_MANY_CALLS", s.Error(), nil,
		&errdetails.QuotaFailure{Violations: []*errdetails.QuotaFailure_Violation{{Subject: "server", Description: s.Error()}}},
		&errdetails.RetryInfo{RetryDelay: durationpb.New(time.Second)})
}

// admission lets calls in.
type admission struct {
	server *Server
	open   atomic.Int64 // calls that have a place
}

// in is asked of each call when its headers have come, before its message is read: it refuses a call for which there is no place,
// and gives the others a time, within which their message must come too. gRPC ends a call's context when it was answered or given
// up; that frees its place.
func (a *admission) in(ctx context.Context, info *tap.Info) (context.Context, error) {
	if uncounted(info.FullMethodName) {
		return ctx, nil
	}
	limits := a.server.config.Limits
	if a.open.Add(1) > int64(limits.Calls) {
		a.open.Add(-1)
		st := shed{limits.Calls}.status()
		a.server.refusedEarly(ctx, info.FullMethodName, st)
		return nil, st.Err()
	}
	most := limits.callLimit(info.FullMethodName)
	ctx, cancel := context.WithTimeoutCause(ctx, most, tooLong{most})
	context.AfterFunc(ctx, func() {
		cancel()
		a.open.Add(-1)
	})
	return ctx, nil
}

// uncounted are the calls that must get through to a server that is busy, and may last.
func uncounted(method string) bool {
	return strings.HasPrefix(method, "/"+grpc_health_v1.Health_ServiceDesc.ServiceName+"/") ||
		strings.HasPrefix(method, "/grpc.reflection.")
}

// refusedEarly logs and counts a call that no handler and no interceptor sees.
func (s *Server) refusedEarly(ctx context.Context, method string, st *status.Status) {
	if _, ok := s.metrics.attributes[call{method, st.Code()}]; !ok {
		method = otherMethod
	}
	s.metrics.called(method, st.Code(), 0)
	s.config.Log.LogAttrs(ctx, slog.LevelInfo, "call", slog.String("method", method), slog.String("code", st.Code().String()),
		slog.String("request_id", sentID(ctx)))
}
