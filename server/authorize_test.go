package server

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/encoding"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/mem"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/dynamicpb"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/token"
)

// mayCall says of every call which roles let a caller make it. It is written apart from what the server reads.
var mayCall = map[string]string{
	"SelectionService/Screen": "ask", "SelectionService/Substitute": "ask", "SelectionService/Select": "ask",
	"SelectionService/Explain": "ask",
	"CatalogService/GetDrill":  "ask", "CatalogService/ListDrills": "ask", "CatalogService/ListTerms": "ask",
	"RulebookService/GetRulebook": "ask edit", "RulebookService/CheckRulebook": "edit", "RulebookService/PreviewRulebook": "edit",
	"RulebookService/ListRevisions": "edit", "RulebookService/CompareRevisions": "edit", "RulebookService/FindSince": "edit",
	"RulebookService/PublishRulebook": "publish", "RulebookService/RestoreRevision": "publish", "RulebookService/WithdrawRevision": "publish",
}

// tokenList is the tokens of a server, which a test changes.
type tokenList struct {
	mu    sync.Mutex
	list  []token.Token
	err   error
	reads int
	// secrets by name.
	secrets map[string]string
}

func (l *tokenList) read(context.Context) ([]token.Token, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.reads++
	return slices.Clone(l.list), l.err
}

func (l *tokenList) change(do func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	do()
}

// add makes a token that is good for an hour from now.
func (l *tokenList) add(t testing.TB, now time.Time, name string, roles ...token.Role) string {
	t.Helper()
	as := token.Token{Name: name, Roles: roles, Created: now.Add(-time.Hour), Expires: now.Add(time.Hour)}
	if as.Has(token.Review) {
		as.Reviewer, as.Licence = "Dr A. Sculler, sports physician", "RC-0413"
	}
	secret, kept, err := token.New(as)
	require.NoError(t, err)
	l.change(func() {
		l.list = append(l.list, kept)
		if l.secrets == nil {
			l.secrets = map[string]string{}
		}
		l.secrets[name] = secret
	})
	return secret
}

func with(secret string) context.Context {
	return metadata.AppendToOutgoingContext(context.Background(), "authorization", "Bearer "+secret)
}

// calls are all of the contract, by its descriptors.
func calls(t testing.TB) (list []protoreflect.MethodDescriptor) {
	protoregistry.GlobalFiles.RangeFilesByPackage("drillwright.v1", func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			for j := range f.Services().Get(i).Methods().Len() {
				list = append(list, f.Services().Get(i).Methods().Get(j))
			}
		}
		return true
	})
	require.NotEmpty(t, list)
	return list
}

// callAs makes a call with an empty message; it wants to know who is let in, and no more.
func callAs(ctx context.Context, conn *grpc.ClientConn, m protoreflect.MethodDescriptor) error {
	path := fmt.Sprintf("/%s/%s", m.Parent().FullName(), m.Name())
	in, out := dynamicpb.NewMessage(m.Input()), dynamicpb.NewMessage(m.Output())
	if !m.IsStreamingClient() && !m.IsStreamingServer() {
		return conn.Invoke(ctx, path, in, out)
	}
	stream, err := conn.NewStream(ctx, &grpc.StreamDesc{ClientStreams: m.IsStreamingClient(), ServerStreams: m.IsStreamingServer()}, path)
	if err == nil {
		err = errors.Join(stream.SendMsg(in), stream.CloseSend())
	}
	if err == nil {
		err = stream.RecvMsg(out)
	}
	return err
}

