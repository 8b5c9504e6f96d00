package rules

// Withheld is how many sides of drills the second look held back, over all requests on this edition, and on the copies of it that
// Plainly and Planted make: a side came out worse than in the index, or a dose passed a limit. It is 0 as long as neither
// has a fault.
func (e *Edition) Withheld() uint64 { return e.withheld.Load() }

// Withhold counts a side of a drill that the second look holds back.
func (e *Edition) Withhold() { e.withheld.Add(1) }
