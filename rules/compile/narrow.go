package compile

import (
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// request is one client's facts on their way through the book, with everything that running needs, so that a run
// allocates nothing. It serves one run at a time.
type request struct {
	Asked
	tests    *tests
	rows     []*predicate.Row     // of the catalogue, by index
	readings [2]predicate.Reading // of each side of the body
	answers  [2]answered
	spare    [2]set // for terms that no index keeps ready
	truths   []uint8
	pool     []set // of the or's, by depth
	depth    int

	found term // what an index found last
	side  int
	run   runOf
	// unsettled is set when a run meets a literal that is neither true nor false.
	unsettled bool
}

func newRequest(p *Program) *request {
	r := &request{tests: &p.ahead, rows: p.layout.rows}
	for side := range r.answers {
		r.answers[side] = make(answered, p.scalars)
		r.spare[side] = newSet(p.layout.words)
	}
	return r
}

// begin takes new facts.
func (r *request) begin(f *client.Facts, lift *predicate.Row) {
	for side := range r.readings {
		r.readings[side] = predicate.Read(f, side, nil, lift)
		clear(r.answers[side])
	}
	r.Asked.Begin(&r.readings)
}

// forget lets go of the facts.
func (r *request) forget() {
	r.readings = [2]predicate.Reading{}
	r.Asked.Forget()
}

// forWords is zeroed room for a truth for each word of a tag.
func (r *request) forWords(n int) []uint8 {
	if cap(r.truths) < n {
		r.truths = make([]uint8, n)
	}
	r.truths = r.truths[:n]
	clear(r.truths)
	return r.truths
}

// spares lends two sets of a length; they are given back by lowering depth.
func (r *request) spares(words int) (a, b set) {
	for len(r.pool) < r.depth+2 {
		r.pool = append(r.pool, newSet(len(r.spare[0])))
	}
	a, b = r.pool[r.depth][:words], r.pool[r.depth+1][:words]
	r.depth += 2
	return a, b
}

// open is whether all literals of a precondition hold.
func (r *request) open(gate []step) bool {
	for i := range gate {
		if !r.holds(&gate[i]) {
			return false
		}
	}
	return true
}

// holds answers a step that no drill changes.
func (r *request) holds(s *step) bool {
	t := client.Yes
	if s.kind == scalars {
		t = r.asked(s.scalar(), r.side)
	}
	r.unsettled = r.unsettled || t.Sure != t.Possible
	return s.literal.holds(t, r.run)
}

// ahead is whether what no drill changes lets a step hold at all: it is asked before any row is looked at.
func (r *request) ahead(s *step) bool {
	switch s.kind {
	case always, scalars:
		return r.holds(s)
	case and:
		if !r.open(s.precondition()) {
			return false
		}
		for i := int(s.preconditions); i < len(s.kids) && s.kids[i].kind <= number; i++ {
			if kid := &s.kids[i]; kid.kind == number && !kid.denied && kid.what.(*numberAtom).beyond(r, kid.upper(r.run)) {
				return false
			}
		}
	}
	return true
}

// narrowOpen is narrow for a step that is known to be open.
func (r *request) narrowOpen(s *step, rows set) bool {
	switch s.kind {
	case always, scalars:
		return true
	case and:
		return r.narrowAll(s, rows)
	}
	return r.narrow(s, rows)
}

// narrow keeps the rows for which a step holds, and says whether any are left.
func (r *request) narrow(s *step, rows set) bool {
	switch s.kind {
	case always, scalars, and:
		if !r.ahead(s) {
			clear(rows)
			return false
		}
		return r.narrowOpen(s, rows)
	case statics:
		return rows.and(s.set())
	case number, words, list:
		return rows.keep(r.find(s))
	case or:
		return r.narrowOr(s, rows)
	default:
		return r.ask(s, rows)
	}
}

// narrowAll keeps the rows for which all kids behind the precondition hold.
func (r *request) narrowAll(s *step, rows set) bool {
	for i := int(s.preconditions); i < len(s.kids); i++ {
		if !r.narrow(&s.kids[i], rows) {
			return false
		}
	}
	return true
}

// find sets found to the rows for which an indexed literal holds.
func (r *request) find(s *step) *term {
	t := &r.found
	known := s.what.(index).find(r, s.upper(r.run), t)
	r.unsettled = r.unsettled || !known
	t.not = t.not != s.denied
	return t
}

// narrowOr gathers the rows for which some kid holds. A kid that isn't a set is asked only of rows that no kid
// before it holds for.
func (r *request) narrowOr(s *step, rows set) bool {
	found, rest := r.spares(len(rows))
	defer r.release()
	clear(found)
	ahead, _ := s.what.(ahead)
	for i := 0; i < len(s.kids); i++ {
		if ahead != nil {
			if i = ahead.next(r, i); i == len(s.kids) {
				break
			}
		}
		kid := &s.kids[i]
		switch kid.kind {
		case always, scalars:
			if r.holds(kid) {
				return true
			}
		case statics:
			found.joinSet(rows, kid.set())
		case number, words, list:
			found.join(rows, r.find(kid))
		default:
			if !r.ahead(kid) {
				continue
			}
			if !rest.rest(rows, found) {
				return true // every row in question is found
			}
			if r.narrowOpen(kid, rest) {
				found.or(rest)
			}
		}
	}
	return rows.and(found)
}

func (r *request) release() { r.depth -= 2 }