// TestEveryCallByEveryRole makes every call of the contract as everybody, on loopback, where nobody is privileged.
func TestEveryCallByEveryRole(t *testing.T) {
	if testing.Short() {
		t.Skip("asks hundreds of calls one after the other")
	}
	l, now := &tokenList{}, time.Now()
	as := map[string]context.Context{"nobody": context.Background()}
	for _, r := range token.Roles {
		as[string(r)] = with(l.add(t, now, "has-"+string(r), r))
	}
	as["all"] = with(l.add(t, now, "has-all", token.Roles...))
	as["expired"], as["revoked"] = with(l.add(t, now, "has-expired", token.Roles...)), with(l.add(t, now, "has-revoked", token.Roles...))
	for i := range l.list {
		switch l.list[i].Name {
		case "has-expired":
			l.list[i].Expires = now.Add(-time.Second)
		case "has-revoked":
			l.list[i].Revoked = now
		}
	}
	other := (&tokenList{}).add(t, now, "elsewhere", token.Roles...)
	as["wrong"] = with(other)
	for name, headers := range map[string][]string{
		"malformed: empty": {""}, "malformed: no scheme": {l.secrets["has-all"]}, "malformed: basic": {"Basic " + l.secrets["has-all"]},
		"malformed: cut": {"Bearer " + l.secrets["has-all"][:40]}, "malformed: nothing": {"Bearer "}, "malformed: blanks": {"Bearer  " +
			l.secrets["has-all"]}, "malformed: a digest": {"Bearer " + hex.EncodeToString(l.list[0].Digest[:])},
		"malformed: two":        {"Bearer " + l.secrets["has-all"], "Bearer " + other},
		"malformed: one in two": {"Bearer " + l.secrets["has-all"] + ", Bearer " + other},
		"malformed: long":       {"Bearer " + strings.Repeat("A", 8000)},
	} {
		as[name] = metadata.NewOutgoingContext(context.Background(), metadata.MD{"authorization": headers})
	}
	as["all, bearer in small letters"] = metadata.AppendToOutgoingContext(context.Background(), "authorization",
		"bearer "+l.secrets["has-all"])
	r := run(t, Config{CheckShare: -1, Tokens: l.read}, nil)

	var said strings.Builder
	for _, m := range calls(t) {
		name := fmt.Sprintf("%s/%s", m.Parent().Name(), m.Name())
		roles, ok := mayCall[name]
		require.True(t, ok, "nobody has said who may call %s", name)
		for who, ctx := range as {
			err := callAs(ctx, r.conn, m)
			st := status.Convert(err)
			fmt.Fprintln(&said, st.Proto())
			switch {
			case strings.HasPrefix(who, "all") || slices.Contains(strings.Fields(roles), who):
				closed := []codes.Code{codes.Unauthenticated, codes.PermissionDenied, codes.Unimplemented, codes.Internal, codes.Unknown}
				assert.NotContains(t, closed, st.Code(), "%s by %s: %v", name, who, err)
			case slices.Contains(token.Roles, token.Role(who)):
				assert.Equal(t, codes.PermissionDenied, st.Code(), "%s by %s: %v", name, who, err)
				assert.Equal(t, "ROLE_MISSING", reasonOf(t, err), name)
			default:
				assert.Equal(t, codes.Unauthenticated, st.Code(), "%s by %s: %v", name, who, err)
				assert.Equal(t, "NO_VALID_TOKEN", reasonOf(t, err), name)
				assert.Equal(t, errNoToken.Error(), st.Message(), "whatever is wrong is told alike")
			}
		}
	}
	for method := range rolesFor {
		short, ok := strings.CutPrefix(method, "/drillwright.v1.")
		require.True(t, ok && mayCall[short] != "", "%s is no call of the contract", method)
	}
	r.tells(`rpc_server_call_duration_seconds_count{rpc_method="drillwright.v1.SelectionService/Screen",rpc_response_status_code="PERMISSION_DENIED",rpc_system_name="grpc"} 3`)
	told := r.told()
	r.stop()
	for why, count := range map[string]int{"none": 1, "malformed": 10, "unknown": 1, "expired": 1, "revoked": 1} {
		assert.Equal(t, count*len(mayCall), strings.Count(r.lines.String(), "token_is="+why), why)
	}
	assert.Contains(t, r.lines.String(), "token=has-ask")
	for name, secret := range l.secrets {
		digest := token.DigestOf(secret)
		for _, canary := range []string{secret, secret[12:], secret[20:35], hex.EncodeToString(digest[:])[:16], string(digest[:8])} {
			for where, text := range map[string]string{"the log": r.lines.String(), "an error": said.String(), "the metrics": told} {
				assert.NotContains(t, text, canary, "%s shows the token %s", where, name)
			}
		}
	}
}

func reasonOf(t *testing.T, err error) string {
	t.Helper()
	for _, d := range status.Convert(err).Details() {
		if info, ok := d.(*errdetails.ErrorInfo); ok {
			require.Equal(t, errorDomain, info.Domain)
			return info.Reason
		}
	}
	return ""
}

