// Package server is the running service: gRPC around rules/selection. Each RPC has a file that converts, makes
// one call and converts back; validation, deadlines, request ids and errors stand in interceptors.
//
// It logs nothing of what it is sent, and stores it only where Config.KeepMismatches says so: a log line holds the
// method, the code, the time taken and the request id. An edition is served behind one atomic pointer; a call in
// flight finishes on the one it began with.
package server

import (
	"cmp"
	"context"
	"crypto/tls"
	"errors"
	"log/slog"
	"net"
	"os/exec"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"buf.build/go/protovalidate"
	"google.golang.org/grpc"
	"google.golang.org/grpc/encoding"
	"google.golang.org/grpc/health"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/keepalive"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/sqlstore"
	"drillwright/server/token"
)

// Config is how a server runs. It is read once, by New.
type Config struct {
	// Edition is served from the start. Nil: nothing is served, and health says so, until Adopt. With a store it is what an
	// empty one begins with; what is served is then what the store says is live.
	Edition *rules.Edition
	// Store holds what was published. Default: none; then nothing can be published.
	Store *sqlstore.Store
	// Poll is how often the store is asked whether something else went live. Default: 1 s.
	Poll time.Duration
	// StaleAfter is how long the server goes on answering when the store can't be reached. Default: 15 min.
	StaleAfter time.Duration
	// Keep is how many revisions, the live one among them, stay compiled for requests that pin one. Default: 3.
	Keep int
	// Authors is the command of a process that calls DoAuthorsWork; its standard streams are the server's. It is started when an author
	// has a draft checked, previewed or published, and ends a minute after the last. Default: this process does that work.
	Authors func() *exec.Cmd
	// Tokens are those of the callers who are let in, each to what its roles allow. It is called again at each Poll. Default: there
	// are none; then everybody is let in, and callers on this machine to the rulebook.
	Tokens func(context.Context) ([]token.Token, error)
	// TLS encrypts what Serve sends and takes, as NewTLS makes it. Default: nothing is encrypted.
	TLS *tls.Config
	// Plaintext says that it was asked for not to encrypt what other machines send, because a proxy does it; health repeats it. Default:
	// it wasn't.
	Plaintext bool
	// Adopted is called when what can be answered with has changed, before the next change. Default: nothing is.
	Adopted func()
	// Now is the clock by which the store's age is told. Default: time.Now.
	Now func() time.Time
	// Call says whom to call in an emergency; it stands in every answer. Default: "your local emergency number".
	Call string
	// Log takes a line for each call and every fault of ours. Default: none.
	Log *slog.Logger
	// Limits bound what callers can make the server hold and do.
	Limits Limits
	// StopWithin is how long calls in flight may take once the server is told to stop; a check in hand may take as long
	// again. Default: 10 s.
	StopWithin time.Duration
	// CheckShare: one answer in so many is given again the plain way, off the request path, and the two are compared.
	// At most a tenth of one core goes into that; what is too much is left out. Default: 1,000. Negative: none.
	CheckShare int
	// KeepMismatches is a folder for the requests whose two answers differ, to find the fault by. Its files hold client
	// profiles; it must be readable by its owner alone, and is made if it isn't there. Default: none are kept.
	KeepMismatches string
	// Metrics is where Serve tells what it counts, over HTTP at /metrics, in the text format of Prometheus. Serve closes
	// it. Default: nothing is counted.
	Metrics net.Listener
}

