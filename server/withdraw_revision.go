package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/sqlstore"
)

// WithdrawRevision implements RulebookService.
func (s *Server) WithdrawRevision(ctx context.Context, req *v1.WithdrawRevisionRequest) (*v1.WithdrawRevisionResponse, error) {
	store := s.config.Store
	if store == nil {
		return nil, errNoStore
	}
	live, _, err := store.Withdraw(ctx, sqlstore.Withdraw{Revision: req.GetRevision(), Base: req.GetBaseRevision(), RequestID: req.GetRequestId(),
		RequestDigest: requestDigest(req), Author: req.GetAuthor(), Note: req.GetNote()})
	if err != nil {
		return nil, ofStore(err)
	}
	s.catchUp(ctx, live)
	withdrawn, err := s.published(ctx, req.GetRevision())
	if err != nil {
		return nil, err
	}
	return &v1.WithdrawRevisionResponse{Withdrawn: s.publicationTo(withdrawn), Live: s.publicationTo(live)}, nil
}
