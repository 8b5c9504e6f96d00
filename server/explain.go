package server

import (
	"context"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/selection"
)

// Explain implements SelectionService.
func (s *Server) Explain(ctx context.Context, req *v1.ExplainRequest) (*v1.ExplainResponse, error) {
	return answered(ctx, s, req, (*Server).explain)
}

func (s *Server) explain(ctx context.Context, e *served, req *v1.ExplainRequest) (*v1.ExplainResponse, error) {
	r, err := read(ctx, e.Edition, req)
	if err != nil {
		return nil, err
	}
	defer r.done()
	answer, err := selection.Explain(e.Edition, &r.request, req.GetDrill())
	if err != nil {
		return nil, err
	}
	return e.explainTo(s.header(r, req, answer.Header), answer), nil
}
