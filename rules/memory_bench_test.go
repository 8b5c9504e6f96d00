package rules

import (
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/internal/random"
)

// compileSize is the book and catalogue of what is measured here.
var compileSize = benchSize{10_000, 1000}

// BenchmarkMemory reports what an edition of 1000 rules on 10,000 drills keeps on the heap, in millions of bytes, beside
// the catalogue that it is compiled for and without the programs of expr, which are written when they are asked for.
func BenchmarkMemory(b *testing.B) {
	for b.Loop() {
		before := heap()
		snap := random.Catalogue(1, compileSize.drills)
		withCatalogue := heap()
		e, err := ReadOn(snap, compileSize.book(), bookFiles)
		require.NoError(b, err)
		whole := heap()
		b.ReportMetric(float64(whole-withCatalogue)/1e6, "edition-MB")
		b.ReportMetric(float64(withCatalogue-before)/1e6, "catalogue-MB")
		runtime.KeepAlive(e)
	}
}

// heap is what is in use after a collection.
func heap() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC() // the first only empties the pools
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
