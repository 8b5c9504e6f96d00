package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
)

// GetRulebook implements RulebookService.
func (s *Server) GetRulebook(ctx context.Context, req *v1.GetRulebookRequest) (*v1.GetRulebookResponse, error) {
	of, err := s.files(ctx, req.GetRevision())
	if err != nil {
		return nil, err
	}
	resp := editionFilesTo(of)
	if s.config.Store != nil {
		published, err := s.published(ctx, of.revision)
		if err != nil {
			return nil, err
		}
		resp.Published = s.publicationTo(published)
	}
	return resp, nil
}
