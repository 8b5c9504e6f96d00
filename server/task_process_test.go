package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"flag"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
)

var inChild = flag.Bool("child", false, "have the work of authors done in a process of its own")

// processes starts this program as what TestMain makes of the name, and remembers what it started.
type processes struct {
	does    string
	mu      sync.Mutex
	started []*exec.Cmd
}

func (p *processes) command() *exec.Cmd {
	program, err := os.Executable()
	if err != nil {
		panic(err)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.started = append(p.started, &exec.Cmd{Path: program, Args: []string{p.does}})
	return p.started[len(p.started)-1]
}

func (p *processes) count() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.started)
}

// child does tasks in processes until the test ends.
func child(t *testing.T, does string) (*childProcess, *processes, *bytes.Buffer) {
	log, p := &bytes.Buffer{}, &processes{does: does}
	c := newChildProcess(p.command, slog.New(slog.NewTextHandler(log, nil)))
	t.Cleanup(c.close)
	return c, p, log
}

func filesOfCaseless() editionFiles { return editionFiles{caseless().Revision, caseless().Files()} }

// wholeDraft is draftOf with all that it doesn't change.
func wholeDraft(t *testing.T, n int) *v1.Draft {
	d := draftOf(t, n)
	for _, f := range caseless().Files() {
		if f.Name != d.Files[0].Name {
			d.Files = append(d.Files, &v1.RulebookFile{Name: f.Name, Text: string(f.Data)})
		}
	}
	return d
}

// checking is a task that ends soon, and linting one that takes a second or more.
func checking(t *testing.T) task {
	return task{base: filesOfCaseless(), request: &v1.CheckRulebookRequest{Draft: draftOf(t, 0)}}
}

func linting(t *testing.T) task {
	return task{base: filesOfCaseless(), request: &v1.CheckRulebookRequest{Draft: draftOf(t, 0), Lint: true}}
}

// TestTasksComeToTheSameInAChild: responses and statuses, to the byte.
func TestTasksComeToTheSameInAChild(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	s, err := New(Config{Edition: caseless()})
	require.NoError(t, err)
	c, started, log := child(t, "authors")
	base, draft := filesOfCaseless(), wholeDraft(t, 1)
	edited, err := drafted(caseless(), draft, nil)
	require.NoError(t, err)
	other := editionFiles{edited.Revision, edited.Files()}
	seen, err := preview(t.Context(), caseless(), edited, few(t))
	require.NoError(t, err)
	bad := &v1.Draft{Files: []*v1.RulebookFile{{Name: "mine.yaml", Text: "rulez: []\n"}, {Name: "mine.yaml", Text: "cautions: [{id: X}]\n"}}}
	loosening := wholeDraft(t, 1)
	loosening.Files = append(loosening.Files, &v1.RulebookFile{Name: "about.yaml",
		Text: "about: {loosens: [{floor: floor-pressure-very-high, why: measured on site}]}\n"})
	unknown := few(t)
	unknown.Clients[0].Profile.GoalLifts = []string{"oar-lift"}
	unknown.Clients[0].Profile.Kit = &v1.Kit{Has: []string{"oar"}}
	publish := func(d *v1.Draft, digest string) *v1.PublishRulebookRequest {
		return &v1.PublishRulebookRequest{Draft: d, PreviewDigest: digest, Samples: few(t), AcceptChurn: true}
	}
	for name, one := range map[string]struct {
		task
		code codes.Code
	}{
		"checked": {checking(t), codes.OK},
		"reviewed": {task{base: base, request: &v1.PreviewRulebookRequest{Draft: loosening, Samples: few(t)},
			review: &rules.Review{By: "Dr A. Sculler", Licence: "RC-0413"}}, codes.OK},
		"not reviewed":        {task{base: base, request: &v1.PreviewRulebookRequest{Draft: loosening, Samples: few(t)}}, codes.InvalidArgument},
		"mistakes":            {task{base: base, request: &v1.CheckRulebookRequest{Draft: bad}}, codes.OK},
		"findings":            {linting(t), codes.OK},
		"preview":             {task{base: base, request: &v1.PreviewRulebookRequest{Draft: draft, Samples: few(t)}}, codes.OK},
		"program's samples":   {task{base: base, request: &v1.PreviewRulebookRequest{Draft: draft}}, codes.OK},
		"preview of mistakes": {task{base: base, request: &v1.PreviewRulebookRequest{Draft: bad}}, codes.InvalidArgument},
		"unknown words":       {task{base: base, request: &v1.PreviewRulebookRequest{Draft: draft, Samples: unknown}}, codes.InvalidArgument},
		"preview of earlier": {task{base: base, next: other,
			request: &v1.PreviewRulebookRequest{Restore: other.revision, Samples: few(t)}}, codes.OK},
		"publication":     {task{base: base, request: publish(draft, seen.Digest)}, codes.OK},
		"not previewed":   {task{base: base, request: publish(draft, "another")}, codes.FailedPrecondition},
		"nothing changes": {task{base: base, request: publish(&v1.Draft{}, "")}, codes.FailedPrecondition},
		"restored": {task{base: base, next: other,
			request: &v1.RestoreRevisionRequest{PreviewDigest: seen.Digest, Samples: few(t), AcceptChurn: true}},
			codes.OK},
		"unreadable": {task{base: base, next: editionFiles{"01d", other.files}, request: &v1.RestoreRevisionRequest{}}, codes.FailedPrecondition},
		"no task":    {task{base: base, next: other, request: &v1.CheckRulebookResponse{}}, codes.Internal},
	} {
		t.Run(name, func(t *testing.T) {
			told := func(r taskRunner) (response []byte, code codes.Code, says string) {
				response, status := toldBy(t, r, one.task)
				return response, status.code, status.says
			}
			wanted, code, says := told(inProcess{s})
			require.Equal(t, one.code, code, says)
			got, gotCode, gotSays := told(c)
			require.Equal(t, []any{code, says}, []any{gotCode, gotSays})
			require.True(t, bytes.Equal(wanted, got))
		})
	}
	require.Equal(t, 1, started.count(), "one process did it all")
	require.Empty(t, log.String())
}

