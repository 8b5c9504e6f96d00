package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/selection"
)

// Screen implements SelectionService.
func (s *Server) Screen(ctx context.Context, req *v1.ScreenRequest) (*v1.ScreenResponse, error) {
	return answered(ctx, s, req, (*Server).screen)
}

func (s *Server) screen(ctx context.Context, e *served, req *v1.ScreenRequest) (*v1.ScreenResponse, error) {
	r, err := read(ctx, e.Edition, req)
	if err != nil {
		return nil, err
	}
	defer r.done()
	answer, err := selection.Screen(e.Edition, &r.request)
	if err != nil {
		return nil, err
	}
	return &v1.ScreenResponse{Header: s.header(r, req, answer.Header)}, nil
}
