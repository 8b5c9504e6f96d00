package server

import (
	"bufio"
	"context"
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// BenchmarkBeside measures how long a caller waits for Substitute while an author has drafts previewed and checked, linted, or published,
// one after the other, against how long just before, while nobody does. The server is the program itself, in a process of its own; calls
// come at a fixed pace, whatever those before them took. p99-ratio is what to look at. It wants some thousand calls (-benchtime 3000x),
// and -count, for a machine that does other things shows in it: hog is the ratio beside a process that only counts, at no lower priority.
func BenchmarkBeside(b *testing.B) {
	program := filepath.Join(b.TempDir(), "drillwright")
	out, err := exec.Command("go", "build", "-o", program, "drillwright/cmd/drillwright").CombinedOutput()
	require.NoError(b, err, "%s", out)
	c := fullProfile(b, embedded())
	ask := &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "barbell-overhead-press",
		View: v1.View_BASIC}
	conn := serve(b, program)
	calls, books := v1.NewSelectionServiceClient(conn), v1.NewRulebookServiceClient(conn)

	paced(b, calls, ask, 200) // warm
	for _, beside := range []struct {
		name string
		work func(ctx context.Context, n int) error
	}{
		{"hog", func(ctx context.Context, _ int) error {
			return exec.CommandContext(ctx, "sh", "-c", "while :; do :; done").Run()
		}},
		{"preview", func(ctx context.Context, n int) error {
			_, err := books.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Draft: draftOf(b, n)})
			if err == nil {
				_, err = books.CheckRulebook(ctx, &v1.CheckRulebookRequest{Draft: draftOf(b, n)})
			}
			return err
		}},
		{"lint", func(ctx context.Context, n int) error {
			_, err := books.CheckRulebook(ctx, &v1.CheckRulebookRequest{Draft: draftOf(b, n), Lint: true})
			return err
		}},
		{"publish", func(ctx context.Context, n int) error { return publishOne(ctx, books, n) }},
	} {
		idle := at99(paced(b, calls, ask, b.N))
		ctx, cancel := context.WithCancel(b.Context())
		var working sync.WaitGroup
		times := 0
		working.Go(func() {
			for ; ctx.Err() == nil; times++ {
				if err := beside.work(ctx, times); err != nil && ctx.Err() == nil {
					b.Error(err)
					return
				}
			}
		})
		busy := at99(paced(b, calls, ask, b.N))
		cancel()
		working.Wait()
		b.ReportMetric(float64(idle.Microseconds()), beside.name+"-idle-p99-µs")
		b.ReportMetric(float64(busy)/float64(idle), beside.name+"-p99-ratio")
		if beside.name != "hog" {
			b.ReportMetric(float64(times), beside.name+"-times")
		}
	}
}

// publishOne previews what is live with one comment more, and publishes that.
func publishOne(ctx context.Context, books v1.RulebookServiceClient, n int) error {
	live, err := books.GetRulebook(ctx, &v1.GetRulebookRequest{})
	if err != nil {
		return err
	}
	draft := &v1.Draft{BaseRevision: live.Revision, Files: live.Files}
	draft.Files[0].Text += fmt.Sprintf("# %d\n", n)
	seen, err := books.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Draft: draft})
	if err != nil {
		return err
	}
	_, err = books.PublishRulebook(ctx, &v1.PublishRulebookRequest{Draft: draft, PreviewDigest: seen.Preview.Digest,
		RequestId: fmt.Sprint("publication ", n), Author: "R. Oar", Note: "another comment"})
	return err
}

// serve runs the program on a store of its own until the benchmark ends.
func serve(b *testing.B, program string) *grpc.ClientConn {
	cmd := exec.Command(program, "serve", "--listen", "127.0.0.1:0", "--store", filepath.Join(b.TempDir(), "editions.db"))
	out, err := cmd.StdoutPipe()
	require.NoError(b, err)
	require.NoError(b, cmd.Start())
	b.Cleanup(func() {
		cmd.Process.Signal(syscall.SIGTERM)
		require.NoError(b, cmd.Wait())
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(b, err)
	conn, err := grpc.NewClient(strings.TrimPrefix(strings.TrimSpace(line), "listening on "),
		grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(b, err)
	b.Cleanup(func() { conn.Close() })
	return conn
}

func at99(took []time.Duration) time.Duration {
	slices.Sort(took)
	return took[len(took)*99/100]
}

// paced makes calls every few milliseconds, and is how long each took from when it was due.
func paced(b *testing.B, calls v1.SelectionServiceClient, ask *v1.SubstituteRequest, n int) []time.Duration {
	const every = 5 * time.Millisecond
	took := make([]time.Duration, n)
	var waiting sync.WaitGroup
	began := time.Now()
	for i := range n {
		due := began.Add(time.Duration(i) * every)
		time.Sleep(time.Until(due))
		waiting.Go(func() {
			if _, err := calls.Substitute(b.Context(), ask); err != nil {
				b.Error(err)
			}
			took[i] = time.Since(due)
		})
	}
	waiting.Wait()
	return took
}

// draftOf is the built-in bars with one figure changed, another each time.
func draftOf(tb testing.TB, n int) *v1.Draft {
	for _, f := range rules.EmbeddedFiles() {
		if f.Name == "rules/book/bars.yaml" {
			const had = "> client.range[#] + client.margin[#])\""
			require.Contains(tb, string(f.Data), had)
			text := strings.Replace(string(f.Data), had, fmt.Sprintf("> client.range[#] + client.margin[#] + %d)\"", n%20+1), 1)
			return &v1.Draft{Files: []*v1.RulebookFile{{Name: f.Name, Text: text}}}
		}
	}
	tb.Fatal("no bars")
	return nil
}
