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
	if err := s.leavesSomething(ctx, req.GetRevision()); err != nil {
		return nil, err
	}
	live, _, err := store.Withdraw(ctx, sqlstore.Withdraw{Revision: req.GetRevision(), Base: req.GetBaseRevision(),
		RequestID:     req.GetRequestId(),
		RequestDigest: requestDigest(req), Author: req.GetAuthor(), Note: req.GetNote()})
	s.follower.wrote(ctx, err)
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

// leavesSomething refuses to withdraw what is live where this program can't read what would take its place: nothing could be
// served then, nor a server started.
func (s *Server) leavesSomething(ctx context.Context, id string) error {
	live, err := s.config.Store.Live(ctx)
	if err != nil || live.Revision != id {
		return ofStore(err)
	}
	published, err := s.config.Store.Published(ctx)
	if err != nil {
		return ofStore(err)
	}
	for _, next := range published {
		if next == id {
			continue
		}
		if why := s.follower.whyUnreadable(next); why != "" {
			return refused("NOTHING_LEFT", next, "what would go live in its place can't be read: %s; publish another edition first", why)
		}
		return nil
	}
	return nil
}
