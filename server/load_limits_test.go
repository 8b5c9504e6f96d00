package server

import (
	"context"
	"io"
	"net"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/http2"
	"golang.org/x/net/http2/hpack"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/health/grpc_health_v1"
	reflectionv1 "google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/tap"

	v1 "drillwright/proto/drillwright/v1"
)

// begun is a call whose message its caller doesn't send.
func (r *running) begun(method string) grpc.ClientStream {
	r.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	r.t.Cleanup(cancel)
	call, err := r.conn.NewStream(ctx, &grpc.StreamDesc{ClientStreams: true}, method)
	require.NoError(r.t, err)
	return call
}

// opened waits until so many calls have a place.
func (r *running) opened(calls int64) {
	r.t.Helper()
	require.Eventually(r.t, func() bool { return r.server.admission.open.Load() == calls }, 10*time.Second, time.Millisecond)
}

func TestCallsBeyondTheirNumberAreRefused(t *testing.T) {
	r := run(t, Config{CheckShare: -1, Limits: Limits{Calls: 2}}, nil)
	c := sampleClient(t)
	ask := func() error {
		_, err := r.Screen(t.Context(), &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
		return err
	}
	waiting := []grpc.ClientStream{r.begun(v1.SelectionService_Screen_FullMethodName), r.begun(v1.SelectionService_Select_FullMethodName)}
	r.opened(2)
	st := refuses(t, ask(), codes.ResourceExhausted, "TOO_MANY_CALLS")
	require.Contains(t, st.Message(), "2 calls at once")
	var again *errdetails.RetryInfo
	for _, d := range st.Details() {
		if info, ok := d.(*errdetails.RetryInfo); ok {
			again = info
		}
	}
	require.Equal(t, time.Second, again.GetRetryDelay().AsDuration())
	refuses(t, r.conn.Invoke(t.Context(), "/no.Service/Skreen", &v1.ScreenRequest{}, &v1.ScreenResponse{}), codes.ResourceExhausted,
		"TOO_MANY_CALLS")

	// Health and reflection get through, and take no place.
	_, err := grpc_health_v1.NewHealthClient(r.conn).Check(t.Context(), &grpc_health_v1.HealthCheckRequest{})
	require.NoError(t, err)
	listed, err := reflectionv1.NewServerReflectionClient(r.conn).ServerReflectionInfo(t.Context())
	require.NoError(t, err)
	require.NoError(t, listed.Send(&reflectionv1.ServerReflectionRequest{
		MessageRequest: &reflectionv1.ServerReflectionRequest_ListServices{}}))
	_, err = listed.Recv()
	require.NoError(t, err)
	r.opened(2)

	require.NoError(t, waiting[0].CloseSend()) // without a message: refused, and its place is free
	require.Error(t, waiting[0].RecvMsg(&v1.ScreenResponse{}))
	r.opened(1)
	require.NoError(t, ask())
	r.opened(1)
	const labels = `rpc_server_call_duration_seconds_count{rpc_method="%m",rpc_response_status_code="RESOURCE_EXHAUSTED",` +
		`rpc_system_name="grpc"} 1`
	r.tells(strings.ReplaceAll(labels, "%m", "drillwright.v1.SelectionService/Screen"))
	r.tells(strings.ReplaceAll(labels, "%m", otherMethod))
	r.stop()
	require.Equal(t, 2, strings.Count(r.lines.String(), "code=ResourceExhausted"), r.lines.String())
	require.NotContains(t, r.lines.String(), "Skreen")
}

// TestPlacesAreGivenBack: whatever becomes of a call.
func TestPlacesAreGivenBack(t *testing.T) {
	r := run(t, Config{CheckShare: -1, Limits: Limits{Calls: 8}}, nil)
	c := sampleClient(t)
	var callers sync.WaitGroup
	for n := range 16 {
		callers.Go(func() {
			for i := range 50 {
				ctx, cancel := context.WithTimeout(t.Context(), []time.Duration{time.Microsecond, time.Millisecond, time.Second}[(n+i)%3])
				req := &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf}
				if i%2 == 0 {
					req = nil // a mistake
				}
				_, err := r.Screen(ctx, req)
				cancel()
				require.NotEqual(t, codes.Internal, status.Code(err), "%v", err)
			}
		})
	}
	callers.Wait()
	r.opened(0)
	require.Zero(t, max(0, -r.server.admission.open.Load()))
}

