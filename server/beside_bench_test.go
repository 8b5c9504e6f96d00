package server

import (
	"context"
	"fmt"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// BenchmarkBeside measures how long a caller waits for Substitute while an author has drafts checked and previewed one after
// the other, each of which is compiled, against how long while nobody does. Calls come at a fixed pace, whatever those before
// them took. p99-ratio is what to look at; it wants some thousand calls (-benchtime 2000x).
func BenchmarkBeside(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(HeapGrowth)) // as serve runs
	e, err := rules.Embedded()
	require.NoError(b, err)
	s, err := New(Config{Edition: e})
	require.NoError(b, err)
	c := fullProfile(b, e)
	ask := &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "barbell-overhead-press",
		View: v1.View_BASIC}
	conn := connect(b, s, s)
	calls, books := v1.NewSelectionServiceClient(conn), v1.NewRulebookServiceClient(conn)

	paced(b, calls, ask, 200) // warm
	idle := paced(b, calls, ask, b.N)
	b.ReportMetric(float64(at99(idle).Microseconds()), "idle-p99-µs")
	for _, lint := range []bool{false, true} {
		ctx, cancel := context.WithCancel(b.Context())
		var working sync.WaitGroup
		drafts := 0
		working.Go(func() {
			for ; ctx.Err() == nil; drafts++ {
				draft := draftOf(b, drafts)
				if !lint {
					books.PreviewRulebook(ctx, &v1.PreviewRulebookRequest{Draft: draft})
				}
				books.CheckRulebook(ctx, &v1.CheckRulebookRequest{Draft: draft, Lint: lint})
			}
		})
		busy := paced(b, calls, ask, b.N)
		cancel()
		working.Wait()
		name := map[bool]string{false: "preview", true: "lint"}[lint]
		b.ReportMetric(float64(at99(busy).Microseconds()), name+"-p99-µs")
		b.ReportMetric(float64(at99(busy))/float64(at99(idle)), name+"-p99-ratio")
		b.ReportMetric(float64(drafts), name+"-drafts")
	}
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
