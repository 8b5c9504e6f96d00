package rules

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
)

// benchSizes are drills and generated rules; beside these stand the floor's and the last dose. Zero is the edition
// that comes with the program.
var benchSizes = []benchSize{{}, {300, 120}, {1000, 200}, {1000, 1000}, {10_000, 1000}, {100_000, 1000}}

type benchSize struct{ drills, rules int }

func (s benchSize) String() string {
	if s.drills == 0 {
		return "embedded"
	}
	return fmt.Sprintf("%dx%d", s.drills, s.rules)
}

// edition reads what the size says.
func (s benchSize) edition(tb testing.TB) *Edition {
	tb.Helper()
	if s.drills == 0 {
		e, err := Embedded()
		require.NoError(tb, err)
		return e
	}
	e, err := ReadOn(random.Catalogue(1, s.drills), s.book(), bookFiles)
	require.NoError(tb, err)
	return e
}

func (s benchSize) book() []authored.File {
	v := random.Vocabulary()
	return append(random.Book(1, v, s.rules), random.Doses(1, v, 1))
}

// asking is one client before a book: three facts in ten are unknown, and no clearance covers a condition.
type asking struct {
	facts *client.Facts
	lift  *catalog.Drill
}

// askings are the clients of a benchmark; each of its operations judges all of them.
func askings(e *Edition) []asking {
	var all []asking
	for seed := range uint64(4) {
		q := random.Client(seed, e.Frame.Vocabulary, 0.3)
		for i := range q.Profile.Clearances {
			q.Profile.Clearances[i].Covers = nil
		}
		if e.Catalogue.Drill(random.DrillID(0)) == nil { // its likes and its log name drills of a generated catalogue
			q.Profile.Disliked, q.Profile.GoalLifts, q.Profile.Log = nil, nil, nil
		}
		all = append(all, asking{random.Facts(seed, e.Frame, q), e.Catalogue.Drills[int(seed*7)%len(e.Catalogue.Drills)]})
	}
	return all
}

// mostJudged is how many (rule, drill, side) of one client the drill-by-drill ways judge in a benchmark. A catalogue
// that asks for more is represented by drills at equal distances, and the time for one is what counts: ns/judged.
var mostJudged = map[string]int{"plain": 100_000, "closures": 2_000_000}

func sampled(e *Edition, way string) []*catalog.Drill {
	all := e.Catalogue.Drills
	n := min(len(all), max(1, mostJudged[way]/(2*len(e.judged))))
	var list []*catalog.Drill
	for i := range n {
		list = append(list, all[i*len(all)/n])
	}
	return list
}

// BenchmarkJudge does the same work in three ways: whether each rule is possible, sure and, of bars, firm, on every
// drill and side, for clients of whom three facts in ten are unknown.
//
//	compiled  the sets of package compile; each rule's answers are one bit a drill and side
//	closures  each condition as Go functions with every path resolved, called drill by drill; see handWritten
//	plain     each condition as expr programs on expr's machine, called drill by drill; they are compiled, and the
//	          facts put before them, ahead of the clock
//
// verdicts is what a request waits for: bars and points, where a drill that is barred asks no more rules.
//
// ns/judged is the time for one rule on one drill and side; ratios are taken from it. See mostJudged for the drills
// that closures and plain are measured on.
func BenchmarkJudge(b *testing.B) {
	for _, size := range benchSizes {
		var e *Edition
		read := func(b *testing.B) *Edition {
			if e == nil {
				e = size.edition(b)
			}
			return e
		}
		b.Run("compiled/"+size.String(), func(b *testing.B) { benchmarkCompiled(b, read(b)) })
		b.Run("verdicts/"+size.String(), func(b *testing.B) { benchmarkVerdicts(b, read(b)) })
		if size.drills < 100_000 {
			b.Run("closures/"+size.String(), func(b *testing.B) { benchmarkClosures(b, read(b)) })
			b.Run("plain/"+size.String(), func(b *testing.B) { benchmarkPlain(b, read(b)) })
		}
	}
}

// reportJudged reports the time for one rule on one drill and side.
func reportJudged(b *testing.B, e *Edition, drills, clients int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(clients*drills*2*len(e.judged)), "ns/judged")
}

func benchmarkCompiled(b *testing.B, e *Edition) {
	all, truths := askings(e), e.program.NewTruths()
	shown := 0
	show := func(int, *compile.Truth) { shown++ }
	truths.Each(all[0].facts, nil, e.NoLift, show)
	b.ReportAllocs()
	for b.Loop() {
		for _, a := range all {
			truths.Each(a.facts, nil, e.LiftRow(a.lift), show)
		}
	}
	reportJudged(b, e, len(e.Catalogue.Drills), len(all))
}

func benchmarkVerdicts(b *testing.B, e *Edition) {
	all := askings(e)
	judgeOnce(e, all[0])
	b.ReportAllocs()
	for b.Loop() {
		for _, a := range all {
			judgeOnce(e, a)
		}
	}
	reportJudged(b, e, len(e.Catalogue.Drills), len(all))
}

// judgeOnce judges and has all points worked out.
func judgeOnce(e *Edition, a asking) {
	j := e.Judge(a.facts, a.lift)
	j.ResultOf(0)
	j.Done()
}

func benchmarkPlain(b *testing.B, e *Edition) {
	all, drills := askings(e), sampled(e, "plain")
	plain := e.ByReference().reference
	var runs []*referenceRun
	for _, a := range all {
		runs = append(runs, plain.begin(a.facts, nil, a.lift))
	}
	for _, r := range e.judged {
		runs[0].holds(r, drills[0], 0) // writes its programs
	}
	holds := 0
	b.ReportAllocs()
	for b.Loop() {
		for _, run := range runs {
			for _, d := range drills {
				for side := range 2 {
					for _, r := range e.judged {
						holds += int(run.holds(r, d, side))
					}
				}
			}
		}
	}
	reportJudged(b, e, len(drills), len(all))
}

// TestJudgingAllocatesNothing in the steady state, of clients whom no clearance covers.
func TestJudgingAllocatesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("counts what is allocated, and the race detector allocates")
	}
	e := benchSize{300, 120}.edition(t)
	all, truths := askings(e), e.program.NewTruths()
	show := func(int, *compile.Truth) {}
	require.Zero(t, testing.AllocsPerRun(50, func() {
		for _, a := range all {
			truths.Each(a.facts, nil, e.LiftRow(a.lift), show)
		}
	}), "every truth")
	require.Zero(t, testing.AllocsPerRun(50, func() {
		for _, a := range all {
			judgeOnce(e, a)
		}
	}), "verdicts")
}
