package server

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
)

// question and response are what the calls that judge drills have in common.
type (
	question interface {
		asking
		proto.Message
	}
	response interface {
		proto.Message
		GetHeader() *v1.AnswerHeader
	}
)

// answered has a question answered on the edition that is live when the call begins. A share of the answers is checked
// later, on that same edition.
func answered[Q question, R response](ctx context.Context, s *Server, req Q,
	on func(*Server, context.Context, *served, Q) (R, error)) (R, error) {
	e, err := s.edition(ctx)
	if err != nil {
		return *new(R), err
	}
	resp, err := on(s, ctx, e, req)
	if err == nil && s.checks.due() {
		method, _ := grpc.Method(ctx)
		sent, unread := asSent(ctx, req)
		s.checks.take(given{method: method, edition: e, request: sent, unread: unread, served: proto.CloneOf(resp),
			again: func(e *served) (response, error) { return on(s, context.Background(), e, sent) }})
	}
	return resp, err
}
