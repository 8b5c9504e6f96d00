package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/selection"
)

// Select implements SelectionService.
func (s *Server) Select(ctx context.Context, req *v1.SelectRequest) (*v1.SelectResponse, error) {
	return answered(ctx, s, req, (*Server).session)
}

func (s *Server) session(ctx context.Context, e *served, req *v1.SelectRequest) (*v1.SelectResponse, error) {
	r, err := read(ctx, e.Edition, req)
	if err != nil {
		return nil, err
	}
	defer r.done()
	answer, err := selection.Select(e.Edition, &r.request, req.GetPlan(), selection.Options{Brief: brief(req.GetView())})
	if err != nil {
		return nil, err
	}
	return e.selectTo(s.header(r, req, answer.Header), answer), nil
}
