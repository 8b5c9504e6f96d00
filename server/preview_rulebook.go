package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// PreviewRulebook implements RulebookService.
func (s *Server) PreviewRulebook(ctx context.Context, req *v1.PreviewRulebookRequest) (*v1.PreviewRulebookResponse, error) {
	t := task{request: req, review: reviewer(ctx)}
	var err error
	switch {
	case req.GetRestore() != "" && req.GetDraft() != nil:
		return nil, client.NewInvalid([]client.Violation{{Field: "restore", Message: "a draft is there too", Suggestion: "send one of the two"}})
	case req.GetRestore() != "":
		t.base, t.next, err = s.restoring(ctx, req.GetRestore())
	default:
		t.base, err = s.files(ctx, req.GetDraft().GetBaseRevision())
	}
	if err != nil {
		return nil, err
	}
	return done[*v1.PreviewRulebookResponse](ctx, s, t)
}
