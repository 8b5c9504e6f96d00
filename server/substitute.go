package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/selection"
)

// Substitute implements SelectionService.
func (s *Server) Substitute(ctx context.Context, req *v1.SubstituteRequest) (*v1.SubstituteResponse, error) {
	return answered(ctx, s, req, (*Server).substitute)
}

func (s *Server) substitute(e *rules.Edition, req *v1.SubstituteRequest) (*v1.SubstituteResponse, error) {
	q, err := requestFrom(e.Frame, req)
	if err != nil {
		return nil, err
	}
	answer, err := selection.Substitute(e, q, selection.Options{Limit: int(req.GetLimit())})
	if err != nil {
		return nil, err
	}
	return substituteTo(s.header(req, answer.Header), answer, req.GetView()), nil
}
