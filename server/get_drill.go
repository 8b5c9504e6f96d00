package server

import (
	"context"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/selection"
)

// GetDrill implements CatalogService.
func (s *Server) GetDrill(ctx context.Context, req *v1.GetDrillRequest) (*v1.GetDrillResponse, error) {
	e, err := s.edition(ctx)
	if err != nil {
		return nil, err
	}
	d := e.Catalogue.Drill(req.GetId())
	if d == nil {
		return nil, &selection.UnknownID{Kind: "drill", ID: req.GetId(), Nearest: authored.NearestFew(req.GetId(), e.Catalogue.DrillIDs(), 5)}
	}
	return &v1.GetDrillResponse{Drill: drillTo(e.Edition, d), Revision: e.Revision}, nil
}
