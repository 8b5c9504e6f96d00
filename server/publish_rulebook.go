package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/sqlstore"
)

// PublishRulebook implements RulebookService.
func (s *Server) PublishRulebook(ctx context.Context, req *v1.PublishRulebookRequest) (*v1.PublishRulebookResponse, error) {
	if req.GetDraft().GetBaseRevision() == "" {
		return nil, missing("draft.base_revision", "name the revision that the draft was made from")
	}
	r, err := s.publish(ctx, publishing{
		request: req, base: req.GetDraft().GetBaseRevision(), digest: req.GetPreviewDigest(), samples: req.GetSamples(),
		acceptChurn: req.GetAcceptChurn(), only: req.GetValidateOnly(),
		read: func() (base, next *rules.Edition, err error) { return s.draft(ctx, req.GetDraft()) },
		as:   sqlstore.Publish{RequestID: req.GetRequestId(), Author: req.GetAuthor(), Note: req.GetNote()},
	})
	if err != nil {
		return nil, err
	}
	return &v1.PublishRulebookResponse{Revision: r}, nil
}
