package predicate

import (
	"slices"

	"drillwright/rules/client"
)

// truthFunc and spanFunc are a predicate and a number turned into native code: paths are slots, nothing is
// looked up, nothing is allocated.
type (
	truthFunc func(*Reading) client.Truth
	spanFunc  func(*Reading) client.Span
)

// Seal makes a predicate ready to be evaluated. It is called by its reader, before anyone else sees it; what is sealed
// already is left as it is.
func (n *Node) Seal() *Node {
	if n.truth != nil {
		return n
	}
	for _, k := range n.Kids {
		k.Seal()
	}
	if n.Body != nil {
		n.Body.Seal()
	}
	for _, m := range []*Num{n.L, n.R} {
		if m != nil {
			m.Seal()
		}
	}
	n.barsUnknown = n.BarsWhenUnknown()
	n.truth = n.closure()
	return n
}

func (n *Node) closure() truthFunc {
	switch n.Op {
	case And:
		return n.and()
	case Or:
		return n.or()
	case Not:
		kid := n.Kids[0].truth
		return func(r *Reading) client.Truth { return opposite(kid(r)) }
	case Compare:
		return n.compare()
	case Within:
		return n.within()
	case Is:
		return n.is()
	case Has:
		return n.has()
	case Measured:
		index := n.Ref.Index
		return func(r *Reading) client.Truth {
			known := r.status[index] == client.Measured
			return client.Truth{Sure: known, Possible: known}
		}
	default:
		return func(*Reading) client.Truth { return client.Yes }
	}
}

func (n *Node) and() truthFunc {
	kids := closures(needsFirst(n.Kids))
	if len(kids) == 2 {
		first, second := kids[0], kids[1]
		return func(r *Reading) client.Truth {
			t := first(r)
			if t.Possible {
				t = both(t, second(r))
			}
			return t
		}
	}
	return func(r *Reading) client.Truth {
		t := client.Yes
		for _, k := range kids {
			if t = both(t, k(r)); !t.Possible {
				break
			}
		}
		return t
	}
}

func (n *Node) or() truthFunc {
	kids, unrolled := closures(n.Kids), n.Domain != ""
	needs := make([]need, len(kids))
	for i, k := range n.Kids {
		needs[i] = needOf(k)
	}
	if len(kids) == 2 && !unrolled && !readsDrill(n) {
		first, second := kids[0], kids[1]
		return func(r *Reading) client.Truth {
			t := first(r)
			if !t.Sure {
				t = either(t, second(r))
			}
			return t
		}
	}
	if unrolled && len(kids) <= maxMembers {
		return n.anyMember(kids, needs)
	}
	return func(r *Reading) client.Truth {
		if unrolled && r.Only >= 0 {
			return kids[r.Only](r)
		}
		t := client.No
		for i := range needs {
			if !needs[i].met(r.Drill) {
				continue
			}
			if t = either(t, kids[i](r)); t.Sure {
				break
			}
		}
		return t
	}
}

func closures(nodes []*Node) []truthFunc {
	out := make([]truthFunc, len(nodes))
	for i, k := range nodes {
		out[i] = k.truth
	}
	return out
}

func (n *Node) is() truthFunc {
	slot := n.Ref.Slot
	switch n.Ref.Root {
	case OfFacts:
		return func(r *Reading) client.Truth { return r.truths[slot] }
	case OfDrill:
		return func(r *Reading) client.Truth { return known(r.Drill.Yes(slot)) }
	default:
		return func(r *Reading) client.Truth { return known(r.Lift.Yes(slot)) }
	}
}

func known(t bool) client.Truth { return client.Truth{Sure: t, Possible: t} }

// compare: true for sure when it holds for every value of both spans, possible when for some. A number that is
// not stated makes every comparison false, so the right side needn't be read.
func (n *Node) compare() truthFunc {
	switch {
	case n.R.Op == Const && n.L.Op == Value && n.L.Ref.Root == OfFacts:
		return against(n.L.Ref.Slot, n.Cmp, n.R.K)
	case n.L.Op == Const && n.R.Op == Value && n.R.Ref.Root == OfFacts:
		return against(n.R.Ref.Slot, Turned[n.Cmp], n.L.K)
	}
	left, right, holds := n.L.span, n.R.span, comparisons[n.Cmp]
	if m := n.L; m.Op == Value && m.Ref.Root == OfDrill {
		slot := m.Ref.Slot
		return func(r *Reading) client.Truth {
			v := r.Drill.Number(slot)
			if v != v {
				return client.No
			}
			return holds(client.Span{Lo: v, Hi: v}, right(r))
		}
	}
	return func(r *Reading) client.Truth { return holds(left(r), right(r)) }
}

// Turned is a comparison read from the right.
var Turned = map[string]string{">": "<", ">=": "<=", "<": ">", "<=": ">=", "==": "=="}

// against compares a fact with a number written out: the commonest atom has the shortest code.
func against(slot int, cmp string, k float64) truthFunc {
	switch cmp {
	case ">":
		return func(r *Reading) client.Truth {
			s := r.numbers[slot]
			return client.Truth{Sure: s.Lo > k, Possible: s.Hi > k}
		}
	case ">=":
		return func(r *Reading) client.Truth {
			s := r.numbers[slot]
			return client.Truth{Sure: s.Lo >= k, Possible: s.Hi >= k}
		}
	case "<":
		return func(r *Reading) client.Truth {
			s := r.numbers[slot]
			return client.Truth{Sure: s.Hi < k, Possible: s.Lo < k}
		}
	case "<=":
		return func(r *Reading) client.Truth {
			s := r.numbers[slot]
			return client.Truth{Sure: s.Hi <= k, Possible: s.Lo <= k}
		}
	}
	return func(r *Reading) client.Truth {
		s := r.numbers[slot]
		return client.Truth{Sure: s.Lo == k && s.Hi == k, Possible: s.Lo <= k && k <= s.Hi}
	}
}