// TestLongDeadlinesAreCut: a caller who would wait for an hour doesn't keep the server at work for as long, nor one who
// doesn't send what is asked.
func TestLongDeadlinesAreCut(t *testing.T) {
	r := run(t, Config{CheckShare: -1, Limits: Limits{Call: 200 * time.Millisecond}}, nil)
	began := time.Now()
	ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
	defer cancel()
	late, err := r.conn.NewStream(ctx, &grpc.StreamDesc{ClientStreams: true}, v1.SelectionService_Screen_FullMethodName)
	require.NoError(t, err)
	require.Equal(t, codes.DeadlineExceeded, status.Code(late.RecvMsg(&v1.ScreenResponse{})))
	require.Less(t, time.Since(began), 10*time.Second)
	r.tells(`rpc_server_call_duration_seconds_count{rpc_method="drillwright.v1.SelectionService/Screen",` +
		`rpc_response_status_code="DEADLINE_EXCEEDED",rpc_system_name="grpc"} 1`)

	limits := r.server.config.Limits
	for method, most := range map[string]time.Duration{v1.SelectionService_Select_FullMethodName: limits.Call,
		v1.RulebookService_PublishRulebook_FullMethodName: editFactor * limits.Call} {
		hour, stop := context.WithTimeout(t.Context(), time.Hour)
		defer stop()
		within, err := r.server.admission.in(hour, &tap.Info{FullMethodName: method})
		require.NoError(t, err)
		deadline, ok := within.Deadline()
		require.True(t, ok)
		require.Less(t, time.Until(deadline), most+time.Second, method)
		require.Greater(t, time.Until(deadline), most-time.Second, method)
		soon, stop := context.WithTimeout(t.Context(), time.Millisecond)
		defer stop()
		within, err = r.server.admission.in(soon, &tap.Info{FullMethodName: method})
		require.NoError(t, err)
		<-within.Done()
		require.Equal(t, context.DeadlineExceeded, context.Cause(within), "the caller's own is kept")
	}
}

func TestSizesOfMessages(t *testing.T) {
	r := run(t, Config{CheckShare: -1, Limits: Limits{Message: 1000}}, nil)
	_, err := r.Screen(t.Context(), &v1.ScreenRequest{AsOf: strings.Repeat("x", 2000)})
	require.Equal(t, codes.ResourceExhausted, status.Code(err))
	_, err = v1.NewCatalogServiceClient(r.conn).ListTerms(t.Context(), &v1.ListTermsRequest{})
	require.Equal(t, codes.ResourceExhausted, status.Code(err), "an answer, too")
}

// rawClient is a client that speaks frames.
type rawClient struct {
	net.Conn
	*http2.Framer
	t *testing.T
}

func (r *running) raw() rawClient {
	conn, err := net.Dial("tcp", r.conn.Target())
	require.NoError(r.t, err)
	r.t.Cleanup(func() { conn.Close() })
	return rawClient{conn, http2.NewFramer(conn, conn), r.t}
}

func (w rawClient) greet(settings ...http2.Setting) {
	_, err := io.WriteString(w.Conn, http2.ClientPreface)
	require.NoError(w.t, err)
	require.NoError(w.t, w.WriteSettings(settings...))
}

// call opens a stream and sends the message of a call on it.
func (w rawClient) call(stream uint32, method string, message []byte) {
	var fields strings.Builder
	encode := hpack.NewEncoder(&fields)
	for _, f := range [][2]string{{":method", "POST"}, {":scheme", "http"}, {":path", method}, {":authority", "club"},
		{"content-type", "application/grpc"}, {"te", "trailers"}} {
		require.NoError(w.t, encode.WriteField(hpack.HeaderField{Name: f[0], Value: f[1]}))
	}
	require.NoError(w.t, w.WriteHeaders(http2.HeadersFrameParam{StreamID: stream, BlockFragment: []byte(fields.String()), EndHeaders: true}))
	head := []byte{0, 0, 0, byte(len(message) >> 8), byte(len(message))}
	require.NoError(w.t, w.WriteData(stream, true, append(head, message...)))
}

// ended is how long the server takes to end the connection.
func (w rawClient) ended(most time.Duration) time.Duration {
	w.t.Helper()
	began := time.Now()
	require.NoError(w.t, w.SetReadDeadline(began.Add(most)))
	_, err := io.Copy(io.Discard, w.Conn)
	if timeout, ok := err.(net.Error); ok {
		require.False(w.t, timeout.Timeout(), "the connection is still there after %v", most)
	}
	return time.Since(began)
}

func TestHalfOpenConnectionsAreEnded(t *testing.T) {
	r := run(t, Config{CheckShare: -1, Limits: Limits{Handshake: 200 * time.Millisecond, PingAfter: time.Second,
		PingTimeout: 200 * time.Millisecond}}, nil)
	for name, begin := range map[string]func(w rawClient){
		"nothing": func(rawClient) {},
		"half a preface": func(w rawClient) {
			_, err := io.WriteString(w.Conn, http2.ClientPreface[:10])
			require.NoError(t, err)
		},
		"no settings": func(w rawClient) {
			_, err := io.WriteString(w.Conn, http2.ClientPreface)
			require.NoError(t, err)
		},
		"half a header": func(w rawClient) {
			w.greet()
			require.NoError(t, w.WriteHeaders(http2.HeadersFrameParam{StreamID: 1, BlockFragment: []byte{0x82}}))
		},
		"a dead peer": func(w rawClient) { w.greet() }, // which answers no ping
	} {
		t.Run(name, func(t *testing.T) {
			w := r.raw()
			begin(w)
			w.ended(10 * time.Second)
		})
	}
}

