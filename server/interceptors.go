package server

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"runtime/debug"
	"strings"
	"time"

	"buf.build/go/protovalidate"
	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/peer"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// requestIDHeader is taken from the caller, or made, and sent back.
const requestIDHeader = "x-request-id"

type requestIDKey struct{}

// name gives the call its request id and echoes it.
func (s *Server) name(ctx context.Context, req any, _ *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
	id := cmp.Or(sentID(ctx), rand.Text())
	grpc.SetHeader(ctx, metadata.Pairs(requestIDHeader, id))
	return next(context.WithValue(ctx, requestIDKey{}, id), req)
}

// sentID is the request id that the caller gave, if it is fit for a header and a log line.
func sentID(ctx context.Context) string {
	if sent := metadata.ValueFromIncomingContext(ctx, requestIDHeader); len(sent) > 0 && printable(sent[0]) {
		return sent[0]
	}
	return ""
}

func requestID(ctx context.Context) string {
	id, _ := ctx.Value(requestIDKey{}).(string)
	return id
}

// printable is true for an id that is fit for a header and a log line.
func printable(id string) bool {
	return id != "" && len(id) <= 128 && strings.IndexFunc(id, func(r rune) bool { return r <= ' ' || r > '~' }) < 0
}

func ofRulebook(method string) bool {
	return strings.HasPrefix(method, "/"+v1.RulebookService_ServiceDesc.ServiceName+"/")
}

// onLoopback is true of callers on this machine, and of those in this process.
func onLoopback(ctx context.Context) bool {
	p, ok := peer.FromContext(ctx)
	if !ok {
		return false
	}
	addr := p.Addr
	if from, ok := addr.(*sender); ok {
		addr = from.Addr
	}
	if tcp, ok := addr.(*net.TCPAddr); ok {
		return tcp.IP.IsLoopback()
	}
	return addr.Network() == "bufconn"
}

// report turns an error, or a panic, into the status that the caller gets, and counts and logs the call.
func (s *Server) report(ctx context.Context, req any, info *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
	began := time.Now()
	resp, err := guarded(ctx, req, next)
	if err == nil || errors.Is(err, client.ErrAbandoned) || errors.Is(err, ctx.Err()) {
		err = context.Cause(ctx) // too late is late, though the answer is there
	}
	var st *status.Status // nil is OK
	if err != nil {
		resp, st = nil, statusOf(err, requestID(ctx))
	}
	took := time.Since(began)
	s.metrics.called(info.FullMethod, st.Code(), took)
	s.log(ctx, info.FullMethod, took, st, err)
	return resp, st.Err()
}

// guarded calls the handler and makes an error of a panic.
func guarded(ctx context.Context, req any, next grpc.UnaryHandler) (resp any, err error) {
	defer func() {
		if p := recover(); p != nil {
			resp, err = nil, fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	return next(ctx, req)
}

// log writes a line a call. The text of an error is written for our own faults and the store's only: others may quote the caller.
func (s *Server) log(ctx context.Context, method string, took time.Duration, st *status.Status, err error) {
	attrs := []slog.Attr{slog.String("method", method), slog.String("code", st.Code().String()),
		slog.Duration("took", took), slog.String("request_id", requestID(ctx))}
	attrs = append(attrs, callerOf(ctx).attrs()...)
	var fault storeFault
	if ours(st) || errors.As(err, &fault) && ctx.Err() == nil {
		s.config.Log.LogAttrs(ctx, slog.LevelError, "call", append(attrs, slog.String("error", err.Error()))...)
		return
	}
	s.config.Log.LogAttrs(ctx, slog.LevelInfo, "call", attrs...)
}

// guardStream keeps a panic in a stream (reflection, health) from ending the server.
func (s *Server) guardStream(srv any, stream grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) (err error) {
	defer countReset(stream.Context())
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
			s.config.Log.ErrorContext(stream.Context(), "stream", "method", info.FullMethod, "error", err.Error())
			err = statusOf(err, "").Err()
		}
	}()
	return next(srv, stream)
}

// validate holds the request against the limits of the contract. When it breaks one, the profile is checked
// against the edition as well, so that the caller hears of everything at once. Whoever found what is wrong, it is told in the
// order of the contract's fields.
func (s *Server) validate(ctx context.Context, req any, _ *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
	message, ok := req.(proto.Message)
	if !ok {
		return next(ctx, req)
	}
	resp, err := s.validated(ctx, message, next)
	var invalid *client.Invalid
	if errors.As(err, &invalid) {
		if ctx.Err() != nil {
			return nil, ctx.Err() // what was found may be less than there is
		}
		inContractOrder(message.ProtoReflect().Descriptor(), invalid.Violations)
	}
	return resp, err
}

// validated lets a question through at once that was read from its bytes, which nothing does that breaks a limit; of the others the
// library's own walk says what is wrong.
func (s *Server) validated(ctx context.Context, message proto.Message, next grpc.UnaryHandler) (any, error) {
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if r := receivedAs(ctx, message); r != nil && r.reader != nil {
		return next(ctx, message)
	}
	message, tooLong := cutToLists(message)
	err := s.validator.Validate(message, protovalidate.WithFilter(&whileWaited{ctx: ctx}))
	var broken *protovalidate.ValidationError
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err == nil && len(tooLong) == 0:
		return next(ctx, message)
	case err == nil:
		broken = &protovalidate.ValidationError{}
	case !errors.As(err, &broken):
		return nil, fmt.Errorf("validate %T: %w", message, err)
	}
	if len(broken.Violations) > floodOf {
		return nil, flood(message.ProtoReflect().Descriptor(), tooLong, broken)
	}
	list := append(tooLong, contractViolations(broken)...)
	if a, ok := message.(asking); ok {
		if e, err := s.edition(ctx); err == nil {
			list = joined(list, violationsOf(ctx, e.Edition, a))
		}
	}
	return nil, client.NewInvalid(list)
}

// whileWaited lets a validation look at nothing more once nobody waits for it.
type whileWaited struct {
	ctx    context.Context
	looked int
	gone   bool
}

// ShouldValidate implements protovalidate.Filter.
func (w *whileWaited) ShouldValidate(protoreflect.Message, protoreflect.Descriptor) bool {
	if w.looked++; w.looked%client.Stride == 0 && w.ctx.Err() != nil {
		w.gone = true
	}
	return !w.gone
}