// What is in no list nobody may call, and what there isn't is told only to who has a token.
func TestUnlistedCallsAreClosed(t *testing.T) {
	l := &tokenList{}
	all := l.add(t, time.Now(), "has-all", token.Roles...)
	r := run(t, Config{CheckShare: -1, Tokens: l.read}, nil)
	ctx := metadata.NewIncomingContext(context.Background(), metadata.Pairs("authorization", "Bearer "+all))
	var missing *missingRole
	require.ErrorAs(t, r.server.admits(r.server.identified(ctx), "/drillwright.v1.SelectionService/NewOne"), &missing)
	require.ErrorIs(t, r.server.admits(context.Background(), v1.SelectionService_Screen_FullMethodName), errNoToken, "not identified")

	for _, path := range []string{"/drillwright.v1.SelectionService/NewOne", "/elsewhere.Service/Call"} {
		err := r.conn.Invoke(context.Background(), path, &v1.ScreenRequest{}, &v1.ScreenResponse{})
		require.Equal(t, codes.Unauthenticated, status.Code(err), path)
		err = r.conn.Invoke(with(all), path, &v1.ScreenRequest{}, &v1.ScreenResponse{})
		require.Equal(t, codes.Unimplemented, status.Code(err), path)
	}
}

// garbled sends bytes that are no message.
type garbled struct{ encoding.CodecV2 }

func (garbled) Marshal(any) (mem.BufferSlice, error) {
	return mem.BufferSlice{mem.SliceBuffer("\xff")}, nil
}
func (garbled) Unmarshal(mem.BufferSlice, any) error { return nil }
func (garbled) Name() string                         { return "proto" }

// A message that can't be read, and one that breaks every limit, tell nothing to who has no token.
func TestAuthorizedBeforeTheMessageIsLookedAt(t *testing.T) {
	l := &tokenList{}
	ask := l.add(t, time.Now(), "has-ask", token.Ask)
	r := run(t, Config{CheckShare: -1, Tokens: l.read}, nil)
	const method = v1.SelectionService_Screen_FullMethodName
	unreadable := func(ctx context.Context) error {
		return r.conn.Invoke(ctx, method, &v1.ScreenRequest{}, &v1.ScreenResponse{}, grpc.ForceCodecV2(garbled{}))
	}
	require.Equal(t, "UNREADABLE_MESSAGE", reasonOf(t, unreadable(with(ask))))
	require.Equal(t, "NO_VALID_TOKEN", reasonOf(t, unreadable(context.Background())))
	_, err := r.Screen(with(ask), &v1.ScreenRequest{AsOf: "yesterday"})
	require.Equal(t, "INVALID_REQUEST", reasonOf(t, err))
	_, err = r.Screen(context.Background(), &v1.ScreenRequest{AsOf: "yesterday"})
	require.Equal(t, "NO_VALID_TOKEN", reasonOf(t, err))
	_, err = v1.NewRulebookServiceClient(r.conn).PublishRulebook(with(ask), &v1.PublishRulebookRequest{})
	require.Equal(t, "ROLE_MISSING", reasonOf(t, err))
}

// Bytes of callers who aren't let in are not read: reading is most of what a call costs.
func TestWhatMayNotBeAskedIsNotRead(t *testing.T) {
	l := &tokenList{}
	ask := l.add(t, time.Now(), "has-ask", token.Ask)
	s, err := New(Config{Edition: embedded(), Tokens: l.read})
	require.NoError(t, err)
	read := 0
	call := func(service grpc.ServiceDesc, secret string) error {
		ctx := metadata.NewIncomingContext(context.Background(), metadata.Pairs("authorization", "Bearer "+secret))
		_, err := s.reporting(service).Methods[0].Handler(s, ctx, func(any) error { read++; return context.Canceled }, nil)
		return err
	}
	require.Equal(t, codes.Canceled, status.Code(call(v1.SelectionService_ServiceDesc, ask)))
	require.Equal(t, 1, read)
	require.Equal(t, codes.Unauthenticated, status.Code(call(v1.SelectionService_ServiceDesc, "")))
	publish := grpc.ServiceDesc{ServiceName: v1.RulebookService_ServiceDesc.ServiceName, Methods: slices.DeleteFunc(
		slices.Clone(v1.RulebookService_ServiceDesc.Methods), func(m grpc.MethodDesc) bool { return m.MethodName != "PublishRulebook" })}
	require.Equal(t, codes.PermissionDenied, status.Code(call(publish, ask)))
	require.Equal(t, 1, read)
}

