package server

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/encoding"
	_ "google.golang.org/grpc/encoding/gzip" // calls may come in gzip; what they grow to has the limit of a message
	"google.golang.org/grpc/mem"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
)

// unread is a message that isn't one of its type: the caller's fault, for which gRPC would blame the server. Of the bytes it quotes
// nothing.
type unread struct{ error }

func (u unread) status() *status.Status {
	return withDetails(codes.InvalidArgument, "UNREADABLE_MESSAGE", "the message can't be read: "+strings.ReplaceAll(u.Error(), "\u00a0", " "),
		nil)
}

// received is a message on its way in. What gRPC is told of it is sent as it is, so the codec tells only us.
type received struct {
	message any
	failed  error
	reader  *reader // of a question that was read from its bytes, until it is taken
	text    string  // its bytes; "" of what was read by proto.Unmarshal
}

type receivedKey struct{}

// receivedAs is what was received of the call in which m is the message; nil where m is another, or came from no caller.
func receivedAs(ctx context.Context, m any) *received {
	if r, ok := ctx.Value(receivedKey{}).(*received); ok && r.message == m {
		return r
	}
	return nil
}

// asSent is the question as its caller sent it, in a message that is nobody else's.
func asSent[Q proto.Message](ctx context.Context, m Q) (Q, error) {
	r := receivedAs(ctx, m)
	if r == nil || r.text == "" {
		return proto.CloneOf(m), nil
	}
	sent := m.ProtoReflect().New().Interface()
	return sent.(Q), proto.Unmarshal([]byte(r.text), sent)
}

// codec is gRPC's own but for what is received.
type codec struct{ encoding.CodecV2 }

func (c codec) Unmarshal(data mem.BufferSlice, v any) error {
	r, ok := v.(*received)
	if !ok {
		return c.CodecV2.Unmarshal(data, v)
	}
	if m, ok := r.message.(asking); ok {
		in, text := readers.Get().(*reader), textOf(data)
		if in.fromWire(m, text) {
			r.reader, r.text = in, text
			return nil
		}
		in.done()
	}
	r.failed = c.CodecV2.Unmarshal(data, r.message)
	return nil
}

// reporting is a service whose calls are named, counted and logged also where no interceptor sees them, because their message can't
// be read. What was given up before it was read isn't read, nor what its caller may not ask.
func (s *Server) reporting(service grpc.ServiceDesc) *grpc.ServiceDesc {
	service.Methods = each(service.Methods, func(m grpc.MethodDesc) grpc.MethodDesc {
		handle, info := m.Handler, &grpc.UnaryServerInfo{Server: s, FullMethod: "/" + service.ServiceName + "/" + m.MethodName}
		m.Handler = func(server any, ctx context.Context, decode func(any) error, next grpc.UnaryServerInterceptor) (any, error) {
			defer countReset(ctx)
			var failed error
			r := &received{}
			ctx = s.identified(ctx)
			resp, err := handle(server, context.WithValue(ctx, receivedKey{}, r), func(message any) error {
				r.message = message
				if failed = cmp.Or(ctx.Err(), s.admits(ctx, info.FullMethod)); failed == nil {
					failed = decode(r)
				}
				if r.failed != nil {
					failed = unread{r.failed}
				}
				return failed
			}, next)
			if failed != nil {
				return s.refuse(ctx, info, failed)
			}
			return resp, err
		}
		return m
	})
	return &service
}

// refuse answers a call that reaches no handler: with why, to whom may make it.
func (s *Server) refuse(ctx context.Context, info *grpc.UnaryServerInfo, err error) (any, error) {
	return s.name(ctx, nil, info, func(ctx context.Context, _ any) (any, error) {
		return s.report(s.identified(ctx), nil, info, func(ctx context.Context, _ any) (any, error) {
			return nil, cmp.Or(s.admits(ctx, info.FullMethod), err)
		})
	})
}

// otherMethod stands in log and metrics for every method that there isn't: what was asked for may be any text.
const otherMethod = "_OTHER"

// unknownMethod is a call of a method that there isn't.
type unknownMethod struct{ name string }

func (u *unknownMethod) Error() string {
	return fmt.Sprintf("there is no method %q; reflection lists those that there are", shortPath(u.name))
}

func (s *Server) unknown(_ any, stream grpc.ServerStream) error {
	defer countReset(stream.Context())
	name, _ := grpc.MethodFromServerStream(stream)
	_, err := s.refuse(stream.Context(), &grpc.UnaryServerInfo{Server: s, FullMethod: otherMethod}, &unknownMethod{name})
	return err
}
