package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// CompareRevisions implements RulebookService.
func (s *Server) CompareRevisions(ctx context.Context, req *v1.CompareRevisionsRequest) (*v1.CompareRevisionsResponse, error) {
	from, err := s.revision(ctx, req.GetFrom())
	if err != nil {
		return nil, err
	}
	to, err := s.revision(ctx, req.GetTo())
	if err != nil {
		return nil, err
	}
	return &v1.CompareRevisionsResponse{From: from.Revision, To: to.Revision, Parts: each(rules.Compare(from, to), partChangeTo)}, nil
}
