package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"google.golang.org/grpc/health/grpc_health_v1"

	"drillwright/rules"
	"drillwright/server/sqlstore"
)

// follower keeps a server on what its store says is live: it asks at each poll for the number of the last event, and
// adopts when that has moved. It is for any number of goroutines; one poll runs at a time.
type follower struct {
	server *Server
	store  *sqlstore.Store
	limit  time.Duration // of one poll: others wait for it

	polling sync.Mutex     // one poll at a time; it guards the next two
	handed  *rules.Edition // compiled already by whoever published it
	head    int64          // of the last event that was followed

	mu         sync.Mutex // it guards what follows
	reached    time.Time
	live       int64 // number of the publication that is served
	unreadable map[string]error
	behind     error // why what is live couldn't be adopted; nil when it was
	down       error // why the store couldn't be reached at the last poll
	unwritten  error // why it didn't take what was last published; nil once it takes something
}

// begin publishes the first edition into an empty store, adopts what is live and tries every revision that could be
// restored. Errors: those of the store; *unreadable when what is live can't be read.
func (f *follower) begin(ctx context.Context, first *rules.Edition) error {
	_, err := f.store.Live(ctx)
	if errors.Is(err, sqlstore.ErrEmpty) && first != nil {
		_, _, err = f.store.Publish(ctx, sqlstore.Publish{Revision: first.Revision, Files: first.Files(), Author: "drillwright",
			Note: "The edition that comes with the program.", RequestID: "first " + first.Revision, RequestDigest: first.Revision,
			ReviewedBy: first.Book.ReviewedBy()})
		var other *sqlstore.Stale
		if errors.As(err, &other) {
			err = nil // another server was first
		}
	}
	if err != nil {
		return ofStore(err)
	}
	f.handed = first // where it is what is live, it isn't read again
	if err := f.poll(ctx); err != nil {
		return err
	}
	return f.tryAll(ctx)
}

// tryAll reads every revision that may be restored, so that one which this program can't read is known now and not when
// it is needed. Those that were live last are kept ready.
func (f *follower) tryAll(ctx context.Context) error {
	revisions, err := f.store.Published(ctx)
	if err != nil {
		return ofStore(err)
	}
	var keep []*rules.Edition
	for i, id := range revisions {
		e, err := f.read(ctx, id)
		var cant *unreadable
		switch {
		case errors.As(err, &cant):
			f.note(id, err)
			f.server.config.Log.WarnContext(ctx, "a published revision can't be read by this program", "revision", id, "error", err.Error())
		case err != nil:
			return err
		case i < f.server.config.Keep:
			keep = append(keep, e)
		}
	}
	live := f.server.liveEdition().Edition
	for _, e := range slices.Backward(keep) {
		f.server.Adopt(e)
	}
	f.server.Adopt(live)
	return nil
}

func (f *follower) note(revision string, err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.unreadable[revision] = err
}

// whyUnreadable is the first reason why a revision can't be read; "" for one that can.
func (f *follower) whyUnreadable(revision string) string {
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := f.unreadable[revision]; err != nil {
		return err.Error()
	}
	return ""
}

func (f *follower) liveNumber() int64 {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.live
}

// hand leaves an edition that was compiled already for the poll that adopts it.
func (f *follower) hand(e *rules.Edition) {
	f.polling.Lock()
	defer f.polling.Unlock()
	f.handed = e
}

// poll looks once whether something else went live, and adopts it. When that fails, what was served is served on; when
// the store has been away for longer than Config.StaleAfter, nothing is. The error says why; the next poll tries again.
// A store that doesn't answer in time is away; a caller who leaves says nothing about it.
func (f *follower) poll(ctx context.Context) error {
	f.polling.Lock()
	defer f.polling.Unlock()
	limited, cancel := context.WithTimeout(ctx, f.limit)
	defer cancel()
	err := f.follow(limited)
	var away storeFault
	switch {
	case !errors.As(err, &away):
		f.handed = nil // it went live, or something else did
		f.found(ctx)
	case ctx.Err() == nil:
		f.lost(ctx, err)
	}
	return err
}

// found: the store answered.
func (f *follower) found(ctx context.Context) {
	f.mu.Lock()
	again, unwritten := f.down != nil, f.unwritten
	f.reached, f.down = f.server.config.Now(), nil
	f.mu.Unlock()
	if again {
		f.server.config.Log.InfoContext(ctx, "the store is reached again")
	}
	if unwritten != nil && sqlstore.FaultOf(unwritten) != sqlstore.Full { // a full disk has room for as little as is tried here
		f.wrote(ctx, f.store.TryWrite(ctx))
	}
	f.tellHealth()
	f.server.trust()
}

// wrote says how a write ended. Where the store itself is at fault its health is bad until one goes through; that it can't be
// reached is for polls to say.
func (f *follower) wrote(ctx context.Context, err error) {
	var fault storeFault
	if err != nil && (ctx.Err() != nil || !errors.As(ofStore(err), &fault) || sqlstore.FaultOf(err) == sqlstore.Away) {
		return
	}
	f.mu.Lock()
	before := f.unwritten
	f.unwritten = err
	f.mu.Unlock()
	switch {
	case err != nil && before == nil:
		f.server.config.Log.ErrorContext(ctx, "the store "+sqlstore.FaultOf(err).Words(), "error", err.Error())
	case err == nil && before != nil:
		f.server.config.Log.InfoContext(ctx, "the store takes what is written again")
	}
	f.tellHealth()
}