var comparisons = map[string]func(l, r client.Span) client.Truth{
	">":  func(l, r client.Span) client.Truth { return client.Truth{Sure: l.Lo > r.Hi, Possible: l.Hi > r.Lo} },
	">=": func(l, r client.Span) client.Truth { return client.Truth{Sure: l.Lo >= r.Hi, Possible: l.Hi >= r.Lo} },
	"<":  func(l, r client.Span) client.Truth { return client.Truth{Sure: l.Hi < r.Lo, Possible: l.Lo < r.Hi} },
	"<=": func(l, r client.Span) client.Truth { return client.Truth{Sure: l.Hi <= r.Lo, Possible: l.Lo <= r.Hi} },
	"==": func(l, r client.Span) client.Truth {
		return client.Truth{Sure: l.Known() && r.Known() && l.Lo == r.Lo, Possible: l.Lo <= r.Hi && r.Lo <= l.Hi}
	},
}

// within: possible when some possible word is a possible member, sure when every possible word is a sure one.
func (n *Node) within() truthFunc {
	a, b := n.A, n.B
	switch {
	case a.Element && b.Ref != nil && b.Ref.Root == OfFacts:
		slot, all := b.Ref.Slot, b.Ref.Path.Words
		return func(r *Reading) client.Truth { return member(r.element[0], r.sets[slot], all) }
	case len(a.Literal) == 1 && b.Ref != nil && b.Ref.Root == OfFacts:
		word, slot, all := a.Literal[0], b.Ref.Slot, b.Ref.Path.Words
		return func(r *Reading) client.Truth { return member(word, r.sets[slot], all) }
	case a.Element && b.Ref != nil && b.Ref.Root == OfDrill:
		slot := b.Ref.Slot
		return func(r *Reading) client.Truth { return known(slices.Contains(r.Drill.Words(slot), r.element[0])) }
	case len(a.Literal) == 1 && b.Ref != nil && b.Ref.Root == OfDrill:
		word, slot := a.Literal[0], b.Ref.Slot
		return func(r *Reading) client.Truth { return known(slices.Contains(r.Drill.Words(slot), word)) }
	case a.Ref != nil && a.Ref.Root == OfDrill && b.Ref == nil && !b.Element:
		slot, words := a.Ref.Slot, b.Literal
		return func(r *Reading) client.Truth {
			had := r.Drill.Words(slot)
			if len(had) == 1 {
				return known(slices.Contains(words, had[0]))
			}
			return among(had, words, words)
		}
	case a.Ref != nil && a.Ref.Root == OfFacts && b.Ref == nil && !b.Element:
		slot, words := a.Ref.Slot, b.Literal
		return func(r *Reading) client.Truth { return among(r.sets[slot].Possible, words, words) }
	case a.Element && b.Ref == nil && !b.Element:
		words := b.Literal
		return func(r *Reading) client.Truth { return known(slices.Contains(words, r.element[0])) }
	}
	return func(r *Reading) client.Truth {
		had := r.Words(a)
		in := r.Words(b)
		return among(had.Possible, in.Sure, in.Possible)
	}
}

// among is whether words, of which one or some are meant, are in a list of sure and possible members.
func among(words, sure, possible []string) client.Truth {
	t := client.Truth{Sure: len(words) > 0}
	for _, w := range words {
		t.Possible = t.Possible || slices.Contains(possible, w)
		t.Sure = t.Sure && slices.Contains(sure, w)
	}
	return t
}

// member is whether a word is in a list of the client. A list of which nothing is known holds every word that it
// can have, and none for sure; that one is told by its backing array, without looking for the word.
func member(word string, list client.Set, all []string) client.Truth {
	if len(list.Possible) == len(all) && len(all) > 0 && &list.Possible[0] == &all[0] {
		return client.Truth{Sure: slices.Contains(list.Sure, word), Possible: slices.Contains(all, word)}
	}
	if !slices.Contains(list.Possible, word) {
		return client.No
	}
	return client.Truth{Sure: slices.Contains(list.Sure, word), Possible: true}
}

// has: any and count go over the sure members for sure and over the possible ones for possible; all goes over the
// possible members for sure, and over the sure ones for possible.
func (n *Node) has() truthFunc {
	list, body, least := n.List, n.Body.truth, int(n.Least)
	held := func(r *Reading, members []string, sure bool) int {
		count := 0
		for _, m := range members {
			r.element[0] = m
			if t := body(r); sure && t.Sure || !sure && t.Possible {
				count++
			}
		}
		return count
	}
	if n.Quant == "all" {
		return func(r *Reading) client.Truth {
			l := r.Words(list)
			return client.Truth{Sure: held(r, l.Possible, true) == len(l.Possible), Possible: held(r, l.Sure, false) == len(l.Sure)}
		}
	}
	return func(r *Reading) client.Truth {
		l := r.Words(list)
		return client.Truth{Sure: held(r, l.Sure, true) >= least, Possible: held(r, l.Possible, false) >= least}
	}
}
