package server

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"drillwright/server/token"
)

// tokens are those of the callers that a server knows, read anew while it runs. When they can't be read the last ones stay, and
// end when they end; but not for longer than Config.StaleAfter, for one of them may have been revoked.
type tokens struct {
	read  func(context.Context) ([]token.Token, error)
	known atomic.Pointer[knownTokens]
}

type knownTokens struct {
	byDigest map[token.Digest]*token.Token
	at       time.Time
}

// readTokens reads them for the first time; nil without Config.Tokens.
func (s *Server) readTokens(ctx context.Context) (*tokens, error) {
	if s.config.Tokens == nil {
		return nil, nil
	}
	t := &tokens{read: s.config.Tokens}
	return t, s.renew(ctx, t)
}

// renew reads the tokens again.
func (s *Server) renew(ctx context.Context, t *tokens) error {
	ctx, cancel := context.WithTimeout(ctx, max(10*s.config.Poll, 10*time.Second))
	defer cancel()
	at := s.config.Now() // a token that is revoked while they are read may still be there
	list, err := t.read(ctx)
	if err != nil {
		return fmt.Errorf("read tokens: %w", err)
	}
	next := &knownTokens{byDigest: make(map[token.Digest]*token.Token, len(list)), at: at}
	for i := range list {
		next.byDigest[list[i].Digest] = &list[i]
	}
	t.known.Store(next)
	return nil
}

// followTokens reads the tokens again at each poll, until stop is called. That they can't be read is logged once, and that they
// can be again.
func (s *Server) followTokens() (stop func()) {
	if s.tokens == nil {
		return func() {}
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(s.config.Poll)
		defer tick.Stop()
		said := ""
		for {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
			}
			err := s.renew(ctx, s.tokens)
			switch {
			case ctx.Err() != nil:
			case err != nil && err.Error() != said:
				s.config.Log.ErrorContext(ctx, "the tokens can't be read; those known before stay", "error", err.Error())
				said = err.Error()
			case err == nil && said != "":
				s.config.Log.InfoContext(ctx, "the tokens can be read again")
				said = ""
			}
		}
	}()
	return func() {
		cancel()
		<-done
	}
}
