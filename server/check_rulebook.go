package server

import (
	"context"
	"errors"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/analysis"
)

// CheckRulebook implements RulebookService.
func (s *Server) CheckRulebook(ctx context.Context, req *v1.CheckRulebookRequest) (*v1.CheckRulebookResponse, error) {
	base, err := s.files(ctx, req.GetDraft().GetBaseRevision())
	if err != nil {
		return nil, err
	}
	return done[*v1.CheckRulebookResponse](ctx, s, task{base: base, request: req, review: reviewer(ctx)})
}

// checked is what is to say of a draft, or of the mistakes for which there is none.
func checked(ctx context.Context, draft *rules.Edition, err error, req *v1.CheckRulebookRequest) (*v1.CheckRulebookResponse, error) {
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
