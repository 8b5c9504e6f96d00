// Package analysis answers questions about a book and its edition, for the people who write it: is there a client for whom these rules
// hold and those can't, and which is nearest to a given one (nearest.go); what is hardly meant (lint.go); which clauses no case
// exercises (coverage.go), and a client who would (propose.go); what would open a drill that is closed (opening.go).
//
// All but coverage rest on one search. It changes one reported fact at a time, by the thresholds that the conditions cut, and proves
// what it says: no client, none within so many changes, or not decided. Whoever it finds is derived and judged from the start.
package analysis
