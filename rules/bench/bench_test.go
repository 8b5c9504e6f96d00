package bench

import (
	"fmt"
	"testing"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
)

// edition is a generated catalogue and book over the embedded ladders, questions and measures. Beside the
// generated rules stand two of the floor and one dose.
func edition(tb testing.TB, drills, n int) *rules.Edition {
	tb.Helper()
	v := random.Vocabulary()
	draft := append(random.Book(1, v, n), random.Doses(1, v, 1))
	e, err := rules.ReadOn(random.Catalogue(1, drills), draft, rules.EmbeddedFiles())
	if err != nil {
		tb.Fatal(err)
	}
	return e
}

func facts(e *rules.Edition, seed uint64, share float64) *client.Facts {
	return random.Facts(seed, e.Frame, random.Client(seed, e.Frame.Vocabulary, share))
}

func lift(e *rules.Edition, seed uint64) *catalog.Drill {
	return e.Catalogue.Drills[int(seed*7)%len(e.Catalogue.Drills)]
}

// clients are how many one operation judges.
const clients = 4

// BenchmarkJudge judges clients of whom three facts in ten were not told: every truth of every rule on every drill and
// side. ns/judged is the time for one rule on one drill and side.
func BenchmarkJudge(b *testing.B) {
	for _, size := range []struct{ drills, rules int }{{300, 120}, {1000, 200}} {
		e := edition(b, size.drills, size.rules)
		name := fmt.Sprintf("%dx%d", size.drills, size.rules)
		b.Run("cel/"+name, func(b *testing.B) { benchmarkCEL(b, e, byValue) })
		b.Run("cel_patterns/"+name, func(b *testing.B) { benchmarkCEL(b, e, byPattern) })
		b.Run("compiled/"+name, func(b *testing.B) { benchmarkCompiled(b, e) })
	}
}

func benchmarkCEL(b *testing.B, e *rules.Edition, how way) {
	book, err := newBook(e)
	if err != nil {
		b.Fatal(err)
	}
	var questions []*asked
	for seed := range uint64(clients) {
		q, err := book.ask(facts(e, seed, 0.3), lift(e, seed), how)
		if err != nil {
			b.Fatal(err)
		}
		questions = append(questions, q)
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, q := range questions {
			if _, err := q.judge(); err != nil {
				b.Fatal(err)
			}
		}
	}
	reportJudged(b, e)
}

func benchmarkCompiled(b *testing.B, e *rules.Edition) {
	var told []*client.Facts
	for seed := range uint64(clients) {
		told = append(told, facts(e, seed, 0.3))
	}
	truths, shown := e.NewTruths(), 0
	show := func(*rules.Rule, *compile.Truth) { shown++ }
	truths.Each(told[0], lift(e, 0), show)
	b.ReportAllocs()
	for b.Loop() {
		for seed, f := range told {
			truths.Each(f, lift(e, uint64(seed)), show)
		}
	}
	reportJudged(b, e)
}

// reportJudged reports the time for one rule on one drill and side.
func reportJudged(b *testing.B, e *rules.Edition) {
	n := 0
	e.NewTruths().Each(facts(e, 0, 0), nil, func(*rules.Rule, *compile.Truth) { n++ })
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(clients*2*n*len(e.Catalogue.Drills)), "ns/judged")
}

// TestSameWork: of a client of whom everything is known, CEL says what the judge says, of every rule, drill and
// side. Where something is unknown it never contradicts the judge; it may know less.
func TestSameWork(t *testing.T) {
	e := edition(t, random.ClientDrills, 200)
	book, err := newBook(e)
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(6) {
		share := []float64{0, 0.3}[seed%2]
		f := facts(e, seed, share)
		j := e.Judge(f, lift(e, seed))
		for _, how := range []way{byValue, byPattern} {
			q, err := book.ask(f, lift(e, seed), how)
			if err != nil {
				t.Fatal(err)
			}
			got, err := q.judge()
			if err != nil {
				t.Fatal(err)
			}
			compare(t, q, got, j, share == 0)
			compareSets(t, q, got, f, lift(e, seed), share == 0)
		}
	}
}

func compare(t *testing.T, q *asked, got [][]truth, j *rules.Judgement, known bool) {
	t.Helper()
	counts := map[string]int{}
	for i, p := range q.programs {
		for d, drill := range j.Edition.Catalogue.Drills {
			for side := range 2 {
				want := ours(j.Held(p.rule, drill, side))
				cels := got[i][2*d+side]
				counts[fmt.Sprint("cel ", cels)]++
				counts[fmt.Sprint("ours ", want)]++
				if cels != want && (known || cels != unknown) {
					t.Fatalf("rule %s on %s, side %d: cel %d, ours %d\n%s", p.rule.ID, drill.ID, side, cels, want, p.rule.CodeText)
				}
			}
		}
	}
	t.Log("no 0, unknown 1, yes 2: ", counts)
}

// compareSets is the same for the compiled sets, which the benchmark runs.
func compareSets(t *testing.T, q *asked, got [][]truth, f *client.Facts, lift *catalog.Drill, known bool) {
	t.Helper()
	i := 0
	q.edition.NewTruths().Each(f, lift, func(r *rules.Rule, sets *compile.Truth) {
		for d := range q.edition.Catalogue.Drills {
			for side := range 2 {
				want, cels := no, got[i][2*d+side]
				if sets.Possible(d, side) {
					want = unknown
				}
				if sets.Sure(d, side) {
					want = yes
				}
				if r != q.programs[i].rule || cels != want && (known || cels != unknown) {
					t.Fatalf("rule %s on drill %d, side %d: cel %d, sets %d\n%s", r.ID, d, side, cels, want, r.CodeText)
				}
			}
		}
		i++
	})
}

func ours(h rules.Held) truth {
	switch {
	case h&rules.Sure != 0:
		return yes
	case h&rules.Possible != 0:
		return unknown
	}
	return no
}
