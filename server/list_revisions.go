package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
)

// historyToken is what a token of the history is bound to.
const historyToken = "revisions"

// ListRevisions implements RulebookService. Its token is the number of the last publication shown: what is published
// meanwhile moves no page.
func (s *Server) ListRevisions(ctx context.Context, req *v1.ListRevisionsRequest) (*v1.ListRevisionsResponse, error) {
	if s.config.Store == nil {
		return nil, errNoStore
	}
	before, ok := offset(req.GetPageToken(), historyToken)
	if !ok {
		return nil, errToken
	}
	size := sizes{usual: 50, most: 200}.of(req.GetPageSize())
	list, err := s.config.Store.History(ctx, int64(before), size+1)
	if err != nil {
		return nil, ofStore(err)
	}
	resp := &v1.ListRevisionsResponse{Revisions: each(list[:min(size, len(list))], s.publicationTo)}
	if len(list) > size {
		resp.NextPageToken = tokenAt(int(list[size-1].Number), historyToken)
	}
	return resp, nil
}