// Health is for everybody, and reflection for every token.
func TestHealthIsOpenAndReflectionIsNot(t *testing.T) {
	l := &tokenList{}
	secret := l.add(t, time.Now(), "has-publish", token.Publish)
	r := run(t, Config{CheckShare: -1, Tokens: l.read}, nil)
	health := grpc_health_v1.NewHealthClient(r.conn)
	_, err := health.Check(context.Background(), &grpc_health_v1.HealthCheckRequest{})
	require.NoError(t, err)
	_, err = health.List(context.Background(), &grpc_health_v1.HealthListRequest{})
	require.NoError(t, err)
	watching, stop := context.WithCancel(context.Background())
	defer stop()
	watch, err := health.Watch(watching, &grpc_health_v1.HealthCheckRequest{})
	require.NoError(t, err)
	_, err = watch.Recv()
	require.NoError(t, err)

	for method := range anyToken {
		if method == otherMethod {
			continue
		}
		list := func(ctx context.Context) error {
			stream, err := r.conn.NewStream(ctx, &grpc.StreamDesc{ClientStreams: true, ServerStreams: true}, method)
			require.NoError(t, err)
			require.NoError(t, stream.CloseSend())
			return stream.RecvMsg(&v1.ScreenResponse{})
		}
		err := list(context.Background())
		require.Equal(t, codes.Unauthenticated, status.Code(err), method)
		require.Equal(t, "NO_VALID_TOKEN", reasonOf(t, err))
		require.NotEqual(t, codes.Unauthenticated, status.Code(list(with(secret))), method)
		r.tells(`rpc_server_call_duration_seconds_count{rpc_method="` + method[1:] + `",rpc_response_status_code="UNAUTHENTICATED",rpc_system_name="grpc"} 1`)
	}
}

// Without tokens everything is as it was: on this machine nobody needs one, and one that is sent is not looked at.
func TestWithoutTokensLoopbackEdits(t *testing.T) {
	r := run(t, Config{CheckShare: -1}, nil)
	for _, ctx := range []context.Context{context.Background(), with("drillwright_x")} {
		_, err := v1.NewRulebookServiceClient(r.conn).GetRulebook(ctx, &v1.GetRulebookRequest{})
		require.NoError(t, err)
	}
	require.ErrorIs(t, r.server.admits(context.Background(), v1.RulebookService_GetRulebook_FullMethodName), errFar)
	r.stop()
	require.NotContains(t, r.lines.String(), "token")
}

// Tokens change while the server runs, and connections stay.
func TestTokensChangeWhileServing(t *testing.T) {
	l, at := &tokenList{}, atomic.Int64{}
	at.Store(1795860000)
	now := func() time.Time { return time.Unix(at.Load(), 0) }
	first := l.add(t, now(), "first", token.Ask)
	r := run(t, Config{CheckShare: -1, Tokens: l.read, Poll: time.Millisecond, StaleAfter: time.Minute, Now: now}, nil)
	code := func(secret string) codes.Code {
		_, err := v1.NewCatalogServiceClient(r.conn).ListTerms(with(secret), &v1.ListTermsRequest{Kind: "plane"})
		return status.Code(err)
	}
	becomes := func(secret string, want codes.Code) {
		t.Helper()
		require.Eventually(t, func() bool { return code(secret) == want }, 10*time.Second, time.Millisecond)
	}
	require.Equal(t, codes.OK, code(first))
	second := l.add(t, now(), "second", token.Ask)
	becomes(second, codes.OK)
	l.change(func() { l.list[0].Revoked = now() })
	becomes(first, codes.Unauthenticated)
	require.Equal(t, codes.OK, code(second))

	polled := func() {
		t.Helper()
		var now int
		l.change(func() { now = l.reads })
		require.Eventually(t, func() bool {
			l.mu.Lock()
			defer l.mu.Unlock()
			return l.reads > now+1
		}, 10*time.Second, time.Millisecond)
	}
	l.change(func() { l.err = errors.New("the disk is gone") })
	polled()
	at.Add(59)
	require.Equal(t, codes.OK, code(second), "what was known stays")
	at.Add(2)
	becomes(second, codes.Unavailable)
	_, err := v1.NewCatalogServiceClient(r.conn).ListTerms(with(second), &v1.ListTermsRequest{Kind: "plane"})
	require.Equal(t, "STALE_TOKENS", reasonOf(t, err))
	l.change(func() { l.err = nil })
	becomes(second, codes.OK)
	polled()
	at.Add(3600)
	becomes(second, codes.Unauthenticated)
	r.stop()
	require.Equal(t, 1, strings.Count(r.lines.String(), "the disk is gone"), "said once")
	require.Contains(t, r.lines.String(), "the tokens can be read again")
}