type toldStatus struct {
	code codes.Code
	says string // the whole status; of a fault of ours what the log gets
}

// toldBy is what a caller gets from a task: the response, or the status by way of the server's interceptors.
func toldBy(t *testing.T, r taskRunner, one task) ([]byte, toldStatus) {
	exact := proto.MarshalOptions{Deterministic: true}
	response, err := r.do(t.Context(), one)
	if err == nil {
		data, err := exact.Marshal(response)
		require.NoError(t, err)
		return data, toldStatus{}
	}
	var invalid *client.Invalid
	if errors.As(err, &invalid) {
		inContractOrder(one.request.ProtoReflect().Descriptor(), invalid.Violations)
	}
	st := statusOf(err, "")
	if ours(st) {
		return nil, toldStatus{st.Code(), err.Error()}
	}
	data, err := exact.Marshal(st.Proto())
	require.NoError(t, err)
	return nil, toldStatus{st.Code(), string(data)}
}

// TestWhoeverLeavesEndsTheProcess: at once, whatever it is doing, and the next task has another.
func TestWhoeverLeavesEndsTheProcess(t *testing.T) {
	c, started, _ := child(t, "authors")
	_, err := c.do(t.Context(), checking(t)) // it runs
	require.NoError(t, err)
	for n, gone := range []error{context.Canceled, context.DeadlineExceeded} {
		ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
		if gone == context.Canceled {
			time.AfterFunc(100*time.Millisecond, cancel)
		}
		began := time.Now()
		_, err = c.do(ctx, linting(t))
		cancel()
		require.ErrorIs(t, err, gone)
		require.Less(t, time.Since(began), time.Second)
		require.NotNil(t, started.started[n].ProcessState, "it is no more")
		_, err = c.do(t.Context(), checking(t))
		require.NoError(t, err)
		require.Equal(t, n+2, started.count())
	}
}

// TestAProcessThatEnds fails the task in hand and no other, and what it says is in the log.
func TestAProcessThatEnds(t *testing.T) {
	c, started, _ := child(t, "authors")
	_, err := c.do(t.Context(), checking(t))
	require.NoError(t, err)
	time.AfterFunc(100*time.Millisecond, func() { started.started[0].Process.Kill() })
	_, err = c.do(t.Context(), linting(t))
	require.ErrorContains(t, err, "the process for authors' work ended with signal: killed")
	require.Equal(t, codes.Internal, statusOf(err, "").Code())
	_, err = c.do(t.Context(), checking(t))
	require.NoError(t, err)

	require.NoError(t, started.started[1].Process.Kill()) // between two tasks nobody is hurt
	<-c.running.ended
	_, err = c.do(t.Context(), checking(t))
	require.NoError(t, err)
	require.Equal(t, 3, started.count())

	broken, _, log := child(t, "no-work")
	_, err = broken.do(t.Context(), checking(t))
	require.ErrorContains(t, err, "ended with exit status 3")
	require.Contains(t, log.String(), `says="there is no"`)
	require.Contains(t, log.String(), `says="memory left"`)

	missing := newChildProcess(func() *exec.Cmd { return exec.Command("/nowhere") }, slog.New(slog.DiscardHandler))
	_, err = missing.do(t.Context(), checking(t))
	require.ErrorContains(t, err, "start a process for authors' work")
}

// TestAProcessEndsWithItsServer: by itself where the server is no more, in the middle of its work.
func TestAProcessEndsWithItsServer(t *testing.T) {
	p := &processes{does: "authors"}
	one, err := start(p.command(), slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	require.NoError(t, linting(t).send(one.in))
	time.Sleep(200 * time.Millisecond)
	require.False(t, one.hasEnded())
	require.NoError(t, one.in.Close())
	select {
	case <-one.ended:
	case <-time.After(5 * time.Second):
		one.kill()
		t.Fatal("it is an orphan")
	}

	p = &processes{does: "authors"}
	s, err := New(Config{Edition: caseless(), Authors: p.command, StopWithin: 100 * time.Millisecond})
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, listener) }()
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	defer conn.Close()
	called := make(chan error, 1)
	go func() {
		_, err := v1.NewRulebookServiceClient(conn).CheckRulebook(t.Context(), &v1.CheckRulebookRequest{Draft: draftOf(t, 0), Lint: true})
		called <- err
	}()
	for late := time.Now().Add(5 * time.Second); p.count() == 0; time.Sleep(time.Millisecond) {
		require.True(t, time.Now().Before(late), "none was started")
	}
	time.Sleep(100 * time.Millisecond)
	cancel()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(2 * time.Second):
		t.Fatal("the server waits for authors' work")
	}
	require.Error(t, <-called)
	require.NotNil(t, p.started[0].ProcessState, "it is no more")
}

func TestTasksAreBounded(t *testing.T) {
	_, err := receiveTask(bufio.NewReader(bytes.NewReader(binary.AppendUvarint(nil, maxTaskBytes+1))))
	require.ErrorContains(t, err, "exceeded")
	_, err = receiveTask(bufio.NewReader(strings.NewReader("\x7fcut off")))
	require.ErrorContains(t, err, "unexpected EOF")
}