// TestPingsOfClients: those that come at their usual rate are welcome, with and without a call; a flood isn't.
func TestPingsOfClients(t *testing.T) {
	require.LessOrEqual(t, Limits{}.WithDefaults().PingEvery, 10*time.Second, "clients ask each 20 to 30 s, none more often than each 10")
	r := run(t, Config{CheckShare: -1, Limits: Limits{PingEvery: 50 * time.Millisecond}}, nil)
	patient := r.raw()
	patient.greet()
	for range 10 {
		time.Sleep(100 * time.Millisecond)
		require.NoError(t, patient.WritePing(false, [8]byte{}))
	}
	acks := 0
	require.NoError(t, patient.SetReadDeadline(time.Now().Add(10*time.Second)))
	for acks < 10 {
		frame, err := patient.ReadFrame()
		require.NoError(t, err)
		require.NotEqual(t, http2.FrameGoAway, frame.Header().Type)
		if ping, ok := frame.(*http2.PingFrame); ok && ping.IsAck() {
			acks++
		}
	}
	hasty := r.raw()
	hasty.greet()
	for range 10 {
		require.NoError(t, hasty.WritePing(false, [8]byte{}))
	}
	require.NoError(t, hasty.SetReadDeadline(time.Now().Add(10*time.Second)))
	for {
		frame, err := hasty.ReadFrame()
		require.NoError(t, err)
		if end, ok := frame.(*http2.GoAwayFrame); ok {
			require.Equal(t, http2.ErrCodeEnhanceYourCalm, end.ErrCode)
			break
		}
	}
}

func TestOldConnectionsAreReplaced(t *testing.T) {
	r := run(t, Config{CheckShare: -1, Limits: Limits{Age: 200 * time.Millisecond, AgeGrace: 200 * time.Millisecond}}, nil)
	old := r.raw()
	old.greet()
	require.NoError(t, old.SetReadDeadline(time.Now().Add(10*time.Second)))
	for {
		frame, err := old.ReadFrame()
		require.NoError(t, err)
		if frame.Header().Type == http2.FrameGoAway {
			break
		}
	}
	old.ended(10 * time.Second)
	require.Equal(t, editFactor*Limits{}.WithDefaults().Call, Limits{}.WithDefaults().AgeGrace, "a publication that has begun may end")
	for range 5 { // whoever calls through gRPC notices nothing
		time.Sleep(100 * time.Millisecond)
		_, err := v1.NewCatalogServiceClient(r.conn).GetDrill(t.Context(), &v1.GetDrillRequest{Id: "push-up"})
		require.NoError(t, err)
	}
}

// TestAnswersNobodyTakes: a client that gives no room for its answers holds as many as it may have calls open, and no more.
func TestAnswersNobodyTakes(t *testing.T) {
	const streams = 16
	r := run(t, Config{CheckShare: -1, Limits: Limits{Streams: streams, Age: 2 * time.Second, AgeGrace: 200 * time.Millisecond}}, nil)
	w := r.raw()
	w.greet(http2.Setting{ID: http2.SettingInitialWindowSize, Val: 0})
	refused := make(chan int, 1)
	go func() {
		n := 0
		for {
			frame, err := w.ReadFrame()
			if err != nil {
				refused <- n
				return
			}
			if reset, ok := frame.(*http2.RSTStreamFrame); ok && reset.ErrCode == http2.ErrCodeRefusedStream {
				n++
			}
		}
	}()
	const calls = 1000
	before := heapInUse()
	for i := range uint32(calls) {
		w.call(2*i+1, v1.CatalogService_ListTerms_FullMethodName, nil)
	}
	require.Eventually(t, func() bool { return strings.Contains(r.told(), `ListTerms`) }, 10*time.Second, 10*time.Millisecond)
	time.Sleep(500 * time.Millisecond)
	t.Logf("%d KiB more in use with %d calls unread", (int64(heapInUse())-int64(before))>>10, calls)
	require.Less(t, int64(heapInUse())-int64(before), int64(streams*Limits{}.WithDefaults().Message))
	require.Equal(t, calls-streams, <-refused, "and the connection ends at its age")
	r.opened(0)
}

// TestSocketsNobodyReads: a client that would let everything come and reads nothing is cut off, though it goes on asking.
func TestSocketsNobodyReads(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("only Linux says how long what was sent may wait (TCP_USER_TIMEOUT)")
	}
	r := run(t, Config{CheckShare: -1, Limits: Limits{PingTimeout: time.Second, PingEvery: time.Microsecond}}, nil)
	w := r.raw()
	w.greet(http2.Setting{ID: http2.SettingInitialWindowSize, Val: 1<<31 - 1})
	require.NoError(t, w.WriteWindowUpdate(0, 1<<30))
	for i := range uint32(200) {
		w.call(2*i+1, v1.RulebookService_GetRulebook_FullMethodName, nil)
	}
	time.Sleep(4 * time.Second) // three more than it may take nothing
	w.ended(10 * time.Second)   // else all that waits would be read, and then nothing
}

func heapInUse() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
