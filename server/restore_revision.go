package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/sqlstore"
)

// RestoreRevision implements RulebookService.
func (s *Server) RestoreRevision(ctx context.Context, req *v1.RestoreRevisionRequest) (*v1.RestoreRevisionResponse, error) {
	r, err := s.publish(ctx, publishing{
		request: req, base: req.GetBaseRevision(), digest: req.GetPreviewDigest(), samples: req.GetSamples(),
		acceptChurn: req.GetAcceptChurn(), only: req.GetValidateOnly(),
		read: func() (base, next *rules.Edition, err error) { return s.restoring(ctx, req.GetRevision()) },
		as:   sqlstore.Publish{RequestID: req.GetRequestId(), Author: req.GetAuthor(), Note: req.GetNote(), Restore: true},
	})
	if err != nil {
		return nil, err
	}
	return &v1.RestoreRevisionResponse{Revision: r}, nil
}

// restoring is what is live, and an earlier revision to take its place. Errors: those of revision, *sqlstore.Withdrawn.
func (s *Server) restoring(ctx context.Context, id string) (live, next *rules.Edition, err error) {
	if s.config.Store == nil {
		return nil, nil, errNoStore
	}
	published, err := s.published(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	if published.Withdrawn != nil {
		return nil, nil, &sqlstore.Withdrawn{Revision: id, Withdrawal: *published.Withdrawn}
	}
	if live, err = s.revision(ctx, ""); err != nil {
		return nil, nil, err
	}
	next, err = s.revision(ctx, id)
	return live, next, err
}
