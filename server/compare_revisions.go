package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// CompareRevisions implements RulebookService.
func (s *Server) CompareRevisions(ctx context.Context, req *v1.CompareRevisionsRequest) (*v1.CompareRevisionsResponse, error) {
	from, err := s.files(ctx, req.GetFrom())
	if err != nil {
		return nil, err
	}
	to, err := s.files(ctx, req.GetTo())
	if err != nil {
		return nil, err
	}
	return &v1.CompareRevisionsResponse{From: from.revision, To: to.revision,
		Parts: each(rules.CompareFiles(from.files, to.files), partChangeTo)}, nil
}
