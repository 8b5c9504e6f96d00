package server

import (
	"context"
	"slices"

	"google.golang.org/grpc"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// revisionKey is the trailer with the revision that answered. As a header of a request it pins one: a caller who
// compares two revisions asks each by name.
const revisionKey = "drillwright-revision"

// storeHealth is the health of the store behind a server, under a name of its own.
const storeHealth = "drillwright.store"

// plaintextHealth is SERVING on a server that was told not to encrypt what other machines send, and unknown on every other.
const plaintextHealth = "drillwright.plaintext-behind-proxy"

// services are those whose health is told one by one; "" is the server as a whole.
var services = []string{"", v1.SelectionService_ServiceDesc.ServiceName, v1.CatalogService_ServiceDesc.ServiceName,
	v1.RulebookService_ServiceDesc.ServiceName}

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

// byReference is the same edition judged the plain way.
func (s *served) byReference() *served {
	return &served{Edition: s.Edition.ByReference(), cards: s.cards}
}

// editionCache is what can be answered with: what is live, and the last few that were. It is never changed; another takes its
// place.
type editionCache struct {
	live *served
	kept []*served // the live one first
	// stale: the store hasn't been reached for too long to vouch for what is live.
	stale bool
}

// pinned finds a kept revision.
func (s *editionCache) pinned(revision string) (*served, error) {
	i := slices.IndexFunc(s.kept, func(k *served) bool { return k.Revision == revision })
	if i < 0 {
		return nil, &notKept{revision, each(s.kept, func(k *served) string { return k.Revision })}
	}
	return s.kept[i], nil
}

// Adopt serves an edition from now on. The last few stay ready for requests that pin one.
func (s *Server) Adopt(e *rules.Edition) { s.adopt(e, nil) }

// adopt is Adopt that lets go of withdrawn revisions.
func (s *Server) adopt(e *rules.Edition, withdrawn []string) {
	s.adopting.Lock()
	defer s.adopting.Unlock()
	next := &editionCache{}
	if had := s.cache.Load(); had != nil {
		next.kept = slices.DeleteFunc(slices.Clone(had.kept), func(k *served) bool {
			return k.Revision == e.Revision || slices.Contains(withdrawn, k.Revision)
		})
		if i := slices.IndexFunc(had.kept, func(k *served) bool { return k.Edition == e }); i >= 0 {
			next.live = had.kept[i]
		}
	}
	if next.live == nil {
		next.live = newServed(e)
	}
	next.kept = append([]*served{next.live}, next.kept[:min(len(next.kept), s.config.Keep-1)]...)
	s.cache.Store(next)
	s.setHealth(grpc_health_v1.HealthCheckResponse_SERVING)
	s.config.Adopted()
}

// doubt stops answering until the next adopt.
func (s *Server) doubt() {
	s.adopting.Lock()
	defer s.adopting.Unlock()
	had := s.cache.Load()
	if had == nil || had.stale {
		return
	}
	s.cache.Store(&editionCache{live: had.live, kept: had.kept, stale: true})
	s.setHealth(grpc_health_v1.HealthCheckResponse_NOT_SERVING)
}

// trust ends a doubt.
func (s *Server) trust() {
	s.adopting.Lock()
	defer s.adopting.Unlock()
	if had := s.cache.Load(); had != nil && had.stale {
		s.cache.Store(&editionCache{live: had.live, kept: had.kept})
		s.setHealth(grpc_health_v1.HealthCheckResponse_SERVING)
	}
}

// ready is the cache, when there is something to answer with.
func (s *Server) ready() (*editionCache, error) {
	now := s.cache.Load()
	switch {
	case now == nil:
		return nil, errNoEdition
	case now.stale:
		return nil, errStale
	}
	return now, nil
}

// edition is what a call is answered with, from its first line to its last. It is read once a call.
func (s *Server) edition(ctx context.Context) (*served, error) {
	now, err := s.ready()
	if err != nil {
		return nil, err
	}
	e := now.live
	if pin := metadata.ValueFromIncomingContext(ctx, revisionKey); len(pin) > 0 {
		if e, err = now.pinned(pin[0]); err != nil {
			return nil, err
		}
	}
	grpc.SetTrailer(ctx, metadata.Pairs(revisionKey, e.Revision)) // fails only outside a call: then there is no trailer
	return e, nil
}

// liveEdition is what is live; nil before there is any.
func (s *Server) liveEdition() *served {
	if now := s.cache.Load(); now != nil {
		return now.live
	}
	return nil
}

func (s *Server) setHealth(status grpc_health_v1.HealthCheckResponse_ServingStatus) {
	for _, name := range services {
		s.health.SetServingStatus(name, status)
	}
}
