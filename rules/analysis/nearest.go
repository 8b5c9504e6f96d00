package analysis

import (
	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// Demand is one condition that a client must surely meet, or must not even possibly meet.
type Demand struct {
	when  *predicate.Node // of a rule that was read
	drill *catalog.Drill  // nil for a condition over the client alone
	side  int             // the side of the body that works
	// bothRows: the drill's second row counts too, on the other side of the body.
	bothRows bool
	never    bool
	// loose: it does that the condition can hold or, with Never, that it needn't.
	loose bool
	row   int // the one row that counts, from 1; 0: as BothRows says
}

// Must demands that a rule surely holds for a drill on a side.
func Must(r *rules.Rule, d *catalog.Drill, side int) Demand {
	return Demand{when: r.When, drill: d, side: side, bothRows: r.BothRows()}
}

// MustNot demands that a rule can't hold for a drill on a side.
func MustNot(r *rules.Rule, d *catalog.Drill, side int) Demand {
	return Demand{when: r.When, drill: d, side: side, bothRows: r.BothRows(), never: true}
}

// Search asks for the clients nearest to a given one of whom every demand holds.
type Search struct {
	Demands []Demand
	// Request is that client, who has passed client.Check. Nil: one who told nothing.
	Request *client.Request
	// lift is what conditions over the lift read. Nil: none.
	lift *catalog.Drill
	// now are the facts of the request, and Facts derives those of another, which are given back after use. Nil:
	// client.Derive.
	now    *client.Facts
	derive func(*client.Request) *client.Facts
	// mayChange says which facts may be told otherwise than they are. Nil: all that a request can tell.
	mayChange func(p *client.Path, side int, known bool) bool
	// rising: a number that is known is only raised, nothing is taken off a list that is known, and every number is whole,
	// as people measure.
	rising bool
	// Changes is the most that may change, Nodes the most clients that are looked at, Sets the most that are returned.
	Changes, Nodes, Sets int
	// ranges asks of each number of a set from where to where it would do as well, which takes as long as the search.
	ranges bool
	// derivingCosts is how many more than one a client counts who must be derived anew.
	derivingCosts int
	// steps is the most that may be done besides, in atoms that are read or taken in: a client of a long condition, and a search
	// that is made for nothing, cost far more than one of a short. 0: no limit.
	steps int
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
	// all is true when no set of that many changes was missed, nor a smaller change of the same facts.
	all bool
	// least is true when it is proved that fewer changes don't do. A range that an age or a quiet joint lets presume, or a
	// rung, is no way out of its own: what can be told is told.
	least bool
	// spent is true when the nodes or the steps ran out, or nobody waits any more.
	spent bool
	nodes int // looked at
	steps int // taken
}

// ChangeSet is a client, and how they differ from the one of the search.
type ChangeSet struct {
	Edits []Edit // by path, side and word
	// size is how far the numbers move, each as a share of what its path spans; anything else counts 1. A number that
	// wasn't known moves from its least, or from what is usual of people.
	size float64
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
	// Least and Most: of numbers, what would do as well, the other changes made, where the search asks for ranges.
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
func Nearest(e *rules.Edition, q Search) Found {
	n, facts := newNearest(e, q)
	if q.now == nil {
		defer facts.Done()
	}
	found := n.search(facts)
	found.steps = n.taken
	return found
}

func (n *nearest) search(facts *client.Facts) Found {
	if n.spent { // what is demanded isn't known whole
		return Found{spent: true}
	}
	if n.refuted() {
		return Found{Existence: NoClient}
	}
	for changes := 0; ; changes++ {
		n.cut = false
		exact := !n.inexact
		n.from(facts, changes)
		sets := n.nearestSets()
		switch {
		case len(sets) > 0:
			return Found{Existence: Exists, Sets: sets, all: !n.spent && !n.inexact, least: exact, spent: n.spent, nodes: n.nodes}
		case n.spent || !n.cut && n.inexact:
			return Found{spent: n.spent, nodes: n.nodes}
		case !n.cut:
			return Found{Existence: NoClient, nodes: n.nodes}
		case changes == n.Changes && n.inexact:
			return Found{nodes: n.nodes}
		case changes == n.Changes:
			return Found{Existence: TooFar, nodes: n.nodes}
		}
	}
}
