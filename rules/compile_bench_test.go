package rules

import (
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"testing"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/parser"
	"github.com/expr-lang/expr/types"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules/internal/gen"
)

// compileSize is the book and catalogue of what is measured here.
var compileSize = benchSize{10_000, 1000}

// written are the conditions of a generated book as expr itself can compile them: any and all over motions, regions
// and stressors joined by or and and, one part for each member; a rung in quotes as its place; and measured(…), which
// expr has no word for, as true.
func written(tb testing.TB, e *Edition, texts []string) []string {
	tb.Helper()
	roots := []string{"client", "drill", "lift", "request", "norm", "side"}
	out := make([]string, len(texts))
	for i, text := range texts {
		parsed, err := parser.Parse(text)
		require.NoError(tb, err)
		r := &resolver{scope: scope{e.Frame, e.tags, roots}, source: &source{report: authored.NewDecoder().Report, code: text}}
		out[i] = r.unrolled(parsed.Node).String()
	}
	return out
}

// BenchmarkCompile: expr compiles the conditions of 1000 rules, checked against typed paths, for one drill at a time.
// It does so in the way of its own documentation, which turns the paths into its types anew for each condition; in
// expr_once they are turned once. book reads the same rules from YAML and compiles them for a catalogue of 10,000 drills;
// edit does so over the edition before, in which one number of one rule was another.
func BenchmarkCompile(b *testing.B) {
	snap, draft := gen.Catalogue(1, compileSize.drills), compileSize.book()
	compiled := func(b *testing.B, options func(types.Map) []expr.Option) {
		e, err := ReadOn(gen.Catalogue(1, 60), draft, bookFiles)
		require.NoError(b, err)
		texts := written(b, e, gen.Conditions(1, gen.Vocabulary(), compileSize.rules))
		with := options(scope{frame: e.Frame, drill: e.tags}.typesOf())
		b.ReportAllocs()
		for b.Loop() {
			for _, text := range texts {
				if _, err := expr.Compile(text, with...); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
	b.Run("expr", func(b *testing.B) {
		compiled(b, func(paths types.Map) []expr.Option { return []expr.Option{expr.Env(paths), expr.AsBool()} })
	})
	b.Run("expr_once", func(b *testing.B) {
		compiled(b, func(paths types.Map) []expr.Option {
			ready := conf.CreateNew()
			expr.Env(paths)(ready)
			expr.AsBool()(ready)
			return []expr.Option{func(c *conf.Config) { *c = *ready }}
		})
	})
	b.Run("book", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, err := ReadOn(snap, draft, bookFiles)
			require.NoError(b, err)
		}
	})
	b.Run("edit", func(b *testing.B) {
		e, err := ReadOn(snap, draft, bookFiles)
		require.NoError(b, err)
		drafts := [][]authored.File{raised(b, draft), draft}
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			e, err = e.Redraft(drafts[i%2])
			require.NoError(b, err)
		}
	})
}

// threshold is a number that something is compared with in a condition.
var threshold = regexp.MustCompile(`when: .* [<>]=? ([0-9]+)`)

// raised is a book with the threshold of one rule one higher.
func raised(tb testing.TB, book []authored.File) []authored.File {
	tb.Helper()
	edited := slices.Clone(book)
	text := book[0].Data
	at := threshold.FindSubmatchIndex(text)
	require.NotNil(tb, at, "no rule compares with a number")
	n, err := strconv.Atoi(string(text[at[2]:at[3]]))
	require.NoError(tb, err)
	edited[0].Data = slices.Concat(text[:at[2]], strconv.AppendInt(nil, int64(n+1), 10), text[at[3]:])
	return edited
}

// BenchmarkMemory reports what an edition of 1000 rules on 10,000 drills keeps on the heap, in millions of bytes, beside
// the catalogue that it is compiled for and without the programs of expr, which are written when they are asked for.
func BenchmarkMemory(b *testing.B) {
	for b.Loop() {
		before := heap()
		snap := gen.Catalogue(1, compileSize.drills)
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
