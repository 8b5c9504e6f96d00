package main

import (
	"context"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var readmeBlock = regexp.MustCompile("(?ms)^```sh( fails)?\n(.*?)^```")

// TestReadmeCommands runs every command of the README as it is written, from the top of the project: the service in
// the background, the rest in order. Those of a block marked "fails" must fail; the tests aren't run within the tests.
func TestReadmeCommands(t *testing.T) {
	if os.Getenv("DRILLWRIGHT_CI") == "" {
		t.Skip("takes ports 7410 and 7411: set DRILLWRIGHT_CI=1 to run it")
	}
	if testing.Short() {
		t.Skip("starts the program, which reads the edition, many times over")
	}
	_, err := exec.LookPath("grpcurl")
	require.NoError(t, err, "the README's lines need grpcurl")
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	blocks := readmeBlock.FindAllStringSubmatch(string(text), -1)
	require.NotEmpty(t, blocks)
	tried := func() { require.NoError(t, os.RemoveAll("/tmp/drillwright")) } // what the README makes
	tried()
	t.Cleanup(tried)
	var failures []byte
	for _, b := range blocks {
		for _, line := range strings.Split(strings.TrimSpace(b[2]), "\n") {
			switch {
			case strings.HasPrefix(line, "go test"):
			case strings.Contains(line, "/drillwright serve"):
				serveInBackground(t, line)
			default:
				t.Run(line, func(t *testing.T) {
					out, err := bash(context.Background(), line).CombinedOutput()
					require.Equal(t, b[1] != "", err != nil, "%s", out)
					if err != nil {
						failures = append(append(failures, "$ "+line+"\n"...), out...)
					}
				})
			}
		}
	}
	golden(t, "../../testdata/grpcurl/failures.golden", failures)
}

// golden holds what grpcurl prints of our errors, details and all, against the file.
func golden(t *testing.T, path string, got []byte) {
	if *update {
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))
}

func bash(ctx context.Context, line string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, "bash", "-c", line)
	cmd.Dir = "../.."
	return cmd
}

var port = regexp.MustCompile(`--listen \S+:(\d+)`)

// serveInBackground starts the service as the README says and waits until it listens.
func serveInBackground(t *testing.T, line string) {
	ctx, stop := context.WithCancel(context.Background())
	cmd := bash(ctx, line)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // go run starts the program as a child: stop both
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM)
		stop()
		_ = cmd.Wait()
	})
	address := "127.0.0.1:7410"
	if m := port.FindStringSubmatch(line); m != nil {
		address = "127.0.0.1:" + m[1]
	}
	require.Eventually(t, func() bool {
		conn, err := net.Dial("tcp", address)
		if err == nil {
			_ = conn.Close()
		}
		return err == nil
	}, 2*time.Minute, 200*time.Millisecond, "nothing listens on %s", address)
}

// namedPath is a path from the top of the project, in backquotes: of a file with its folder, or of a folder.
var namedPath = regexp.MustCompile("`((?:catalog|cmd|proto|rules|server|testdata|\\.ci)/[\\w./*-]*)`")

// TestPathsAreThere: what the texts for developers and users name is where they say.
func TestPathsAreThere(t *testing.T) {
	found := 0
	for _, name := range []string{"README.md", "DEVELOPERS.md", "testdata/README.md", "rules/README.md", "rules/bench/README.md"} {
		text, err := os.ReadFile("../../" + name)
		require.NoError(t, err)
		for _, m := range namedPath.FindAllStringSubmatch(string(text), -1) {
			found++
			there, err := filepath.Glob("../../" + m[1])
			require.NoError(t, err)
			require.NotEmpty(t, there, "%s names %s", name, m[1])
		}
	}
	require.Greater(t, found, 50)
}
