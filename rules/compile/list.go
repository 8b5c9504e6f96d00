package compile

import (
	"drillwright/rules/predicate"
)

// listAtom asks whether words of the client, or of the lift, are among the words of a drill.
type listAtom struct {
	index  *wordIndex
	list   *predicate.Words
	form   listForm
	denied bool // of each word: it must not be among the drill's
	sided  bool
	node   *predicate.Node
}

type listForm uint8

const (
	anyOf  listForm = iota // some word is
	allOf                  // all words are
	wordIs                 // possible when some is, sure when there is one and all are: a word in a drill's list
)

// listAtom isolates the drill's words on the other side of "in"; nil when the atom isn't of that form.
func (b *builder) listAtom(n *predicate.Node, sided bool) *listAtom {
	switch {
	case n.Op == predicate.Within && noDrill(n.A) && ofDrill(n.B):
		return &listAtom{index: b.words(n.B.Ref), list: n.A, form: wordIs, sided: sided, node: n}
	case n.Op == predicate.Has && noDrill(n.List) && (n.Quant != "count" && n.Least == 1):
		in, denied := lookup(n.Body)
		if in == nil || !ofDrill(in) {
			return nil
		}
		a := &listAtom{index: b.words(in.Ref), list: n.List, denied: denied, sided: sided, node: n}
		if n.Quant == "all" {
			a.form = allOf
		}
		return a
	}
	return nil
}

func (a *listAtom) find(r *request, upper bool, t *term) (known bool) {
	side := r.side
	if !a.sided {
		side = 0
	}
	list := r.readings[side].Words(a.list)
	switch {
	case a.form == wordIs && upper:
		*t = term{plus: a.some(r, list.Possible)}
	case a.form == wordIs && len(list.Possible) == 0:
		*t = term{}
	case a.form == wordIs:
		*t = a.all(r, list.Possible)
	case a.form == allOf:
		*t = a.all(r, end(list, !upper)) // what all of them must satisfy grows with the list
	case a.denied: // some word isn't among the drill's: not all are
		*t = a.all(r, end(list, upper))
		t.not = !t.not
	default:
		*t = term{plus: a.some(r, end(list, upper))}
	}
	return len(list.Sure) == len(list.Possible)
}

// some is the rows that have one of the words.
func (a *listAtom) some(r *request, words []string) set {
	found := r.spare[0]
	clear(found)
	for _, w := range words {
		if id, ok := a.index.ids[w]; ok {
			a.index.addTo(found, int32(id))
		}
	}
	return found
}

// all is the rows that have each of the words; under denied in allOf, that have none.
func (a *listAtom) all(r *request, words []string) term {
	if a.denied && a.form == allOf {
		return term{plus: a.some(r, words), not: true}
	}
	lacking := r.spare[0] // rows that lack one of the words
	clear(lacking)
	for _, w := range words {
		id, ok := a.index.ids[w]
		if !ok {
			return term{}
		}
		has := r.spare[1]
		clear(has)
		a.index.addTo(has, id)
		for i := range lacking {
			lacking[i] |= ^has[i]
		}
	}
	return term{plus: lacking, not: true}
}
