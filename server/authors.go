package server

import (
	"context"

	"google.golang.org/grpc"

	v1 "drillwright/proto/drillwright/v1"
)

// authorsWork are the calls that compile drafts and ask hundreds of questions of them.
var authorsWork = map[string]bool{
	v1.RulebookService_CheckRulebook_FullMethodName:   true,
	v1.RulebookService_PreviewRulebook_FullMethodName: true,
	v1.RulebookService_PublishRulebook_FullMethodName: true,
	v1.RulebookService_RestoreRevision_FullMethodName: true,
}

// yield lets authors' work take one core at most, here or in the process that does tasks: one call at a time, none of which does two
// things at once. Whoever leaves while waiting has done nothing.
func (s *Server) yield(ctx context.Context, req any, info *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
	if !authorsWork[info.FullMethod] {
		return next(ctx, req)
	}
	select {
	case s.authors <- struct{}{}:
		defer func() { <-s.authors }()
		return next(ctx, req)
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