func (c Config) withDefaults() Config {
	if c.Call == "" {
		c.Call = "your local emergency number"
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	c.Limits = c.Limits.WithDefaults()
	if c.StopWithin == 0 {
		c.StopWithin = 10 * time.Second
	}
	if c.CheckShare == 0 {
		c.CheckShare = defaultShare
	}
	c.Poll, c.StaleAfter, c.Keep = cmp.Or(c.Poll, time.Second), cmp.Or(c.StaleAfter, 15*time.Minute), max(cmp.Or(c.Keep, 3), 1)
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Adopted == nil {
		c.Adopted = func() {}
	}
	return c
}

const (
	// workersPerCore is how many calls a core answers on stacks that have grown already; what comes beyond them, and what
	// waits long, has a stack of its own.
	workersPerCore = 4
	// maxHeaderBytes of what a call sends beside its message: a few ids and a token; names and values as HTTP/2 counts them.
	maxHeaderBytes = 64 << 10
)

// Server answers all services. It is safe for use by many goroutines.
type Server struct {
	v1.UnimplementedSelectionServiceServer
	v1.UnimplementedCatalogServiceServer
	v1.UnimplementedRulebookServiceServer

	config    Config
	cache     atomic.Pointer[editionCache]
	adopting  sync.Mutex // one change of the cache at a time
	follower  *follower  // nil without a store
	tokens    *tokens    // nil without Config.Tokens
	health    *health.Server
	ending    context.Context // ends when the server is told to stop
	end       context.CancelFunc
	validator protovalidate.Validator
	metrics   *metrics
	checks    *checker
	tasks     taskRunner
	authors   chan struct{} // holds one while authors' work is done
	admission *admission
}

// New readies a server; Serve or Local runs it. With a store it first reads every edition that was published: the error is
// then the store's, or that what is live can't be read.
func New(config Config) (*Server, error) {
	validator, err := protovalidate.New(protovalidate.WithMessages(
		&v1.ScreenRequest{}, &v1.SubstituteRequest{}, &v1.SelectRequest{}, &v1.ExplainRequest{},
		&v1.GetDrillRequest{}, &v1.ListDrillsRequest{}, &v1.ListTermsRequest{},
		&v1.GetRulebookRequest{}, &v1.CheckRulebookRequest{}, &v1.PreviewRulebookRequest{}, &v1.PublishRulebookRequest{},
		&v1.ListRevisionsRequest{}, &v1.CompareRevisionsRequest{}, &v1.RestoreRevisionRequest{}, &v1.WithdrawRevisionRequest{},
		&v1.FindSinceRequest{}))
	if err != nil {
		return nil, err
	}
	s := &Server{config: config.withDefaults(), health: health.NewServer(), validator: validator, authors: make(chan struct{}, 1)}
	s.admission = &admission{server: s}
	if s.metrics, err = newMetrics(config.Metrics != nil, s.liveEdition, s.storeState); err != nil {
		return nil, err
	}
	if s.checks, err = newChecker(s.config, s.metrics, validator); err != nil {
		return nil, err
	}
	if s.tokens, err = s.readTokens(context.Background()); err != nil {
		return nil, err
	}
	s.tasks = inProcess{s}
	if config.Authors != nil {
		s.tasks = newChildProcess(config.Authors, s.config.Log)
	}
	s.ending, s.end = context.WithCancel(context.Background())
	s.setHealth(grpc_health_v1.HealthCheckResponse_NOT_SERVING)
	if config.Plaintext {
		s.health.SetServingStatus(plaintextHealth, grpc_health_v1.HealthCheckResponse_SERVING)
	}
	switch {
	case config.Store != nil:
		s.follower = &follower{server: s, store: config.Store, limit: max(10*s.config.Poll, 10*time.Second), unreadable: map[string]error{}}
		err = s.follower.begin(context.Background(), config.Edition)
	case config.Edition != nil:
		s.Adopt(config.Edition)
	}
	return s, err
}

// Serve answers on the listener until the context ends; then health turns NOT_SERVING, no new call is taken, and
// those in flight have Config.StopWithin to finish.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	defer s.metrics.serve(s.config.Metrics, s.config.Log)()
	defer s.checks.start(s.config.StopWithin)()
	defer s.follow()()
	defer s.tasks.close()
	defer s.followTokens()()
	g := s.grpc(s, s.encrypted()...)
	stopped := make(chan struct{})
	release := context.AfterFunc(ctx, func() {
		defer close(stopped)
		s.stop(g)
	})
	err := g.Serve(pacedListener{listener, s.config.Limits.PingTimeout})
	if release() {
		return err
	}
	<-stopped // the context ended: the calls in flight are done, or cut off
	if errors.Is(err, grpc.ErrServerStopped) {
		return nil
	}
	return err
}

// follow keeps the server on what its store says is live, until stop is called.
func (s *Server) follow() (stop func()) {
	if s.follower == nil {
		return func() {}
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.follower.run(ctx)
	}()
	return func() {
		cancel()
		<-done
	}
}

// stop drains, then cuts off what is still running.
func (s *Server) stop(g *grpc.Server) {
	s.health.Shutdown()
	s.end()
	late := time.AfterFunc(s.config.StopWithin, g.Stop)
	defer late.Stop()
	g.GracefulStop()
}

// grpc makes the gRPC server with all services registered.
func (s *Server) grpc(selection v1.SelectionServiceServer, more ...grpc.ServerOption) *grpc.Server {
	g := grpc.NewServer(append(append(s.transport(), more...),
		grpc.ChainUnaryInterceptor(s.name, s.report, s.authorize, s.yield, s.validate),
		grpc.ChainStreamInterceptor(s.guardStream, s.authorizeStream),
		grpc.UnknownServiceHandler(s.unknown), grpc.ForceServerCodecV2(codec{encoding.GetCodecV2("proto")}))...)
	g.RegisterService(s.reporting(v1.SelectionService_ServiceDesc), selection)
	g.RegisterService(s.reporting(v1.CatalogService_ServiceDesc), s)
	g.RegisterService(s.reporting(v1.RulebookService_ServiceDesc), s)
	g.RegisterService(s.reporting(grpc_health_v1.Health_ServiceDesc), endingHealth{s.health, s.ending})
	registerReflection(g)
	return g
}

// transport is how bytes are moved, whatever they say.
func (s *Server) transport() []grpc.ServerOption {
	l := s.config.Limits
	return []grpc.ServerOption{
		grpc.MaxRecvMsgSize(l.Message),
		grpc.MaxSendMsgSize(l.Message),
		grpc.MaxHeaderListSize(maxHeaderBytes),
		grpc.MaxConcurrentStreams(uint32(l.Streams)),
		grpc.NumStreamWorkers(uint32(workersPerCore * runtime.GOMAXPROCS(0))),
		grpc.ConnectionTimeout(l.Handshake),
		grpc.InTapHandle(s.admission.in),
		grpc.KeepaliveEnforcementPolicy(keepalive.EnforcementPolicy{MinTime: l.PingEvery, PermitWithoutStream: true}),
		grpc.KeepaliveParams(keepalive.ServerParameters{Time: l.PingAfter, Timeout: l.PingTimeout,
			MaxConnectionAge: l.Age, MaxConnectionAgeGrace: l.AgeGrace}),
	}
}
