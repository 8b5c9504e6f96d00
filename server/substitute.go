package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/selection"
)

// Substitute implements SelectionService.
func (s *Server) Substitute(ctx context.Context, req *v1.SubstituteRequest) (*v1.SubstituteResponse, error) {
	return answered(ctx, s, req, (*Server).substitute)
}

func (s *Server) substitute(ctx context.Context, e *served, req *v1.SubstituteRequest) (*v1.SubstituteResponse, error) {
	r, err := read(ctx, e.Edition, req)
	if err != nil {
		return nil, err
	}
	defer r.done()
	answer, err := selection.Substitute(e.Edition, &r.request, selection.Options{Limit: int(req.GetLimit()), Brief: brief(req.GetView())})
	if err != nil {
		return nil, err
	}
	return e.substituteTo(s.header(r, req, answer.Header), answer), nil
}
