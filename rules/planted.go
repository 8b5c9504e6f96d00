package rules

import (
	"sync"
)

// Planted is the same edition with a fault in its compiled rules, for tests of the nets that are there to catch one:
// a bar lets some drills through that the same edition judged drill by drill holds back. See compile.Program.Plant.
func (e *Edition) Planted() *Edition {
	planted := *e
	planted.program, planted.judgements = e.program.Plant(), &sync.Pool{}
	return &planted
}
