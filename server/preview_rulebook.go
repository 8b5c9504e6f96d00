package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
)

// PreviewRulebook implements RulebookService.
func (s *Server) PreviewRulebook(ctx context.Context, req *v1.PreviewRulebookRequest) (*v1.PreviewRulebookResponse, error) {
	var base, next *rules.Edition
	var err error
	switch {
	case req.GetRestore() != "" && req.GetDraft() != nil:
		return nil, client.NewInvalid([]client.Violation{{Field: "restore", Message: "a draft is there too", Suggestion: "send one of the two"}})
	case req.GetRestore() != "":
		base, next, err = s.restoring(ctx, req.GetRestore())
	default:
		base, next, err = s.draft(ctx, req.GetDraft())
	}
	if err != nil {
		return nil, err
	}
	preview, err := s.preview(ctx, base, next, req.GetSamples())
	if err != nil {
		return nil, err
	}
	return &v1.PreviewRulebookResponse{Preview: preview}, nil
}
