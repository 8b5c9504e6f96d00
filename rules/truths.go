package rules

import (
	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
)

// Truths is the room to work out every truth of every rule on every drill, for measurements and tests: no rule spares
// another its work, as it does in Judge. It is used again from one client to the next, and is for one goroutine.
type Truths struct {
	edition *Edition
	scratch *compile.Truths
}

// NewTruths makes the room.
func (e *Edition) NewTruths() *Truths { return &Truths{e, e.program.NewTruths()} }

// Each shows how each rule came out, those of doses last; what is shown is written over by the next. The lift may be nil.
func (t *Truths) Each(f *client.Facts, lift *catalog.Drill, show func(r *Rule, truth *compile.Truth)) {
	t.scratch.Each(f, uncovered(f), t.edition.LiftRow(lift), func(i int, truth *compile.Truth) { show(t.edition.judged[i], truth) })
}
