package server

import (
	"context"
	"strconv"

	v1 "drillwright/proto/drillwright/v1"
)

// ListRevisions implements RulebookService. Its token is the number of the last publication shown: what is published
// meanwhile moves no page.
func (s *Server) ListRevisions(ctx context.Context, req *v1.ListRevisionsRequest) (*v1.ListRevisionsResponse, error) {
	if s.config.Store == nil {
		return nil, errNoStore
	}
	before := int64(0)
	if t := req.GetPageToken(); t != "" {
		n, err := strconv.ParseInt(t, 10, 64)
		if err != nil || n < 1 {
			return nil, errToken
		}
		before = n
	}
	size := sizes{usual: 50, most: 200}.of(req.GetPageSize())
	list, err := s.config.Store.History(ctx, before, size+1)
	if err != nil {
		return nil, ofStore(err)
	}
	resp := &v1.ListRevisionsResponse{Revisions: each(list[:min(size, len(list))], s.publicationTo)}
	if len(list) > size {
		resp.NextPageToken = strconv.FormatInt(list[size-1].Number, 10)
	}
	return resp, nil
}
