package rules

import ("testing";"drillwright/rules/client";"drillwright/rules/compile";"pgregory.net/rapid")

func BenchmarkTmp(b *testing.B) {
	e, _ := Embedded()
	var q *client.Request
	q = rapid.Custom(func(t *rapid.T) *client.Request { return randomRequest(t, e) }).Example(3)
	f := client.Derive(e.Frame, q)
	lift := e.Catalogue.Drills[5]
	b.Run("judge", func(b *testing.B) { b.ReportAllocs(); for b.Loop() { e.Judge(f, lift).Done() } })
	tr := e.program.NewTruths()
	b.Run("truths", func(b *testing.B) { b.ReportAllocs(); for b.Loop() { tr.Each(f, nil, e.liftRow(lift), func(int, *compile.Truth) {}) } })
	b.Run("one", func(b *testing.B) { b.ReportAllocs(); i := 0; for b.Loop() { j := e.JudgeOne(f, lift); i++; j.oneByOne(e.Catalogue.Drills[i%700], 0); j.Done() } })
	b.Run("embedded", func(b *testing.B) { for b.Loop() { Embedded() } })
}
