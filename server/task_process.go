package server

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"sync"
	"time"

	spb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/protobuf/proto"
)

// restAfter is how long a process for authors' work waits for more of it.
const restAfter = time.Minute

// childProcess does tasks in a process of their own, which makes way for those who answer callers, and whose memory is its own. It is
// started when there is a task; when the caller of a task leaves, it is killed, for nothing else ends its compiling.
type childProcess struct {
	command func() *exec.Cmd
	log     *slog.Logger

	mu      sync.Mutex // one task at a time; it guards what follows
	running *process   // nil: none is
	rest    *time.Timer
}

func newChildProcess(command func() *exec.Cmd, log *slog.Logger) *childProcess {
	c := &childProcess{command: command, log: log}
	c.rest = time.AfterFunc(restAfter, c.close)
	return c
}

func (c *childProcess) do(ctx context.Context, t task) (proto.Message, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.rest.Stop()
	defer c.rest.Reset(restAfter)
	if c.running != nil && c.running.hasEnded() {
		c.end()
	}
	if c.running == nil {
		var err error
		if c.running, err = start(c.command(), c.log); err != nil {
			return nil, fmt.Errorf("start a process for authors' work: %w", err)
		}
	}
	p := c.running
	stays := context.AfterFunc(ctx, p.kill)
	result, err := p.do(t)
	if gone := !stays(); gone || err != nil {
		c.end()
		if gone {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("the process for authors' work ended with %v: %w", p.cmd.ProcessState, err)
	}
	return resultFrom(result)
}

// close ends the process.
func (c *childProcess) close() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.rest.Stop()
	c.end()
}

func (c *childProcess) end() {
	if c.running != nil {
		c.running.kill()
		<-c.running.ended
		c.running.pipe.Close()
		c.running = nil
	}
}

// process is one that runs DoAuthorsWork.
type process struct {
	cmd   *exec.Cmd
	in    io.WriteCloser
	pipe  io.Closer
	out   *bufio.Reader // of the pipe
	ended chan struct{} // closed once it is no more, and all that it said is in the log
}

func start(cmd *exec.Cmd, log *slog.Logger) (*process, error) {
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, theirs, err := os.Pipe() // not cmd's own, which waiting for the process would close
	if err != nil {
		return nil, err
	}
	defer theirs.Close()
	said := &lines{log: log}
	cmd.Stdout, cmd.Stderr = theirs, said
	if err := cmd.Start(); err != nil {
		out.Close()
		return nil, err
	}
	p := &process{cmd: cmd, in: in, pipe: out, out: bufio.NewReader(out), ended: make(chan struct{})}
	go func() {
		defer close(p.ended)
		cmd.Wait() // what it comes to stands in cmd.ProcessState
		said.end()
	}()
	return p, nil
}

func (p *process) do(t task) (*spb.Status, error) {
	if err := t.send(p.in); err != nil {
		return nil, err
	}
	result := new(spb.Status)
	return result, receive(p.out, result)
}

// kill is safe after its end.
func (p *process) kill() { p.cmd.Process.Kill() }

func (p *process) hasEnded() bool {
	select {
	case <-p.ended:
		return true
	default:
		return false
	}
}

// lines puts what a process says on its standard error into the log, a line at a time.
type lines struct {
	log  *slog.Logger
	rest []byte
}

func (l *lines) Write(p []byte) (int, error) {
	l.rest = append(l.rest, p...)
	for {
		line, rest, ended := bytes.Cut(l.rest, []byte("\n"))
		if !ended {
			return len(p), nil
		}
		l.rest = rest
		l.log.Error("authors' work", "says", string(line))
	}
}

func (l *lines) end() {
	if len(l.rest) > 0 {
		l.log.Error("authors' work", "says", string(l.rest))
	}
}