func TestServerNeedsItsTokensAtStart(t *testing.T) {
	l := &tokenList{err: errors.New("the disk is gone")}
	_, err := New(Config{Tokens: l.read})
	require.ErrorContains(t, err, "read tokens: the disk is gone")
}

// reviewing is an editor's server with tokens, and how one who holds some roles calls it.
func (ed *editor) reviewing(l *tokenList) func(roles ...token.Role) *editor {
	return func(roles ...token.Role) *editor {
		one := &editor{T: ed.T, store: ed.store, clock: ed.clock, log: &bytes.Buffer{}}
		var err error
		one.server, err = New(Config{Edition: caseless(), Store: ed.store, Now: ed.clock.now, CheckShare: -1, Tokens: l.read,
			Log: slog.New(slog.NewTextHandler(one.log, nil))})
		require.NoError(ed, err)
		secret := ""
		if len(roles) > 0 {
			secret = l.add(ed, ed.clock.now(), fmt.Sprintf("token-%d", len(l.list)), roles...)
			require.NoError(ed, one.server.renew(ed.Context(), one.server.tokens))
		}
		listener, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(ed, err)
		ctx, cancel := context.WithCancel(context.Background())
		ended := make(chan error, 1)
		go func() { ended <- one.server.Serve(ctx, listener) }()
		show := func(ctx context.Context, method string, req, reply any, cc *grpc.ClientConn, next grpc.UnaryInvoker,
			o ...grpc.CallOption) error {
			return next(metadata.AppendToOutgoingContext(ctx, "authorization", "Bearer "+secret), method, req, reply, cc, o...)
		}
		conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()),
			grpc.WithUnaryInterceptor(show))
		require.NoError(ed, err)
		ed.Cleanup(func() {
			conn.Close()
			cancel()
			require.NoError(ed, <-ended)
		})
		one.RulebookServiceClient, one.asks = v1.NewRulebookServiceClient(conn), v1.NewSelectionServiceClient(conn)
		return one
	}
}

