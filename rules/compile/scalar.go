package compile

import (
	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// scalar is a condition that no drill changes.
type scalar struct {
	node  *condition.Node
	id    int // place in a request's answers
	sided bool
	uses  int // by how many parts of the book
}

// scalar finds the one with the same meaning, or makes it.
func (b *builder) scalar(n *condition.Node, sided bool) *scalar {
	key := n.Key()
	s, ok := b.scalars[key]
	if !ok {
		s = &scalar{node: n, id: len(b.scalars), sided: sided}
		b.scalars[key] = s
	}
	s.uses++
	return s
}

// answered holds what a request has answered of the scalars of one side: 0 is not asked yet.
type answered []uint8

// asked answers a scalar on a side, at most once a request.
func (r *request) asked(s *scalar, side int) client.Truth {
	if !s.sided {
		side = 0
	}
	had := &r.answers[side][s.id]
	if *had == 0 {
		t := r.readings[side].Eval(s.node)
		*had = 1
		if t.Possible {
			*had |= 2
		}
		if t.Sure {
			*had |= 4
		}
	}
	return client.Truth{Possible: *had&2 != 0, Sure: *had&4 != 0}
}
