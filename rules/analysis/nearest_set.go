package analysis

import (
	"cmp"
	"math"
	"slices"

	"drillwright/rules/client"
)

// candidate is a client whose every part is met, to be borne out by the whole way from the request to the facts.
type candidate struct {
	turns []change // as they were made
	edits []Edit
	size  float64
}

// mostLevers is how many candidates are borne out at most: each is derived from the start.
const mostLevers = 100

func (n *nearest) candidate(turns []change) candidate {
	c := candidate{turns: turns}
	for _, t := range slices.SortedFunc(slices.Values(turns), func(a, b change) int { return a.lever - b.lever }) {
		c.size += n.levers[t.lever].size(t.to)
		c.edits = append(c.edits, n.levers[t.lever].edit(t.to))
	}
	slices.SortFunc(c.edits, n.order)
	return c
}

// nearestSets are the sets that are borne out, each combination of facts once, the smallest first.
func (n *nearest) nearestSets() []ChangeSet {
	var all []candidate
	for _, turns := range n.found {
		all = append(all, n.candidate(turns))
	}
	slices.SortFunc(all, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(math.Round(a.size*1e9), math.Round(b.size*1e9)), slices.CompareFunc(a.edits, b.edits, n.order))
	})
	n.found = nil
	var sets []ChangeSet
	borne := 0
	for _, c := range all {
		if len(sets) == max(n.Sets, 1) || n.Request.Abandoned() {
			break
		}
		if borne == mostLevers {
			n.inexact = true // another might be borne out
			break
		}
		if slices.ContainsFunc(sets, func(had ChangeSet) bool { return sameFacts(had.Edits, c.edits) }) {
			continue
		}
		borne++
		if q := n.reportedOf(c.turns); client.Check(n.e.Frame, q) == nil && n.meets(q, func(f *client.Facts) { n.widen(&c, f) }) {
			sets = append(sets, ChangeSet{Edits: c.edits, size: c.size, Request: q})
		} else {
			n.inexact = true
		}
	}
	return sets
}

// meets is whether a client, derived from the start, meets every part. Then is done with the facts of one who does.
func (n *nearest) meets(q *client.Request, then func(*client.Facts)) bool {
	n.step(derivingSteps)
	f := n.derive(q)
	defer f.Done()
	n.read(f)
	if slices.ContainsFunc(n.constraints, func(p *constraint) bool { return !n.met(p) }) {
		return false
	}
	then(f)
	return true
}

// read turns the readings to other facts.
func (n *nearest) read(f *client.Facts) {
	for i := range n.readings {
		n.readings[i].On(f, n.readings[i].Side)
	}
}

func sameFacts(a, b []Edit) bool {
	return slices.EqualFunc(a, b, func(x, y Edit) bool { return x.Path == y.Path && x.Side == y.Side && x.Word == y.Word })
}

// order of changes: by the table of paths, then side, word, and value.
func (n *nearest) order(a, b Edit) int {
	t := n.e.Frame.Table
	return cmp.Or(cmp.Compare(t.Index(a.Path), t.Index(b.Path)), cmp.Compare(a.Side, b.Side), cmp.Compare(a.Word, b.Word),
		cmp.Compare(a.To.Number, b.To.Number), cmp.Compare(a.To.Word, b.To.Word))
}

// widen says of each number of a set, whose facts are given, from where to where it would do as well.
func (n *nearest) widen(c *candidate, f *client.Facts) {
	for i, t := range c.turns {
		k := n.levers[t.lever]
		if !n.ranges || k.of.Kind != client.Number || t.to.None {
			continue
		}
		turns := slices.Clone(c.turns)
		does := func(v float64) bool {
			turns[i].to.Number = v
			defer n.read(f)
			return !n.Request.Abandoned() && n.meets(n.reportedOf(turns), func(*client.Facts) {})
		}
		e := &c.edits[slices.IndexFunc(c.edits, func(e Edit) bool { return e.Path == k.of && (!k.of.Sided || e.Side == client.Sides[k.side]) })]
		e.Least, e.Most = k.stretch(t.to.Number, n.cuts(k, f), does)
	}
}

// stretch goes from a value that does down and up, cut by cut, as far as every value between does.
func (k *lever) stretch(v float64, cuts []float64, does func(float64) bool) (least, most float64) {
	inside := func(a, b float64) float64 { // of the open stretch between: whole if it can be
		if whole := math.Floor(a) + 1; whole < b {
			return whole
		}
		return (a + b) / 2
	}
	most = v
	for {
		next := k.of.Hi
		if at := slices.IndexFunc(cuts, func(c float64) bool { return c > most }); at >= 0 {
			next = cuts[at]
		}
		if most == k.of.Hi || next-most > 1 && !does(inside(most, next)) {
			break
		}
		if !does(next) {
			most = max(most, math.Ceil(next)-1)
			break
		}
		most = next
	}
	least = v
	for {
		next := k.of.Lo
		if at := slices.IndexFunc(cuts, func(c float64) bool { return c >= least }); at > 0 {
			next = cuts[at-1]
		} else if at < 0 && len(cuts) > 0 {
			next = cuts[len(cuts)-1]
		}
		if least == k.of.Lo || least-next > 1 && !does(inside(next, least)) {
			break
		}
		if !does(next) {
			least = min(least, math.Floor(next)+1)
			break
		}
		least = next
	}
	return least, most
}
