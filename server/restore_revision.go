package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/sqlstore"
)

// RestoreRevision implements RulebookService.
func (s *Server) RestoreRevision(ctx context.Context, req *v1.RestoreRevisionRequest) (*v1.RestoreRevisionResponse, error) {
	r, err := s.publish(ctx, publishing{
		request: req, base: req.GetBaseRevision(),
		editions: func() (base, next editionFiles, err error) { return s.restoring(ctx, req.GetRevision()) },
		as:       sqlstore.Publish{RequestID: req.GetRequestId(), Author: req.GetAuthor(), Note: req.GetNote(), Restore: true},
	})
	if err != nil {
		return nil, err
	}
	return &v1.RestoreRevisionResponse{Revision: r}, nil
}

// restoring is what is live, and an earlier revision to take its place. Errors: those of files and of published, errNoStore,
// *sqlstore.Withdrawn.
func (s *Server) restoring(ctx context.Context, id string) (live, next editionFiles, err error) {
	if s.config.Store == nil {
		return live, next, errNoStore
	}
	published, err := s.published(ctx, id)
	if err != nil {
		return live, next, err
	}
	if published.Withdrawn != nil {
		return live, next, &sqlstore.Withdrawn{Revision: id, Withdrawal: *published.Withdrawn}
	}
	if live, err = s.files(ctx, ""); err != nil {
		return live, next, err
	}
	next, err = s.files(ctx, id)
	return live, next, err
}