// TestOnlyAReviewersTokenReviews: who answers for an edition is who the token was registered for, and nobody whom a text names.
func TestOnlyAReviewersTokenReviews(t *testing.T) {
	ed, l := newEditor(t), &tokenList{}
	as := ed.reviewing(l)
	coach := as(token.Ask, token.Edit, token.Publish)
	doctor := as(token.Ask, token.Edit, token.Publish, token.Review)
	pressure := func(by *editor) *v1.ScreenResponse {
		c := sample(t)
		c.Profile.BloodPressure = &v1.BloodPressure{Systolic: 185, Diastolic: 90, Date: c.AsOf}
		r, err := by.asks.Screen(context.Background(), &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
		require.NoError(t, err)
		return r
	}
	notes := func(by *editor) string { return strings.Join(pressure(by).GetHeader().GetNotes(), "\n") }
	const unreviewed = "No licensed professional has reviewed this rulebook"
	require.Contains(t, notes(coach), unreviewed)
	held := proto.Clone(pressure(coach).GetHeader().GetScreening())

	loosening := coach.draft("about: {format: 3}\n", "about:\n  format: 3\n  loosens: [{floor: floor-pressure-very-high, "+
		"why: \"measured on site\"}, {floor: floor-pressure-with-signs, why: \"measured on site\"}]\n")
	typed := proto.CloneOf(loosening)
	typed.Files = append(typed.Files, &v1.RulebookFile{Name: rules.ReviewFile, Text: "review: {by: Dr A. Sculler, licence: RC-0413}\n"})
	named := proto.CloneOf(loosening)
	for _, f := range named.Files {
		f.Text = strings.Replace(f.Text, "about:\n", "about:\n  reviewed_by: Dr A. Sculler\n", 1)
	}
	for name, d := range map[string]*v1.Draft{"a folder": loosening, "a typed review": typed, "a typed name": named} {
		_, err := coach.PreviewRulebook(context.Background(), &v1.PreviewRulebookRequest{Draft: d, Samples: few(t)})
		require.Equal(t, "INVALID_DRAFT", reasonOf(t, err), name)
		require.ErrorContains(t, err, "publish with a token of the role review", name)
		_, err = coach.PublishRulebook(context.Background(), &v1.PublishRulebookRequest{Draft: d, PreviewDigest: "x", RequestId: name,
			Author: "Dr A. Sculler", Note: "reviewed_by: Dr A. Sculler", AcceptChurn: true})
		require.Equal(t, "INVALID_DRAFT", reasonOf(t, err), name)
	}
	_, err := doctor.PreviewRulebook(context.Background(), &v1.PreviewRulebookRequest{Draft: typed, Samples: few(t)})
	require.Equal(t, "INVALID_DRAFT", reasonOf(t, err), "the server alone writes it")

	// The reviewer's publication holds who reviewed it, as registered, and one revision is one answer on every server.
	request := doctor.request(loosening, "reviewed")
	request.Author = "somebody else"
	_, err = coach.PublishRulebook(context.Background(), request)
	require.Equal(t, "INVALID_DRAFT", reasonOf(t, err), "what the reviewer has seen is not the coach's to publish")
	published, err := doctor.PublishRulebook(context.Background(), request)
	require.NoError(t, err)
	const who = "Dr A. Sculler, sports physician (licence RC-0413)"
	require.Equal(t, who, published.GetRevision().GetReviewedBy())
	later := as(token.Ask, token.Edit, token.Publish)
	require.NoError(t, coach.server.follower.poll(t.Context()))
	for name, server := range map[string]*editor{"the reviewer's": doctor, "one that polled": coach, "one that was started later": later} {
		require.NotContains(t, notes(server), unreviewed, name)
		require.Contains(t, notes(server),
			"This rulebook loosens the floor: floor-pressure-very-high (measured on site). "+who+" answers for it.", name)
		require.False(t, proto.Equal(held, pressure(server).GetHeader().GetScreening()), name)
		got, err := server.GetRulebook(context.Background(), &v1.GetRulebookRequest{})
		require.NoError(t, err, name)
		require.Equal(t, published.GetRevision().GetRevision(), got.GetRevision(), name)
		file := got.GetFiles()[slices.IndexFunc(got.GetFiles(), func(f *v1.RulebookFile) bool { return f.GetName() == rules.ReviewFile })]
		require.Equal(t, "review:\n  by: \"Dr A. Sculler, sports physician\"\n  licence: \"RC-0413\"\n", file.GetText(), name)
	}

	// What a coach makes of it is another text: nobody has reviewed that, and while it loosens the floor it isn't published.
	again := later.draft("about:\n", "about:\n  name: Mine\n")
	_, err = later.PreviewRulebook(context.Background(), &v1.PreviewRulebookRequest{Draft: again, Samples: few(t)})
	require.ErrorContains(t, err, "review: is written by a server alone")
	again.Files = slices.DeleteFunc(again.Files, func(f *v1.RulebookFile) bool { return f.GetName() == rules.ReviewFile })
	_, err = later.PreviewRulebook(context.Background(), &v1.PreviewRulebookRequest{Draft: again, Samples: few(t)})
	require.ErrorContains(t, err, "the floor is loosened, and nobody has reviewed the book")
	for _, f := range again.Files {
		if at := strings.Index(f.Text, "  loosens:"); at >= 0 {
			f.Text = f.Text[:at] + f.Text[at+strings.Index(f.Text[at:], "\n")+1:]
		}
	}
	r := later.publish(again, "unreviewed")
	require.Empty(t, r.GetReviewedBy())
	require.Contains(t, notes(later), unreviewed)
	require.True(t, proto.Equal(held, pressure(later).GetHeader().GetScreening()), "the floor stands again")
}

// BenchmarkAuthorize is what a token costs a call.
func BenchmarkAuthorize(b *testing.B) {
	l := &tokenList{}
	secret := l.add(b, time.Now(), "gym", token.Ask)
	for i := range 1000 {
		l.add(b, time.Now(), fmt.Sprintf("other-%d", i), token.Ask)
	}
	s, err := New(Config{Tokens: l.read})
	require.NoError(b, err)
	ctx := metadata.NewIncomingContext(context.Background(), metadata.Pairs("authorization", "Bearer "+secret))
	require.NoError(b, s.admits(s.identified(ctx), v1.SelectionService_Screen_FullMethodName))
	b.ReportAllocs()
	for b.Loop() {
		if s.admits(s.identified(ctx), v1.SelectionService_Screen_FullMethodName) != nil {
			b.Fatal("refused")
		}
	}
}
