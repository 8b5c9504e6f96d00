// Package compile judges every drill of a catalogue by every rule of a book for one client, in the time that the
// plain way takes for one drill. The technique, one idea a file, in the order to read:
//
//	literal.go   Negations are pushed down to the atoms. What is left is and and or over literals: monotone. So
//	             three truths need no arithmetic of their own: ask the two-valued question twice, first with every
//	             unknown literal true (possible), then with every unknown literal false (sure).
//	bits.go      A set of drills is a bitset. and, or and not of predicates are and, or and not of words.
//	layout.go    The bits: one for each drill's first row, then one for each second row of those that have one, so
//	             that a rule sees both rows in one pass and both are folded together by shifting nothing.
//	static.go    An atom over drill alone doesn't depend on the client: it is answered once, when the book is
//	             compiled. Equal atoms are shared across the book, and kept for the next book on this catalogue.
//	scalar.go    An atom over client, request, lift or norm alone doesn't depend on the drill: it is answered at most
//	             once a request and side, and a false one ends its rule before any bitset is touched.
//	tests.go     What a predicate asks of the client alone, packed: its literals side by side, each with where to go on.
//	pack.go      Which literal becomes which test, the cheap ones first.
//	preconditions.go
//	             What each rule asks of the client alone: one walk ends most rules before anything else of them is touched. The
//	             members of an any have theirs too (ahead, in step.go).
//	number.go    A drill's number against the client's: drills sorted by the number, and bitsets of all drills from a
//	             value up. The client's value picks one by binary search; rows between two bitsets are added one by one.
//	words.go     A drill's words against the client's: one bitset for each word, or-ed together.
//	list.go      The same the other way round: the client's words among the drill's.
//	kinds.go     What no index isolates is a closure, asked of the rows that are left, or once for each kind of row: rows
//	             that say the same of all it reads are of a kind.
//	step.go      What one predicate becomes: a tree of and and or over those four, and over closures for the rest.
//	build.go     Which atom becomes which.
//	narrow.go    Running it. A predicate narrows a set of drills in question; the cheapest part goes first, so a
//	             closure runs only for drills that everything before it has left.
//	judge.go     The book: bars first, in order; a drill that is barred is out of question for every later rule.
//	             Then the favours of what is left, for the drills whose points are asked. The right side is skipped for
//	             rules that read no side.
//	truths.go    The whole truth of every rule, for tests and measurements.
//	how.go       Which part of a rule became what, in words.
//	fault.go     A copy with a fault, for tests of the nets that are there to catch one.
//
// The package knows predicates and rows, not texts, files or words to people. The meaning of a predicate is that
// of package predicate; tests hold the two against each other.
package compile
