package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/sqlstore"
)

// PublishRulebook implements RulebookService.
func (s *Server) PublishRulebook(ctx context.Context, req *v1.PublishRulebookRequest) (*v1.PublishRulebookResponse, error) {
	if req.GetDraft().GetBaseRevision() == "" {
		return nil, missing("draft.base_revision", "name the revision that the draft was made from")
	}
	r, err := s.publish(ctx, publishing{
		request: req, base: req.GetDraft().GetBaseRevision(),
		editions: func() (base, next editionFiles, err error) {
			base, err = s.files(ctx, req.GetDraft().GetBaseRevision())
			return base, next, err
		},
		as: sqlstore.Publish{RequestID: req.GetRequestId(), Author: req.GetAuthor(), Note: req.GetNote()},
	})
	if err != nil {
		return nil, err
	}
	return &v1.PublishRulebookResponse{Revision: r}, nil
}
