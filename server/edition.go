package server

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// revisionTrailer carries the revision of the edition that answered.
const revisionTrailer = "drillwright-revision"

// services are those whose health is told one by one; "" is the server as a whole.
var services = []string{"", v1.SelectionService_ServiceDesc.ServiceName, v1.CatalogService_ServiceDesc.ServiceName}

// served is an edition with what every answer of it has in common, converted once.
type served struct {
	*rules.Edition
	cards []*v1.DrillCard // by drill; they are never written to
}

func newServed(e *rules.Edition) *served {
	s := &served{Edition: e}
	for _, d := range e.Catalogue.Drills {
		s.cards = append(s.cards, cardTo(e.Catalogue.Vocabulary, d))
	}
	return s
}

// plainly is the same edition judged the plain way.
func (s *served) plainly() *served { return &served{Edition: s.Edition.Plainly(), cards: s.cards} }

// Adopt serves an edition from now on.
func (s *Server) Adopt(e *rules.Edition) {
	s.live.Store(newServed(e))
	s.setHealth(grpc_health_v1.HealthCheckResponse_SERVING)
}

// edition is what a call is answered with, from its first line to its last. It is read once a call.
func (s *Server) edition(ctx context.Context) (*served, error) {
	e := s.live.Load()
	if e == nil {
		return nil, errNoEdition
	}
	grpc.SetTrailer(ctx, metadata.Pairs(revisionTrailer, e.Revision)) // fails only outside a call: then there is no trailer
	return e, nil
}

func (s *Server) setHealth(status grpc_health_v1.HealthCheckResponse_ServingStatus) {
	for _, name := range services {
		s.health.SetServingStatus(name, status)
	}
}
