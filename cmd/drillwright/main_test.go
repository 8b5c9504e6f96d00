package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/rules"
	"drillwright/server/sqlstore"
)

var update = flag.Bool("update", false, "rewrite the golden parts of the scripts")

const (
	scripts = "../../testdata/script"
	clients = "../../testdata/clients"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"drillwright": main})
}

func TestScripts(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program, which reads the edition, many times over")
	}
	testscript.Run(t, testscript.Params{
		Dir:           scripts,
		UpdateScripts: *update,
		Setup: func(env *testscript.Env) error {
			from, err := filepath.Abs(clients)
			if err != nil {
				return err
			}
			return os.CopyFS(filepath.Join(env.WorkDir, "clients"), os.DirFS(from))
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"boot":   boot,
			"isjson": isJSON,
			"fill":   fill,
			"binary": binary,
			"mask":   mask,
			"first":  first,
			"live":   live,
			"start":  start, "envtoken": envToken, "refused": refusedSoon, "answered": answeredSoon,
		},
	})
}

// boot NAME FLAG... serves on a free port of the loopback address until the script ends; NAME then holds the address.
func boot(ts *testscript.TestScript, neg bool, args []string) {
	address, stop, err := bootServer(args[1:]...)
	ts.Check(err)
	ts.Setenv(args[0], address)
	ts.Defer(func() { ts.Check(stop()) })
}

// start NAME FLAG... starts the program itself to serve until the script ends; NAME then holds the port.
func start(ts *testscript.TestScript, neg bool, args []string) {
	ours := filepath.SplitList(ts.Getenv("PATH"))[0] // where testscript puts the program
	cmd := exec.Command(filepath.Join(ours, "drillwright"), append([]string{"serve"}, args[1:]...)...)
	cmd.Dir, cmd.Env = ts.MkAbs("."), append(os.Environ(), "PATH="+ts.Getenv("PATH"))
	out, err := cmd.StdoutPipe()
	ts.Check(err)
	var log bytes.Buffer
	cmd.Stderr = &log
	ts.Check(cmd.Start())
	ts.Defer(func() {
		ts.Check(cmd.Process.Signal(os.Interrupt))
		if err := cmd.Wait(); err != nil {
			ts.Fatalf("serve: %v\n%s", err, log.String())
		}
		if found := regexp.MustCompile(`drillwright_[A-Za-z0-9_-]{43}|[0-9a-f]{64}`).FindString(log.String()); found != "" {
			ts.Fatalf("the log shows a token or its digest: %s", found)
		}
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		ts.Fatalf("serve says nothing: %v\n%s", err, log.String())
	}
	_, port, err := net.SplitHostPort(strings.TrimPrefix(strings.TrimSpace(line), "listening on "))
	ts.Check(err)
	ts.Setenv(args[0], port)
}

// envtoken FILE puts a token into the environment.
func envToken(ts *testscript.TestScript, neg bool, args []string) {
	ts.Setenv("DRILLWRIGHT_TOKEN", strings.TrimSpace(ts.ReadFile(args[0])))
}

// refused TOKENFILE PORT waits until a server refuses a token, and answered until it lets it in.
func refusedSoon(ts *testscript.TestScript, neg bool, args []string)  { soon(ts, args, false) }
func answeredSoon(ts *testscript.TestScript, neg bool, args []string) { soon(ts, args, true) }

func soon(ts *testscript.TestScript, args []string, want bool) {
	line := []string{"catalog", "terms", "plane", "--server", "localhost:" + args[1], "--ca", "cert.pem", "--token-file", args[0]}
	for late := time.Now().Add(10 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		if err := ts.Exec("drillwright", line...); (err == nil) == want {
			return
		}
		if time.Now().After(late) {
			ts.Fatalf("%s is never answered: %v", args[0], want)
		}
	}
}

// bootServer runs the serve command on a free port.
func bootServer(flags ...string) (address string, stop func() error, err error) {
	ctx, cancel := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		err := run(ctx, append([]string{"serve", "--listen", "127.0.0.1:0"}, flags...), strings.NewReader(""), in, io.Discard, os.Getenv)
		in.CloseWithError(err)
		ended <- err
	}()
	line, err := bufio.NewReader(out).ReadString('\n')
	return strings.TrimPrefix(strings.TrimSpace(line), "listening on "), func() error { cancel(); return <-ended }, err
}

// isjson FILE... wants one JSON value in each, indented as encoding/json indents.
func isJSON(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		text := []byte(ts.ReadFile(name))
		var again bytes.Buffer
		ts.Check(json.Indent(&again, bytes.TrimSpace(text), "", "  "))
		if again.String()+"\n" != string(text) {
			ts.Fatalf("%s is not indented as encoding/json does", name)
		}
	}
}

