package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
)

// GetRulebook implements RulebookService.
func (s *Server) GetRulebook(ctx context.Context, req *v1.GetRulebookRequest) (*v1.GetRulebookResponse, error) {
	revision, files, err := s.files(ctx, req.GetRevision())
	if err != nil {
		return nil, err
	}
	resp := &v1.GetRulebookResponse{Revision: revision}
	for _, f := range files {
		resp.Files = append(resp.Files, &v1.RulebookFile{Name: f.Name, Text: string(f.Data)})
	}
	if s.config.Store != nil {
		published, err := s.published(ctx, revision)
		if err != nil {
			return nil, err
		}
		resp.Published = s.publicationTo(published)
	}
	return resp, nil
}
