package server

import (
	"context"
	"errors"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/analysis"
)

// CheckRulebook implements RulebookService.
func (s *Server) CheckRulebook(ctx context.Context, req *v1.CheckRulebookRequest) (*v1.CheckRulebookResponse, error) {
	_, draft, err := s.draft(ctx, req.GetDraft())
	var bad *badDraft
	if errors.As(err, &bad) {
		return &v1.CheckRulebookResponse{Problems: each(bad.Problems.Told(), problemTo)}, nil
	}
	if err != nil {
		return nil, err
	}
	out := &v1.CheckRulebookResponse{DraftRevision: draft.Revision}
	if req.GetLint() {
		found, err := analysis.Lint(ctx, draft)
		if err != nil {
			return nil, err
		}
		out.Findings = each(found, findingTo)
	}
	return out, nil
}
