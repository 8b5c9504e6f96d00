package predicate

import (
	"math/bits"
	"slices"
)

// need is something of the drill without which a predicate can't hold: a number that it must state, a word that it
// must have, a yes. It is cheap to look at, and most members of an unrolled any fail it: a drill travels few of all
// motions and loads few of all regions.
type need struct {
	kind needKind
	slot int32
}

type needKind uint8

const (
	nothing needKind = iota
	aNumber
	aWord
	aYes
)

func (n need) met(row *Row) bool {
	switch n.kind {
	case aNumber:
		return row.states(int(n.slot))
	case aWord:
		return len(row.Words(int(n.slot))) > 0
	case aYes:
		return row.Yes(int(n.slot))
	}
	return true
}

// needOf finds what a predicate needs of the drill.
func needOf(n *Node) need {
	switch n.Op {
	case And:
		for _, k := range n.Kids {
			if found := needOf(k); found.kind != nothing {
				return found
			}
		}
	case Compare:
		for _, m := range []*Num{n.L, n.R} {
			if slot, ok := m.mustState(); ok {
				return need{aNumber, int32(slot)}
			}
		}
	case Is:
		if n.Ref.Root == OfDrill {
			return need{aYes, int32(n.Ref.Slot)}
		}
	case Within:
		for _, w := range []*Words{n.A, n.B} {
			if w.Ref != nil && w.Ref.Root == OfDrill {
				return need{aWord, int32(w.Ref.Slot)}
			}
		}
	}
	return need{}
}

// mustState is a number of the drill without which this one is none: arithmetic with what isn't stated has no value.
func (m *Num) mustState() (slot int, ok bool) {
	switch m.Op {
	case Value:
		return m.Ref.Slot, m.Ref.Root == OfDrill
	case Add, Sub, Mul, Neg:
		for _, part := range []*Num{m.L, m.R} {
			if part == nil {
				continue
			}
			if slot, ok := part.mustState(); ok {
				return slot, true
			}
		}
	}
	return 0, false
}

// needsFirst puts the parts of an and that need something of the drill before the others: they are the cheapest to
// find false.
func needsFirst(kids []*Node) []*Node {
	out := slices.Clone(kids)
	slices.SortStableFunc(out, func(a, b *Node) int { return int(needRank(a)) - int(needRank(b)) })
	return out
}

func needRank(n *Node) int {
	if needOf(n).kind != nothing {
		return 0
	}
	return 1
}

// statedIn is a word of a row's stated numbers, and which of them members of an any need: one member each, in their order.
type statedIn struct {
	word  int
	mask  uint64
	first int // of the members
}

// statedBy is nil unless every member needs a number, each its own and in rising order.
func statedBy(needs []need) []statedIn {
	var list []statedIn
	for i, n := range needs {
		if n.kind != aNumber || i > 0 && n.slot <= needs[i-1].slot {
			return nil
		}
		if word := int(n.slot >> 6); i == 0 || list[len(list)-1].word != word {
			list = append(list, statedIn{word: word, first: i})
		}
		list[len(list)-1].mask |= 1 << (n.slot & 63)
	}
	return slices.Clip(list)
}

// by is the members whose number a row states.
func (s *statedIn) by(row *Row) uint64 {
	met := uint64(0)
	for stated := row.of.stated[int(row.at)*row.of.numberWords+s.word] & s.mask; stated != 0; stated &= stated - 1 {
		before := s.mask & (stated&-stated - 1)
		met |= 1 << (s.first + bits.OnesCount64(before))
	}
	return met
}
