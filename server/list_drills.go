package server

import (
	"context"
	"errors"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
)

// ListDrills implements CatalogService.
func (s *Server) ListDrills(ctx context.Context, req *v1.ListDrillsRequest) (*v1.ListDrillsResponse, error) {
	e, err := s.edition(ctx)
	if err != nil {
		return nil, err
	}
	drills, err := filtered(e.Edition, req.GetFilter())
	if err != nil {
		return nil, err
	}
	page, next, err := pageOf(drills, req.GetPageSize(), sizes{usual: 50, most: 200}, req.GetPageToken(),
		e.Revision+" drills "+req.GetFilter())
	if err != nil {
		return nil, err
	}
	convert := func(d *catalog.Drill) *v1.Drill { return drillTo(e.Edition, d) }
	return &v1.ListDrillsResponse{Drills: each(page, convert), NextPageToken: next, TotalSize: int32(len(drills)), Revision: e.Revision}, nil
}

// filtered lists the drills that an expression lets through; all without one. The error is *client.Invalid.
func filtered(e *rules.Edition, expression string) ([]*catalog.Drill, error) {
	if expression == "" {
		return e.Catalogue.Drills, nil
	}
	keep, err := e.Filter(expression)
	var problems authored.Problems
	if errors.As(err, &problems) {
		return nil, client.NewInvalid(each(problems, func(p authored.Problem) client.Violation {
			return client.Violation{Field: "filter", Message: strings.TrimPrefix(p.String(), "filter:")}
		}))
	}
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(slices.Clone(e.Catalogue.Drills), func(d *catalog.Drill) bool { return !keep(d) }), nil
}
