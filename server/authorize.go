package server

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/token"
)

// rolesFor are the roles of which a call wants one. What stands in neither this list nor anyToken nobody may call while
// there are tokens.
var rolesFor = map[string][]token.Role{
	v1.SelectionService_Screen_FullMethodName:          {token.Ask},
	v1.SelectionService_Substitute_FullMethodName:      {token.Ask},
	v1.SelectionService_Select_FullMethodName:          {token.Ask},
	v1.SelectionService_Explain_FullMethodName:         {token.Ask},
	v1.CatalogService_GetDrill_FullMethodName:          {token.Ask},
	v1.CatalogService_ListDrills_FullMethodName:        {token.Ask},
	v1.CatalogService_ListTerms_FullMethodName:         {token.Ask},
	v1.RulebookService_GetRulebook_FullMethodName:      {token.Ask, token.Edit},
	v1.RulebookService_CheckRulebook_FullMethodName:    {token.Edit},
	v1.RulebookService_PreviewRulebook_FullMethodName:  {token.Edit},
	v1.RulebookService_ListRevisions_FullMethodName:    {token.Edit},
	v1.RulebookService_CompareRevisions_FullMethodName: {token.Edit},
	v1.RulebookService_FindSince_FullMethodName:        {token.Edit},
	v1.RulebookService_PublishRulebook_FullMethodName:  {token.Publish},
	v1.RulebookService_RestoreRevision_FullMethodName:  {token.Publish},
	v1.RulebookService_WithdrawRevision_FullMethodName: {token.Publish},
}

// anyToken are calls for whom every token does: reflection, and what there isn't.
var anyToken = map[string]bool{
	"/grpc.reflection.v1.ServerReflection/ServerReflectionInfo":      true,
	"/grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo": true,
	otherMethod: true,
}

// ofHealth is true for what anybody may call: whoever watches over servers needs no secret for it.
func ofHealth(method string) bool {
	return strings.HasPrefix(method, "/"+grpc_health_v1.Health_ServiceDesc.ServiceName+"/")
}

var (
	errFar = errors.New("the rulebook can be worked on from the machine that the server runs on only, unless the server " +
		"was started with tokens")
	// errNoToken has one wording, whatever is wrong with the token: it helps nobody to guess.
	errNoToken     = errors.New("a valid token is needed: send it as the header authorization: Bearer TOKEN")
	errStaleTokens = errors.New("the tokens of callers can't be read, and have not been for too long to trust those known before; " +
		"try again later")
)

// missingRole is a call with a token that has none of the roles that it takes.
type missingRole struct{ roles []token.Role }

func (m *missingRole) Error() string {
	if len(m.roles) == 0 {
		return "no token has a role for this call"
	}
	return fmt.Sprintf("this call wants a token with the role %s", m.inWords(" or "))
}

func (m *missingRole) inWords(between string) string {
	return strings.Join(each(m.roles, func(r token.Role) string { return string(r) }), between)
}

// caller is who calls, as far as the token tells.
type caller struct {
	token *token.Token // nil: none that is known
	err   error        // why nobody is let in with it
	why   string       // the same for the log
}

// attrs are what the log says of who calls: never the token, nor its digest.
func (c *caller) attrs() []slog.Attr {
	var attrs []slog.Attr
	if c != nil && c.token != nil {
		attrs = append(attrs, slog.String("token", c.token.Name))
	}
	if c != nil && c.why != "" {
		attrs = append(attrs, slog.String("token_is", c.why))
	}
	return attrs
}

type callerKey struct{}

func callerOf(ctx context.Context) *caller {
	c, _ := ctx.Value(callerKey{}).(*caller)
	return c
}

// reviewer is whose review goes into what the call reads and publishes; nil for nobody's.
func reviewer(ctx context.Context) *rules.Review {
	if c := callerOf(ctx); c != nil && c.err == nil && c.token.Has(token.Review) {
		return &rules.Review{By: c.token.Reviewer, Licence: c.token.Licence}
	}
	return nil
}

// identified is the context of a call in which it is known who calls.
func (s *Server) identified(ctx context.Context) context.Context {
	if s.tokens == nil || callerOf(ctx) != nil {
		return ctx
	}
	return context.WithValue(ctx, callerKey{}, s.tokens.caller(ctx, s.config))
}

func (t *tokens) caller(ctx context.Context, config Config) *caller {
	sent := metadata.ValueFromIncomingContext(ctx, "authorization")
	known, now := t.known.Load(), config.Now()
	switch {
	case now.Sub(known.at) > config.StaleAfter:
		return &caller{err: errStaleTokens, why: "stale"}
	case len(sent) == 0:
		return &caller{err: errNoToken, why: "none"}
	}
	secret, ok := bearer(sent)
	if !ok {
		return &caller{err: errNoToken, why: "malformed"}
	}
	found := known.byDigest[token.DigestOf(secret)] // how long it takes tells of the digest at most
	if found == nil {
		return &caller{err: errNoToken, why: "unknown"}
	}
	if ended := found.Ended(now); ended != "" {
		return &caller{token: found, err: errNoToken, why: ended}
	}
	return &caller{token: found}
}

// bearer takes the secret out of the header, which must be there once.
func bearer(sent []string) (secret string, ok bool) {
	const scheme = "Bearer "
	if len(sent) != 1 || len(sent[0]) < len(scheme) || !strings.EqualFold(sent[0][:len(scheme)], scheme) {
		return "", false
	}
	secret = sent[0][len(scheme):]
	return secret, token.WellFormed(secret)
}

// authorize lets in who may make the call. It is asked before the message is read too (reporting); here it closes a service that
// was registered without that.
func (s *Server) authorize(ctx context.Context, req any, info *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
	if err := s.admits(ctx, info.FullMethod); err != nil {
		return nil, err
	}
	return next(ctx, req)
}

// admits is why a caller may not make a call; nil where they may. While there are tokens it makes no difference from where
// they call: behind a proxy on this machine everybody calls from here.
func (s *Server) admits(ctx context.Context, method string) error {
	switch {
	case ofHealth(method):
		return nil
	case s.tokens == nil && ofRulebook(method) && !onLoopback(ctx):
		return errFar
	case s.tokens == nil:
		return nil
	}
	c := callerOf(ctx)
	switch {
	case c == nil:
		return errNoToken
	case c.err != nil:
		return c.err
	case anyToken[method]:
		return nil
	}
	if roles := rolesFor[method]; !c.token.Has(roles...) {
		return &missingRole{roles}
	}
	return nil
}

// authorizeStream is authorize for streams. What there isn't has no server, and is authorized where it is refused.
func (s *Server) authorizeStream(srv any, stream grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) error {
	if srv == nil {
		return next(srv, stream)
	}
	if err := s.admits(s.identified(stream.Context()), info.FullMethod); err != nil {
		_, err = s.refuse(stream.Context(), &grpc.UnaryServerInfo{Server: s, FullMethod: info.FullMethod}, err)
		return err
	}
	return next(srv, stream)
}
