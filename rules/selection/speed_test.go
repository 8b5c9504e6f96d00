package selection

import (
	"syscall"
	"testing"

	"drillwright/rules/client"
)

func BenchmarkParts(b *testing.B) {
	e, q := benchEdition, benchRequest
	_ = client.Day(0)
	a, err := ask(e, q)
	if err != nil {
		b.Fatal(err)
	}
	lift, _ := a.drill("barbell-overhead-press")
	pr, _ := a.provoke(lift)
	of := a.lifted(lift, pr)
	j := e.Judge(a.facts, lift)
	ranked := a.ranked(j, of)
	b.Logf("%d ranked %d waits", len(ranked), len(j.Waits()))
	kept := a.keep(j, ranked, of, 0)
	b.Run("check", timed(func() { client.Check(e.Frame, q) }))
	b.Run("derive", timed(func() { client.Derive(e.Frame, q) }))
	b.Run("digest", timed(func() { q.Digest() }))
	b.Run("screen", timed(func() { screen(e, a.facts) }))
	b.Run("ask", timed(func() { ask(e, q) }))
	b.Run("provoke", timed(func() { a.provoke(lift) }))
	b.Run("judge", timed(func() { e.Judge(a.facts, lift).Done() }))
	b.Run("rank", timed(func() { a.ranked(j, of) }))
	b.Run("second", timed(func() {
		for i := range kept {
			a.second(j, &kept[i].unit)
		}
	}))
	b.Run("ready", timed(func() {
		for i := range kept {
			u := kept[i].unit
			u.sides, u.doses = nil, nil
			a.ready(j, &u)
		}
	}))
	b.Run("substitute", timed(func() {
		for i := range kept {
			a.substitute(j, kept[i], of, true)
		}
	}))
	b.Run("leftOut", timed(func() { a.leftOut(j, lift) }))
	b.Run("measureNext", timed(func() { a.measureNext(j, j.Waits(), 3) }))
	b.Run("whole", timed(func() { Substitute(e, q, Options{Brief: true}) }))
}

func timed(f func()) func(*testing.B) {
	return func(b *testing.B) {
		var x, y syscall.Rusage
		syscall.Getrusage(syscall.RUSAGE_SELF, &x)
		for range b.N {
			f()
		}
		syscall.Getrusage(syscall.RUSAGE_SELF, &y)
		b.ReportMetric(float64(y.Utime.Nano()+y.Stime.Nano()-x.Utime.Nano()-x.Stime.Nano())/float64(b.N), "cpu-ns/op")
	}
}
