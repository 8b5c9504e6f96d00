package rules

import (
	"bytes"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules/internal/random"
)

// serveHeapGrowth is that of a serving process: see server.HeapGrowth.
const serveHeapGrowth = 400

// BenchmarkAdopt measures what a server needs in memory while it goes from one edition to the next, which is read whole
// while the one before still answers. In megabytes: served, with one edition after a collection; peak, the most that the
// process held of the system's memory on the way; then, with both after a collection, as the one before stays pinned.
//
//	edit    one rule of the embedded edition changes, and all else is used again
//	other   every file differs from those before
//	large   a generated edition of 10,000 drills and 1,000 rules, its catalogue included
func BenchmarkAdopt(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(serveHeapGrowth))
	files := EmbeddedFiles()
	b.Run("edit", func(b *testing.B) {
		measureAdopt(b, embeddedOf(b, files), func(e *Edition) *Edition {
			next, err := e.Redraft(oneEdit(b, files))
			require.NoError(b, err)
			return next
		})
	})
	b.Run("other", func(b *testing.B) {
		measureAdopt(b, embeddedOf(b, files), func(*Edition) *Edition { return embeddedOf(b, commented(files)) })
	})
	b.Run("large", func(b *testing.B) {
		read := func() *Edition {
			e, err := ReadOn(random.Catalogue(1, compileSize.drills), compileSize.book(), bookFiles)
			require.NoError(b, err)
			return e
		}
		measureAdopt(b, read(), func(*Edition) *Edition { return read() })
	})
}

func embeddedOf(b *testing.B, files []authored.File) *Edition {
	e, err := Read(files)
	require.NoError(b, err)
	return e
}

// oneEdit are an edition's files with one threshold changed.
func oneEdit(b *testing.B, files []authored.File) []authored.File {
	var out []authored.File
	changed := 0
	for _, f := range files {
		was := []byte("client.range.shoulder.flexion < 160")
		changed += bytes.Count(f.Data, was)
		out = append(out, authored.File{Name: f.Name, Data: bytes.ReplaceAll(f.Data, was, []byte("client.range.shoulder.flexion < 165"))})
	}
	require.Positive(b, changed)
	return out
}

// commented are files of which each has a comment more.
func commented(files []authored.File) []authored.File {
	var out []authored.File
	for _, f := range files {
		out = append(out, authored.File{Name: f.Name, Data: append([]byte("# Another.\n"), f.Data...)})
	}
	return out
}

func measureAdopt(b *testing.B, served *Edition, read func(*Edition) *Edition) {
	for b.Loop() {
		before := heap()
		debug.FreeOSMemory()
		var next *Edition
		peak := peakOf(func() { next = read(served) })
		b.ReportMetric(float64(before)/1e6, "served-MB")
		b.ReportMetric(float64(peak)/1e6, "peak-MB")
		b.ReportMetric(float64(heap())/1e6, "then-MB")
		runtime.KeepAlive(next)
	}
	runtime.KeepAlive(served)
}

// peakOf is the most that the process holds of the system's memory while something is done, looked at every millisecond.
func peakOf(do func()) uint64 {
	stop, peak := make(chan struct{}), make(chan uint64)
	go func() {
		samples := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
		most, tick := uint64(0), time.NewTicker(time.Millisecond)
		defer tick.Stop()
		for {
			metrics.Read(samples)
			most = max(most, samples[0].Value.Uint64()-samples[1].Value.Uint64())
			select {
			case <-stop:
				peak <- most
				return
			case <-tick.C:
			}
		}
	}()
	do()
	close(stop)
	return <-peak
}
