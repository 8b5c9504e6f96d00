package server

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/rules"
)

// Limits of the second look at a share of the answers.
const (
	defaultShare = 1000
	// waitingChecks may be in memory at a time; what comes when it is full is dropped and counted.
	waitingChecks = 16
	// restFactor: after a check the worker rests so many times as long as the check took. The plain way keeps a core
	// busy for a second a call, and must not take it from the callers: so at most a tenth of one core.
	restFactor = 9
	// scatter is 2^64 over the golden ratio: its multiples, overflow dropped, fill the range evenly, and so do every
	// second or third of them. Exactly every thousandth answer could be Screen each time, where callers take turns.
	scatter = 0x9E3779B97F4A7C15
)

// given is an answer that was given, and the way to give it again on another edition.
type given struct {
	method  string
	edition *served
	request proto.Message
	unread  error // of proto.Unmarshal, where the reader of questions read them
	served  response
	again   func(*served) (response, error)
}

// checker gives a share of the answers a second time, the plain way, and reports those that come out differently.
// It is off the request path: a call waits for nothing of it.
type checker struct {
	below       uint64 // an answer is due when its number, scattered, isn't above this; 0: none is
	answers     atomic.Uint64
	rest        int // times as long as the check took
	queue       chan given
	metrics     *metrics
	log         *slog.Logger
	limits      protovalidate.Validator       // the library's walk, which the questions themselves are spared
	folder      string                        // of mismatches; "": none are kept
	byReference func(given) (response, error) // gives the answer again; tests plant a fault here
	busy        sync.Mutex                    // one check at a time, though a server may serve on two listeners
	reference   struct{ of, as *served }      // the reference copy of the edition checked last: its programs are written once
}

func newChecker(config Config, m *metrics, limits protovalidate.Validator) (*checker, error) {
	c := &checker{limits: limits, queue: make(chan given, waitingChecks), metrics: m, log: config.Log, folder: config.KeepMismatches,
		rest: restFactor}
	c.byReference = c.onReference
	if config.CheckShare > 0 {
		c.below = math.MaxUint64 / uint64(config.CheckShare)
	}
	return c, readyFolder(c.folder)
}

// due is true for one answer in Config.CheckShare.
func (c *checker) due() bool { return c.below > 0 && c.answers.Add(1)*scatter <= c.below }

// take leaves an answer for the worker.
func (c *checker) take(g given) {
	select {
	case c.queue <- g:
	default:
		c.metrics.dropped.Add(context.Background(), 1)
	}
}

// start runs the worker. stop ends it after the check in hand, or leaves that one behind when it takes longer than
// stopWithin; what still waits is not checked.
func (c *checker) start(stopWithin time.Duration) (stop func()) {
	if c.below == 0 {
		return func() {}
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		c.work(ctx)
	}()
	return func() {
		cancel()
		select {
		case <-done:
		case <-time.After(stopWithin):
		}
	}
}

func (c *checker) work(ctx context.Context) {
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case g := <-c.queue:
			began := time.Now()
			c.check(g)
			select {
			case <-ctx.Done():
			case <-time.After(time.Duration(c.rest) * time.Since(began)):
			}
		}
	}
}

func (c *checker) check(g given) {
	c.busy.Lock()
	defer c.busy.Unlock()
	plain, err := c.caught(g)
	c.metrics.checked.Add(context.Background(), 1)
	m := mismatch{Method: g.method, Revision: g.edition.Revision, Engine: rules.EngineVersion,
		digest: g.served.GetHeader().GetReceipt().GetRequestDigest()}
	switch {
	case err != nil:
		m.Differs, m.Fault = "the plain way failed", err.Error()
	case sameBytes(g.served, plain):
		return
	default:
		m.Differs = firstDifference(g.served.ProtoReflect(), plain.ProtoReflect())
	}
	c.metrics.mismatched.Add(context.Background(), 1)
	c.log.Error("the plain way gives another answer", "method", m.Method, "revision", m.Revision, "request_digest", m.digest, "differs",
		m.Differs)
	if err := keep(c.folder, m, g, plain); err != nil {
		c.log.Error("keep a mismatch", "request_digest", m.digest, "error", err.Error())
	}
}

// caught makes an error of a panic: the plain way has no caller that could be told.
func (c *checker) caught(g given) (r response, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v", p)
		}
	}()
	if g.unread != nil {
		return nil, fmt.Errorf("it was answered though it isn't of the contract: %w", g.unread)
	}
	if err := c.limits.Validate(g.request); err != nil {
		return nil, fmt.Errorf("it was answered beyond the contract's limits: %w", err)
	}
	return c.byReference(g)
}

func (c *checker) onReference(g given) (response, error) {
	if c.reference.of != g.edition {
		c.reference.of, c.reference.as = g.edition, g.edition.byReference()
	}
	return g.again(c.reference.as)
}

func sameBytes(a, b proto.Message) bool {
	exact := proto.MarshalOptions{Deterministic: true}
	one, err := exact.Marshal(a)
	other, errOther := exact.Marshal(b)
	return err == nil && errOther == nil && bytes.Equal(one, other)
}

// firstDifference is the path of the first field that differs, without an index and without its value: nothing of it
// comes from the client.
func firstDifference(a, b protoreflect.Message) string {
	for i := range a.Descriptor().Fields().Len() {
		f := a.Descriptor().Fields().Get(i)
		switch {
		case a.Has(f) == b.Has(f) && a.Get(f).Equal(b.Get(f)):
		case f.Message() != nil && !f.IsList() && a.Has(f) && b.Has(f):
			return string(f.Name()) + "." + firstDifference(a.Get(f).Message(), b.Get(f).Message())
		default:
			return string(f.Name())
		}
	}
	return "the bytes alone"
}
