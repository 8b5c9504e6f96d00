package rules

import (
	"cmp"
	"math"
	"slices"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// Demand is one condition that a client must surely meet, or must not even possibly meet.
type Demand struct {
	When  *condition.Node // of a rule that was read
	Drill *catalog.Drill  // nil for a condition over the client alone
	Side  int             // the side of the body that works
	// BothRows: the drill's second row counts too, on the other side of the body.
	BothRows bool
	Never    bool
}

// Must demands that a rule surely holds for a drill on a side.
func (r *Rule) Must(d *catalog.Drill, side int) Demand {
	return Demand{When: r.When, Drill: d, Side: side, BothRows: r.allRows()}
}

// MustNot demands that a rule can't hold for a drill on a side.
func (r *Rule) MustNot(d *catalog.Drill, side int) Demand {
	return Demand{When: r.When, Drill: d, Side: side, BothRows: r.allRows(), Never: true}
}

// Search asks for the clients nearest to a given one of whom every demand holds.
type Search struct {
	Demands []Demand
	// Request is that client, who has passed client.Check. Nil: one who told nothing.
	Request *client.Request
	// Lift is what conditions over the lift read. Nil: none.
	Lift *catalog.Drill
	// Now are the facts of the request, and Facts derives those of another, which are given back after use. Nil:
	// client.Derive.
	Now   *client.Facts
	Facts func(*client.Request) *client.Facts
	// May says which facts may be told otherwise than they are. Nil: all that a request can tell.
	May func(p *client.Path, side int, known bool) bool
	// Rising: a number that is known is only raised, nothing is taken off a list that is known, and every number is whole,
	// as people measure.
	Rising bool
	// Changes is the most that may change, Nodes the most clients that are looked at, Sets the most that are returned.
	Changes, Nodes, Sets int
}

// Existence is how a search ended.
type Existence uint8

// NotDecided: the nodes ran out, or the formula has a form that the search can't settle. Exists: there are clients, and
// here are the nearest. TooFar: there is none within so many changes. NoClient: proved, there is none at all.
const (
	NotDecided Existence = iota
	Exists
	TooFar
	NoClient
)

// Found is the answer to a search.
type Found struct {
	Existence Existence
	// Sets are the nearest clients: those with the fewest changes, each with other facts changed, the smallest change first.
	Sets []ChangeSet
	// All is true when no set of that many changes was missed, nor a smaller change of the same facts.
	All bool
	// Least is true when it is proved that fewer changes don't do. What a client's age or a quiet joint lets presume is
	// no way out of its own: a fact that can be told is told.
	Least bool
	Nodes int // looked at
}

// ChangeSet is a client, and how they differ from the one of the search.
type ChangeSet struct {
	Edits []Edit // by path, side and word
	// Size is how far the numbers move, each as a share of what its path spans; anything else counts 1. A number that
	// wasn't known moves from its least, or from what is usual of people.
	Size float64
	// Request is the client whole. It passes client.Check, and its facts meet the demands.
	Request *client.Request
}

// Edit is one fact told otherwise.
type Edit struct {
	Path *client.Path
	Side client.Side // none for what has no sides
	Word string      // the member, when Path is a list
	Was  Value
	To   Value
	// Least and Most: of numbers, what would do as well, the other changes made.
	Least, Most float64
}

// Value is what a fact is told to be.
type Value struct {
	Unknown bool    // nobody told
	None    bool    // told that there is none, or taken back
	Number  float64 // of numbers
	Word    string  // of words; of conditions, who told: CLIENT, CLINICIAN, or PAST
	Yes     bool    // of yes-or-nos; of a list, whether the word is in it
}

// Nearest finds the nearest clients. It is exact for what a condition can say of numbers (sums of facts against a
// threshold, one sum of facts that may all change at once), yes-or-nos, words and lists; where it can't be exact it says
// NotDecided, never NoClient. The same search gives the same answer.
//
// Iterative deepening over the number of changes: at each client the unmet part with the fewest facts to change is
// taken, and each of those facts in turn takes the value nearest to today's in every cell that the thresholds cut. One
// part of any answer must be among them, and a changed fact stays, so nothing is missed. Every client that is found is
// derived anew and judged by the closures.
func (e *Edition) Nearest(q Search) Found {
	n, facts := e.newNearest(q)
	if q.Now == nil {
		defer facts.Done()
	}
	for changes := 0; ; changes++ {
		n.cut = false
		exact := !n.inexact
		n.from(facts, changes)
		sets := n.nearestSets()
		switch {
		case len(sets) > 0:
			return Found{Exists, sets, !n.spent && !n.inexact, exact, n.nodes}
		case n.spent || !n.cut && n.inexact:
			return Found{Nodes: n.nodes}
		case !n.cut:
			return Found{Existence: NoClient, Nodes: n.nodes}
		case changes == n.Changes && n.inexact:
			return Found{Nodes: n.nodes}
		case changes == n.Changes:
			return Found{Existence: TooFar, Nodes: n.nodes}
		}
	}
}

// nearest is a search on its way.
type nearest struct {
	Search
	e        *Edition
	parts    []*want // all must be met
	atoms    []*want
	readings []condition.Reading
	knobs    []*knob
	places   map[knobKey]int
	thens    []turn // what has been changed
	found    [][]turn
	nodes    int
	cut      bool // a client was left because no change was left
	spent    bool // the nodes ran out
	inexact  bool // a way out could not be followed exactly
}

// turn is a knob turned.
type turn struct {
	knob int
	to   Value
}

func (e *Edition) newNearest(q Search) (*nearest, *client.Facts) {
	n := &nearest{Search: q, e: e, places: map[knobKey]int{}}
	if n.Request == nil {
		n.Request = &client.Request{Profile: &client.Profile{}, AsOf: someDay}
	}
	if n.Facts == nil {
		n.Facts = func(q *client.Request) *client.Facts { return client.Derive(e.Frame, q) }
	}
	facts := n.Now
	if facts == nil {
		facts = n.Facts(n.Request)
	}
	for _, d := range q.Demands {
		n.parts = append(n.parts, n.demand(d, facts).flat()...)
	}
	n.tellTogether()
	for i := range n.knobs {
		n.settle(i, facts)
	}
	return n, facts
}

// someDay is the day of a client who told nothing: any would do.
const someDay = client.Day(20454)

// from looks at a client with so many changes left.
func (n *nearest) from(f *client.Facts, left int) {
	if n.nodes == n.Nodes {
		n.spent = true
	}
	if n.spent {
		return
	}
	n.nodes++
	n.read(f)
	var unmet []outs
	for _, p := range n.parts {
		if n.met(p) {
			continue
		}
		o := n.outs(p)
		if len(o) == 0 {
			return // nothing can meet it any more
		}
		unmet = append(unmet, o)
	}
	if len(unmet) == 0 {
		n.found = append(n.found, slices.Clone(n.thens))
		return
	}
	slices.SortStableFunc(unmet, func(a, b outs) int { return len(a) - len(b) })
	if apart(unmet) > left {
		n.cut = true
		return
	}
	var done []*knob
	defer func() {
		for _, k := range done {
			k.frozen = false
		}
	}()
	for _, k := range unmet[0] {
		if left == 1 && slices.ContainsFunc(unmet[1:], func(o outs) bool { return !slices.Contains(o, k) }) {
			n.cut = true // one change isn't enough
			continue
		}
		for _, v := range n.values(k, f) {
			n.turn(f, turn{k, v}, left-1)
			if n.spent {
				return
			}
		}
		// What is found with this fact changed has been found: the next may leave it. Of a sum the order matters.
		if k := n.knobs[k]; len(k.joint) == 0 {
			k.frozen, done = true, append(done, k)
		}
	}
}

// apart is how many changes are wanted at least: unmet parts that share no fact want one each.
func apart(unmet []outs) int {
	count := 0
	taken := outs{}
	for _, o := range unmet {
		if !slices.ContainsFunc(o, func(k int) bool { return slices.Contains(taken, k) }) {
			count++
			taken = append(taken, o...)
		}
	}
	return count
}

// turn looks at the client with one more change.
func (n *nearest) turn(f *client.Facts, t turn, left int) {
	k := n.knobs[t.knob]
	n.thens = append(n.thens, t)
	k.frozen = true
	if k.plain {
		back := n.write(k, f, t.to)
		n.from(f, left)
		back()
	} else {
		next := n.Facts(n.told(n.thens))
		n.from(next, left)
		next.Done()
	}
	k.frozen = false
	n.thens = n.thens[:len(n.thens)-1]
	n.read(f)
}

// told is a request with what has been changed.
func (n *nearest) told(turns []turn) *client.Request {
	q := *n.Request
	p := *n.Request.Profile
	q.Profile = &p
	for _, t := range turns {
		n.knobs[t.knob].tell(n.e.Frame, &q, t.to)
	}
	return &q
}

// candidate is a client whose every part is met, to be borne out by the whole way from the request to the facts.
type candidate struct {
	turns []turn // as they were made
	edits []Edit
	size  float64
}

func (n *nearest) candidate(turns []turn) candidate {
	c := candidate{turns: turns}
	for _, t := range slices.SortedFunc(slices.Values(turns), func(a, b turn) int { return a.knob - b.knob }) {
		c.size += n.knobs[t.knob].size(t.to)
		c.edits = append(c.edits, n.knobs[t.knob].edit(t.to))
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
	for _, c := range all {
		if len(sets) == max(n.Sets, 1) {
			break
		}
		if slices.ContainsFunc(sets, func(had ChangeSet) bool { return sameFacts(had.Edits, c.edits) }) {
			continue
		}
		if q := n.told(c.turns); client.Check(n.e.Frame, q) == nil && n.bears(q) {
			n.widen(&c)
			sets = append(sets, ChangeSet{Edits: c.edits, Size: c.size, Request: q})
		} else {
			n.inexact = true
		}
	}
	return sets
}

func (n *nearest) bears(q *client.Request) bool {
	f := n.Facts(q)
	defer f.Done()
	n.read(f)
	return !slices.ContainsFunc(n.parts, func(p *want) bool { return !n.met(p) })
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
