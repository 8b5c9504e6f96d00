package compile

import (
	"drillwright/rules/condition"
)

// kind of a step, from the cheapest to run to the dearest: that is the order within an and or an or.
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
	closure             // asked row by row, of those that are left
)

// step is what a condition, or a part of one, became. It is immutable and shared between requests.
type step struct {
	kind kind
	literal
	kids   []step
	gates  int             // of and: how many kids, the first ones, no drill changes
	set    set             // of statics, the denial worked in
	scalar *scalar         // of scalars
	number *numberAtom     // of number
	words  *wordAtom       // of words
	list   *listAtom       // of list
	node   *condition.Node // what the step stands for; of closure, what is asked
}

// gate is the part of an and that is asked before any row.
func (s *step) gate() []step { return s.kids[:s.gates] }

// rule is one rule of the book, ready to run.
type rule struct {
	Rule
	body step
	// sided is false when nothing it reads differs between the sides: the right side is then the left.
	sided bool
	// In the third run, the same as possible when the absence of everything it reads bars, and as sure when of nothing.
	firmIsPossible, firmIsSure bool
}
