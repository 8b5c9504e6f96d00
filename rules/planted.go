package rules

import (
	"sync"
)

// Planted is the same edition with a fault in its compiled rules, for tests of the nets that are there to catch one:
// a bar that reads a tag, or any for "", lets some drills through that the same edition judged drill by drill holds back.
// See compile.Program.Plant.
func (e *Edition) Planted(tag string) *Edition {
	planted := *e
	planted.program, planted.judgements = e.program.Plant(tag), &sync.Pool{}
	return &planted
}