// fill FILE COUNT writes a file of COUNT bytes.
func fill(ts *testscript.TestScript, neg bool, args []string) {
	count, err := strconv.Atoi(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), bytes.Repeat([]byte("# filler\n"), count/9+1)[:count], 0o644))
}

// binary FILE writes what no editor does.
func binary(ts *testscript.TestScript, neg bool, args []string) {
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte("\x7fELF\x02\x01\x00\x00\xff\xfe"), 0o644))
}

// first DIR writes the built-in edition as an earlier program had it: without its format, and what that asks of muscles. Its
// cases are left out, for time.
func first(ts *testscript.TestScript, neg bool, args []string) {
	for _, f := range rules.EmbeddedFiles() {
		if strings.HasSuffix(f.Name, "/about.yaml") || strings.HasPrefix(f.Name, "rules/book/cases") {
			continue
		}
		path := filepath.Join(ts.MkAbs(args[0]), f.Name)
		ts.Check(os.MkdirAll(filepath.Dir(path), 0o777))
		ts.Check(os.WriteFile(path, regexp.MustCompile(`, crosses: \[[^]]*\]`).ReplaceAll(f.Data, nil), 0o644))
	}
}

// live STORE DIR makes the files of a folder live in a store, as an earlier program did.
func live(ts *testscript.TestScript, neg bool, args []string) {
	store, err := sqlstore.Open(context.Background(), sqlstore.Config{URL: ts.MkAbs(args[0])})
	ts.Check(err)
	defer store.Close()
	files, err := readFolder(ts.MkAbs(args[1]))
	ts.Check(err)
	for i := range files {
		name, err := filepath.Rel(ts.MkAbs(args[1]), files[i].Name)
		ts.Check(err)
		files[i].Name = filepath.ToSlash(name)
	}
	_, _, err = store.Publish(context.Background(), sqlstore.Publish{Revision: "0123456789abcdef0123456789abcdef", Files: files,
		Author: "R. Oar", RequestID: "1", RequestDigest: "1"})
	ts.Check(err)
}

var digest = regexp.MustCompile(`[0-9a-f]{32}`)

// mask FROM TO copies a file without the digests, which change with every word of the rulebook.
func mask(ts *testscript.TestScript, neg bool, args []string) {
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), digest.ReplaceAll([]byte(ts.ReadFile(args[0])), []byte("DIGEST")), 0o644))
}

func TestExitCodes(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	client := filepath.Join(clients, "left-shoulder-press.yaml")
	for _, c := range []struct {
		code int
		args string
	}{
		{0, "--help"},
		{0, "substitute --help"},
		{0, "catalog terms plane"},
		{0, "catalog show push-up"},
		{0, "screen --client " + client},
		{1, "catalog show push-upp"},
		{1, "catalog list --filter 1"},
		{1, "substitute no-such-lift --client " + client},
		{1, "screen --client no-such-file.yaml"},
		{1, "book check no-such-folder"},
		{2, ""},
		{2, "bok"},
		{2, "book"},
		{2, "book chek"},
		{2, "screen"},
		{2, "substitute --client " + client},
		{2, "substitute push-up --client " + client + " --format yaml"},
		{2, "substitute push-up --client " + client + " --limit many"},
		{2, "screen --client " + client + " --no-such-flag"},
		{2, "screen --client " + client + " --as-of 2026-11-25"},
		{2, "screen --client " + client + " --server example.com:7410"},
		{2, "serve --listen 0.0.0.0:7410"},
		{1, "catalog terms colour"},
	} {
		t.Run(c.args, func(t *testing.T) {
			var stdout, stderr bytes.Buffer
			err := run(context.Background(), strings.Fields(c.args), strings.NewReader(""), &stdout, &stderr, func(string) string { return "" })
			assert.Equal(t, c.code, exitCode(err), "%v", err)
			if c.code != 0 {
				assert.Empty(t, stdout.String(), "errors go to stderr")
			}
		})
	}
}

func TestEveryClientIsAnswered(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(clients, "*.yaml"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), 12)
	address, stop, err := bootServer()
	require.NoError(t, err)
	defer func() { assert.NoError(t, stop()) }()
	for _, file := range files {
		for _, ask := range []string{"screen", "substitute barbell-back-squat", "select", "explain push-up"} {
			t.Run(filepath.Base(file)+"/"+ask, func(t *testing.T) {
				var out bytes.Buffer
				args := append(strings.Fields(ask), "--client", file, "--server", address)
				require.NoError(t, run(context.Background(), args, strings.NewReader(""), &out, io.Discard, os.Getenv))
				for _, line := range strings.Split(out.String(), "\n") {
					assert.LessOrEqual(t, len([]rune(line)), 100, line)
				}
				assert.NotRegexp(t, unsaid, out.String())
			})
		}
	}
}

// unsaid are words that promise too much, or frighten.
var unsaid = regexp.MustCompile(`(?i)\b(all clear|is safe|are safe|you are clear|impingement|damaged?|wear)\b`)
