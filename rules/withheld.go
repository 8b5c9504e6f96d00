package rules

// Withheld is how many sides of drills the second look found worse than the index did, over all requests on this
// edition, and on the copies of it that Plainly and Planted make. It is 0 as long as the index has no fault.
func (e *Edition) Withheld() uint64 { return e.withheld.Load() }