// tellHealth tells how the store stands.
func (f *follower) tellHealth() {
	f.mu.Lock()
	defer f.mu.Unlock()
	status := grpc_health_v1.HealthCheckResponse_SERVING
	if f.down != nil || f.unwritten != nil {
		status = grpc_health_v1.HealthCheckResponse_NOT_SERVING
	}
	f.server.health.SetServingStatus(storeHealth, status)
}

// lost: it didn't.
func (f *follower) lost(ctx context.Context, err error) {
	f.mu.Lock()
	first, age := f.down == nil, f.server.config.Now().Sub(f.reached)
	f.down = err
	f.mu.Unlock()
	if first {
		f.server.config.Log.ErrorContext(ctx, "the store "+sqlstore.FaultOf(err).Words(), "error", err.Error())
	}
	f.tellHealth()
	if age > f.server.config.StaleAfter {
		f.server.doubt()
	}
}

// follow adopts what is live, if the last event isn't the one that was followed last.
func (f *follower) follow(ctx context.Context) error {
	head, err := f.store.Head(ctx)
	if err != nil {
		return ofStore(err)
	}
	if head == f.head {
		f.mu.Lock()
		defer f.mu.Unlock()
		return f.behind
	}
	live, err := f.store.Live(ctx)
	if err != nil {
		return ofStore(err)
	}
	withdrawn, err := f.withdrawn(ctx)
	if err != nil {
		return err
	}
	e, err := f.read(ctx, live.Revision)
	var cant *unreadable
	if err != nil && !errors.As(err, &cant) {
		return err // the store again: nothing is known of this head yet
	}
	f.head = head
	f.mu.Lock()
	f.behind = err
	if err == nil {
		f.live = live.Number
	} else {
		f.unreadable[live.Revision] = err
	}
	f.mu.Unlock()
	if err != nil {
		if f.server.liveEdition() == nil {
			return err // at start: nothing is served
		}
		f.server.config.Log.ErrorContext(ctx, "what is live can't be adopted; the last good edition is served on", "revision", live.Revision,
			"error", err.Error())
		return err
	}
	f.server.adopt(e, withdrawn)
	return nil
}

// withdrawn lists those of the kept revisions that may not be served any more.
func (f *follower) withdrawn(ctx context.Context) ([]string, error) {
	now := f.server.cache.Load()
	if now == nil {
		return nil, nil
	}
	published, err := f.store.Published(ctx)
	if err != nil {
		return nil, ofStore(err)
	}
	var out []string
	for _, k := range now.kept {
		if !slices.Contains(published, k.Revision) {
			out = append(out, k.Revision)
		}
	}
	return out, nil
}

// read compiles a revision, unless it is at hand.
func (f *follower) read(ctx context.Context, id string) (*rules.Edition, error) {
	if f.handed != nil && f.handed.Revision == id {
		e := f.handed
		f.handed = nil
		return e, nil
	}
	var like *rules.Edition
	if now := f.server.cache.Load(); now != nil {
		if kept, err := now.pinned(id); err == nil {
			return kept.Edition, nil
		}
		like = now.live.Edition
	}
	files, err := f.store.Files(ctx, id)
	if errors.Is(err, sqlstore.ErrUnknownRevision) { // it was published: its events say so
		return nil, &unreadable{id, errors.New("its files aren't in the store")}
	}
	if err != nil {
		return nil, ofStore(err)
	}
	return readRevision(like, id, files)
}

// run polls until the context ends.
func (f *follower) run(ctx context.Context) {
	tick := time.NewTicker(f.server.config.Poll)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			f.poll(ctx) // what it finds is told by health and metrics
		}
	}
}

// state is how long ago the store was reached, and whether what it says is live is what is served.
func (f *follower) state() (age time.Duration, adopted bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.server.config.Now().Sub(f.reached), f.behind == nil
}

// storeState is state for a server that may have no store.
func (s *Server) storeState() (age time.Duration, adopted, ok bool) {
	if s.follower == nil {
		return 0, false, false
	}
	age, adopted = s.follower.state()
	return age, adopted, true
}

// storeFault is an error of the store that isn't about what was asked: as sqlstore.Fault says.
type storeFault struct{ error }

func (s storeFault) Unwrap() error { return s.error }

// ofStore tells faults of the store from its answers. A revision that is damaged is *unreadable.
func ofStore(err error) error {
	var (
		stale     *sqlstore.Stale
		withdrawn *sqlstore.Withdrawn
		invalid   sqlstore.Invalid
		damaged   *sqlstore.Damaged
	)
	switch {
	case errors.As(err, &damaged):
		return &unreadable{damaged.Revision, damaged}
	case err == nil, errors.As(err, &stale), errors.As(err, &withdrawn), errors.As(err, &invalid), errors.Is(err, sqlstore.ErrEmpty),
		errors.Is(err, sqlstore.ErrUnknownRevision), errors.Is(err, sqlstore.ErrUnchanged), errors.Is(err, sqlstore.ErrRequestReused),
		errors.Is(err, sqlstore.ErrNothingLeft):
		return err
	}
	return storeFault{fmt.Errorf("store of editions: %w", err)}
}
