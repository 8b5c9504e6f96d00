package server

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/health"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"
)

// endingHealth ends its watches when the server stops: they would hold up a stop as long as calls in flight may.
type endingHealth struct {
	*health.Server
	ended context.Context
}

// Watch implements Health. The last status that it sends at a stop is NOT_SERVING.
func (h endingHealth) Watch(req *grpc_health_v1.HealthCheckRequest,
	stream grpc.ServerStreamingServer[grpc_health_v1.HealthCheckResponse]) error {
	ctx, cancel := context.WithCancel(stream.Context())
	defer cancel()
	defer context.AfterFunc(h.ended, cancel)()
	err := h.Server.Watch(req, watching{stream, ctx})
	if h.ended.Err() != nil && stream.Context().Err() == nil {
		// Whether it was told before the watch ended is chance.
		stream.Send(&grpc_health_v1.HealthCheckResponse{Status: grpc_health_v1.HealthCheckResponse_NOT_SERVING})
		return status.Error(codes.Unavailable, "the server stops")
	}
	return err
}

// watching is a stream with a context of its own.
type watching struct {
	grpc.ServerStreamingServer[grpc_health_v1.HealthCheckResponse]
	ctx context.Context
}

func (w watching) Context() context.Context { return w.ctx }
