package analysis

import (
	"slices"

	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// nearest is a search on its way.
type nearest struct {
	Search
	e           *rules.Edition
	constraints []*constraint // all must be met
	atoms       []*constraint
	readings    []predicate.Reading
	levers      []*lever
	indexOf     map[leverKey]int
	changes     []change // what has been changed
	found       [][]change
	nodes       int
	taken       int  // steps
	cut         bool // a client was left because no change was left
	spent       bool // the nodes or the steps ran out, or nobody waits
	inexact     bool // a way out could not be followed exactly
}

// change is a lever moved.
type change struct {
	lever int
	to    Value
}

func newNearest(e *rules.Edition, q Search) (*nearest, *client.Facts) {
	n := &nearest{Search: q, e: e, indexOf: map[leverKey]int{}}
	if n.Request == nil {
		n.Request = &client.Request{Profile: &client.Profile{}, AsOf: someDay}
	}
	if n.derive == nil {
		n.derive = func(q *client.Request) *client.Facts { return client.Derive(e.Frame, q) }
	}
	facts := n.now
	if facts == nil {
		facts = n.derive(n.Request)
	}
	for _, d := range q.Demands {
		n.constraints = append(n.constraints, n.constraintOf(d, facts).flat()...)
	}
	if n.spent {
		return n, facts
	}
	n.reportTogether()
	for i := range n.levers {
		n.settle(i, facts)
	}
	return n, facts
}

// step counts what is done, and is whether more may be.
func (n *nearest) step(steps int) bool {
	before := n.taken
	n.taken += steps
	switch {
	case n.steps > 0 && n.taken > n.steps:
		n.spent = true
	case before/stepsBetween != n.taken/stepsBetween:
		n.spent = n.spent || n.Request.Abandoned()
	}
	return !n.spent
}

// stepsBetween is how many steps go by before it is asked whether somebody still waits.
const stepsBetween = 1000

// What the dear things cost in steps, each of which is about the reading of an atom (measured).
const (
	derivingSteps  = 300 // a client's facts
	attachingSteps = 10  // an atom that is taken in, and a lever that bears on it
	solvingSteps   = 10  // a comparison, for one number
)

// someDay is the day of a client who told nothing: any would do.
const someDay = client.Day(20454)

// from looks at a client with so many changes left.
func (n *nearest) from(f *client.Facts, left int) {
	if n.nodes >= n.Nodes || n.Request.Abandoned() {
		n.spent = true
	}
	if n.spent {
		return
	}
	n.nodes++
	n.read(f)
	var unmet []leverSet
	for _, p := range n.constraints {
		if n.met(p) {
			continue
		}
		o := n.wayOuts(p)
		if !n.step(len(o)) {
			return
		}
		if len(o) == 0 {
			return // nothing can meet it any more
		}
		unmet = append(unmet, o)
	}
	if len(unmet) == 0 {
		n.found = append(n.found, slices.Clone(n.changes))
		return
	}
	slices.SortStableFunc(unmet, func(a, b leverSet) int { return len(a) - len(b) })
	if n.apart(unmet) > left {
		n.cut = true
		return
	}
	var done []*lever
	defer func() {
		for _, k := range done {
			k.frozen = false
		}
	}()
	for _, k := range unmet[0] {
		if left == 1 && slices.ContainsFunc(unmet[1:], func(o leverSet) bool { return !o.has(k) }) {
			n.cut = true // one change isn't enough
			continue
		}
		values := n.values(k, f)
		if n.spent {
			return
		}
		for _, v := range values {
			n.turn(f, change{k, v}, left-1)
			if n.spent {
				return
			}
		}
		// What is found with this fact changed has been found: the next may leave it. Of a sum the order matters.
		if k := n.levers[k]; len(k.joint) == 0 {
			k.frozen, done = true, append(done, k)
		}
	}
}

// apart is how many changes are wanted at least: unmet parts that share no fact want one each.
func (n *nearest) apart(unmet []leverSet) int {
	count := 0
	wanted := make([]bool, len(n.levers))
	for _, o := range unmet {
		if !slices.ContainsFunc(o, func(k int) bool { return wanted[k] }) {
			count++
			for _, k := range o {
				wanted[k] = true
			}
		}
	}
	return count
}

// turn looks at the client with one more change.
func (n *nearest) turn(f *client.Facts, t change, left int) {
	k := n.levers[t.lever]
	n.changes = append(n.changes, t)
	k.frozen = true
	if k.isolated {
		back := n.write(k, f, t.to)
		n.from(f, left)
		back()
	} else {
		n.nodes += n.derivingCosts
		n.step(derivingSteps)
		next := n.derive(n.reportedOf(n.changes))
		n.from(next, left)
		next.Done()
	}
	k.frozen = false
	n.changes = n.changes[:len(n.changes)-1]
	n.read(f)
}

// reportedOf is a request with what has been changed.
func (n *nearest) reportedOf(turns []change) *client.Request {
	q := *n.Request
	p := *n.Request.Profile
	q.Profile = &p
	for _, t := range turns {
		n.levers[t.lever].report(n.e.Frame, &q, t.to)
	}
	return &q
}
