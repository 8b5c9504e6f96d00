package server

import (
	"context"
	"errors"
	"net"
	"sync"
	"time"

	"google.golang.org/grpc/peer"
)

// A call that is taken back at once costs its sender next to nothing, and gRPC reads what comes as fast as it comes. So a connection
// whose callers take back more calls than this in a second isn't read from for the rest of it.
const mostResets = 500

// pacedListener is a listener whose connections are paced so. gRPC knows a connection of TCP no more, so what it would ask of one is
// asked here: that it ends when the other end doesn't take what was sent.
type pacedListener struct {
	net.Listener
	taken time.Duration // within which it must
}

func (l pacedListener) Accept() (net.Conn, error) {
	conn, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	if tcp, ok := conn.(*net.TCPConn); ok {
		endUntaken(tcp, l.taken) // where the system can't, the pings of keepalive find out
	}
	return &pacedConn{Conn: conn, from: &sender{Addr: conn.RemoteAddr()}, closed: make(chan struct{})}, nil
}

type pacedConn struct {
	net.Conn
	from   *sender
	once   sync.Once
	closed chan struct{}
}

// RemoteAddr is how the calls of a connection know it.
func (c *pacedConn) RemoteAddr() net.Addr { return c.from }

func (c *pacedConn) Read(b []byte) (int, error) {
	if rest := c.from.rest(time.Now()); rest > 0 {
		select {
		case <-time.After(rest):
		case <-c.closed:
		}
	}
	return c.Conn.Read(b)
}

func (c *pacedConn) Close() error {
	c.once.Do(func() { close(c.closed) })
	return c.Conn.Close()
}

// sender is the other end of a connection, and how many calls it took back in the second that began.
type sender struct {
	net.Addr
	mu     sync.Mutex
	began  time.Time
	resets int
}

func (c *sender) reset(now time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if now.Sub(c.began) >= time.Second {
		c.began, c.resets = now, 0
	}
	c.resets++
}

// rest is how long it isn't read from.
func (c *sender) rest(now time.Time) time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.resets <= mostResets {
		return 0
	}
	return max(0, time.Second-now.Sub(c.began))
}

// countReset notes a call that ended because its sender took it back, or left.
func countReset(ctx context.Context) {
	if !errors.Is(ctx.Err(), context.Canceled) {
		return
	}
	if p, ok := peer.FromContext(ctx); ok {
		if c, ok := p.Addr.(*sender); ok {
			c.reset(time.Now())
		}
	}
}
