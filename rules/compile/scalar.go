package compile

import (
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// scalar is a predicate that no drill changes. The commonest, a fact or a number of the lift against a number written out and a yes-or-no,
// are looked up where they stand; the others are evaluated by their closures, once a request and side.
type scalar struct {
	form  scalarForm
	cmp   comparison // of a fact against k
	sided bool
	slot  int32
	id    int32 // index in a request's answers
	uses  int32 // by how many parts of the book
	k     float64
	node  *predicate.Node
}

type scalarForm uint8

const (
	evaluated scalarForm = iota
	factAgainst
	liftAgainst
	yesNo
)

type comparison uint8

const (
	above comparison = iota
	atLeast
	below
	atMost
	equal
)

var comparisons = map[string]comparison{">": above, ">=": atLeast, "<": below, "<=": atMost, "==": equal}

// scalar finds the one with the same meaning, or makes it.
func (b *builder) scalar(n *predicate.Node, sided bool) *scalar {
	key := n.Key()
	s, ok := b.scalars[key]
	if !ok {
		s = add(&b.scalarSlab, scalar{node: n, id: int32(len(b.scalars)), sided: sided})
		s.shorten(n)
		b.scalars[key] = s
	}
	s.uses++
	return s
}

// shorten recognises the forms that need no closure.
func (s *scalar) shorten(n *predicate.Node) {
	switch {
	case n.Op == predicate.Is && n.Ref.Root == predicate.OfFacts:
		s.form, s.slot = yesNo, int32(n.Ref.Slot)
	case n.Op == predicate.Compare && aFact(n.L) && n.R.Op == predicate.Const:
		s.form, s.slot, s.cmp, s.k = factAgainst, int32(n.L.Ref.Slot), comparisons[n.Cmp], n.R.K
	case n.Op == predicate.Compare && n.L.Op == predicate.Value && n.L.Ref.Root == predicate.OfLift && n.R.Op == predicate.Const:
		s.form, s.slot, s.cmp, s.k = liftAgainst, int32(n.L.Ref.Slot), comparisons[n.Cmp], n.R.K
	case n.Op == predicate.Compare && aFact(n.R) && n.L.Op == predicate.Const:
		s.form, s.slot, s.cmp, s.k = factAgainst, int32(n.R.Ref.Slot), comparisons[predicate.Turned[n.Cmp]], n.L.K
	}
}

func aFact(m *predicate.Num) bool {
	return m.Op == predicate.Value && m.Ref.Root == predicate.OfFacts
}

// twoFacts is true of their sum.
func twoFacts(m *predicate.Num) bool {
	return m.Op == predicate.Add && aFact(m.L) && aFact(m.R)
}

// slab gives out values that lie side by side in memory and never move.
type slab[T any] []T

func add[T any](s *slab[T], v T) *T {
	if len(*s) == cap(*s) {
		*s = make([]T, 0, 256)
	}
	*s = append(*s, v)
	return &(*s)[len(*s)-1]
}

// answered holds what a request has answered of the scalars of one side: 0 is not asked yet.
type answered []uint8

// asked answers a scalar on a side.
func (r *request) asked(s *scalar, side int) client.Truth {
	if !s.sided {
		side = 0
	}
	switch s.form {
	case factAgainst:
		return s.cmp.holds(r.numbers[side][s.slot], s.k)
	case liftAgainst:
		v := r.lift.Number(int(s.slot))
		return s.cmp.holds(client.Span{Lo: v, Hi: v}, s.k)
	case yesNo:
		return r.yesNos[side][s.slot]
	}
	had := &r.answers[side][s.id]
	if *had == 0 {
		*had = 1 | pair(r.readings[side].Eval(s.node))
	}
	return client.Truth{Possible: *had&2 != 0, Sure: *had&4 != 0}
}

func (c comparison) holds(s client.Span, k float64) client.Truth {
	switch c {
	case above:
		return client.Truth{Sure: s.Lo > k, Possible: s.Hi > k}
	case atLeast:
		return client.Truth{Sure: s.Lo >= k, Possible: s.Hi >= k}
	case below:
		return client.Truth{Sure: s.Hi < k, Possible: s.Lo < k}
	case atMost:
		return client.Truth{Sure: s.Hi <= k, Possible: s.Lo <= k}
	}
	return client.Truth{Sure: s.Lo == k && s.Hi == k, Possible: s.Lo <= k && k <= s.Hi}
}
