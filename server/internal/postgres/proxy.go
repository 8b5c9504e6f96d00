package postgres

import (
	"bytes"
	"net"
	"net/url"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/require"
)

// Proxy is a way to a PostgreSQL, over TCP, that a test can cut. Its methods may be called by many goroutines.
type Proxy struct {
	URL string // of the same schema, by this way

	t       *testing.T
	network string
	behind  string // its address
	address string // the proxy's own

	mu       sync.Mutex // it guards what follows
	listener net.Listener
	open     map[net.Conn]bool
	left     int64 // bytes, of both directions, until all is cut; negative: no end
	passed   int64
	text     string // of a message at whose sight all is cut: before it passes, or
	heard    bool   // after it
	silent   bool
}

// NewProxy opens a way to what target names, until the test ends.
func NewProxy(t *testing.T, target string) *Proxy {
	t.Helper()
	config, err := pgx.ParseConfig(target)
	require.NoError(t, err)
	p := &Proxy{t: t, address: "127.0.0.1:0", open: map[net.Conn]bool{}, left: -1}
	p.network, p.behind = pgconn.NetworkAddress(config.Host, config.Port)
	p.Admit()
	t.Cleanup(p.Refuse)
	p.URL = With(t, target, func(u *url.URL) {
		q := u.Query()
		q.Del("host")
		q.Del("port")
		q.Set("sslmode", "disable")
		u.Host, u.RawQuery = p.address, q.Encode()
	})
	return p
}

// Admit takes connections from now on.
func (p *Proxy) Admit() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.listener != nil {
		return
	}
	listener, err := net.Listen("tcp", p.address)
	require.NoError(p.t, err)
	p.listener, p.address, p.left = listener, listener.Addr().String(), -1
	go func() {
		for {
			c, err := listener.Accept()
			if err != nil {
				return
			}
			go p.pass(c)
		}
	}()
}

// Refuse cuts every connection and takes no more: the machine answers that nobody listens.
func (p *Proxy) Refuse() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.listener != nil {
		p.listener.Close()
		p.listener = nil
	}
	p.cut()
}

// Cut cuts every connection and takes new ones.
func (p *Proxy) Cut() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.cut()
}

// CutAfter cuts every connection once so many more bytes have passed, and takes new ones.
func (p *Proxy) CutAfter(bytes int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.left = bytes
}

// CutAt cuts every connection when PostgreSQL is sent a text, before it hears of it, or when it has heard and before it answers.
func (p *Proxy) CutAt(text string, heard bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.text, p.heard = text, heard
}

// Silence keeps connections open, takes new ones, and lets nothing through any more, not even that one end has closed its own.
func (p *Proxy) Silence() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.silent = true
}

// Passed is how many bytes have passed so far.
func (p *Proxy) Passed() int64 {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.passed
}

func (p *Proxy) cut() {
	for c := range p.open {
		c.Close()
	}
	clear(p.open)
	p.left, p.text = -1, ""
}

func (p *Proxy) pass(near net.Conn) {
	far, err := net.Dial(p.network, p.behind)
	if err != nil {
		near.Close()
		return
	}
	p.mu.Lock()
	if p.listener == nil {
		near.Close()
		far.Close()
	}
	p.open[near], p.open[far] = true, true
	p.mu.Unlock()
	go p.copy(near, far, false)
	p.copy(far, near, true)
}

// copy passes on what comes, as far as it may. asks: it goes to PostgreSQL.
func (p *Proxy) copy(to, from net.Conn, asks bool) {
	defer p.end(to, from)
	buffer := make([]byte, 4096)
	for {
		n, err := from.Read(buffer)
		if !p.passOn(to, buffer[:n], asks) || err != nil {
			return
		}
	}
}

// end closes both ends of a connection, of which in silence neither hears.
func (p *Proxy) end(ends ...net.Conn) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, c := range ends {
		if !p.silent {
			c.Close()
			delete(p.open, c)
		}
	}
}

// passOn is false when all was cut. It holds the lock, so that nothing passes after that.
func (p *Proxy) passOn(to net.Conn, data []byte, asks bool) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.silent {
		return true
	}
	last := p.left >= 0 && int64(len(data)) >= p.left
	if last {
		data = data[:p.left]
	} else if p.left >= 0 {
		p.left -= int64(len(data))
	}
	if asks && p.text != "" && bytes.Contains(data, []byte(p.text)) {
		if last = true; !p.heard {
			data = nil
		}
	}
	p.passed += int64(len(data))
	to.Write(data)
	if last {
		p.cut()
	}
	return !last
}
