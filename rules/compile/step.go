package compile

// kind of a step, from the cheapest to run to the costliest: that is the order within an and or an or.
type kind uint8

const (
	always  kind = iota // every row, or none when denied
	scalars             // one answer for all rows
	statics             // a set made with the book
	number              // an index over a number of the drill
	words               // an index over words of the drill
	list                // the same, the other way round
	and                 // all kids
	or                  // some kid
	closure             // asked of the rows that are left, or of a row of each kind
)

// step is what a predicate, or a part of one, became. It is immutable and shared between requests, and small: a book
// has thousands, and a request walks through all of them.
type step struct {
	kind kind
	literal
	preconditions int32 // of and: how many kids, the first ones, no drill changes
	kids          []step
	what          any // *scalar, *static, an index, a *closureAtom or, of an or, ahead, by kind
}

// ahead is where, among the tests of the program, it begins what each kid of an or asks of the client alone, and where the
// last ends: most members of an any end there.
type ahead []int32

// next is the first kid from a place on that can hold; how many kids there are when none can.
func (a ahead) next(r *request, kid int) int {
	last := len(a) - 1
	at := r.tests.next(a[kid], a[last], &r.Asked, r.side)
	if at < 0 {
		return last
	}
	for a[kid+1] <= at {
		kid++
	}
	return kid
}

// index is what finds rows: an atom over a number or over words of the drill.
type index interface {
	// find sets t to the rows for which the atom can hold (upper) or must, and says whether that is one question.
	find(r *request, upper bool, t *term) (known bool)
}

func (s *step) scalar() *scalar { return s.what.(*scalar) }
func (s *step) set() set        { return s.what.(*static).set }

// precondition is the part of an and that is asked before any row.
func (s *step) precondition() []step { return s.kids[:s.preconditions] }

// rule is one rule of the book, ready to run.
type rule struct {
	Rule
	body step
	// sided is false when nothing it reads differs between the sides: the right side is then the left.
	sided bool
	// In the third run, the same as possible when the absence of everything it reads bars, and as sure when of nothing.
	firmIsPossible, firmIsSure bool
}
