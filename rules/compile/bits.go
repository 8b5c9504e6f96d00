package compile

import (
	"iter"
	"math/bits"
)

// set is a set of rows, a bit each. Sets of one program have one length, or are cut to its first layer.
type set []uint64

func newSet(words int) set { return make(set, words) }

func (s set) add(i int)      { s[i>>6] |= 1 << (i & 63) }
func (s set) has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }

func (s set) empty() bool {
	for _, w := range s {
		if w != 0 {
			return false
		}
	}
	return true
}

func (s set) count() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// all yields the members in rising order.
func (s set) all() iter.Seq[int] {
	return func(yield func(int) bool) {
		for i, w := range s {
			for ; w != 0; w &= w - 1 {
				if !yield(i<<6 + bits.TrailingZeros64(w)) {
					return
				}
			}
		}
	}
}

// and keeps the members that the other has too, and says whether any are left.
func (s set) and(o set) bool {
	o = o[:len(s)]
	left := uint64(0)
	for i := range s {
		s[i] &= o[i]
		left |= s[i]
	}
	return left != 0
}

// or adds the members of the other.
func (s set) or(o set) {
	o = o[:len(s)]
	for i := range s {
		s[i] |= o[i]
	}
}

// without removes the members of the other, and says whether any are left.
func (s set) without(o set) bool {
	o = o[:len(s)]
	left := uint64(0)
	for i := range s {
		s[i] &^= o[i]
		left |= s[i]
	}
	return left != 0
}

// rest sets s to the members of a that b lacks, and says whether there are any.
func (s set) rest(a, b set) bool {
	a, b = a[:len(s)], b[:len(s)]
	left := uint64(0)
	for i := range s {
		s[i] = a[i] &^ b[i]
		left |= s[i]
	}
	return left != 0
}

// term is what an indexed atom holds for: the rows of plus that minus lacks, or all others. A nil plus has no
// rows, a nil minus takes none away.
type term struct {
	plus, minus set
	not         bool
}

// keep narrows s to the rows of a term, and says whether any are left.
func (s set) keep(t *term) bool {
	switch {
	case t.plus == nil && t.not:
		return true
	case t.plus == nil:
		clear(s)
		return false
	case t.minus == nil && t.not:
		return s.without(t.plus)
	case t.minus == nil:
		return s.and(t.plus)
	}
	plus, minus, flip := t.plus[:len(s)], t.minus[:len(s)], flipped(t.not)
	left := uint64(0)
	for i := range s {
		s[i] &= plus[i]&^minus[i] ^ flip
		left |= s[i]
	}
	return left != 0
}

// join adds to s those rows of another set that a term holds for.
func (s set) join(of set, t *term) {
	of = of[:len(s)]
	switch {
	case t.plus == nil && !t.not:
	case t.plus == nil:
		s.or(of)
	case t.minus == nil:
		plus, flip := t.plus[:len(s)], flipped(t.not)
		for i := range s {
			s[i] |= of[i] & (plus[i] ^ flip)
		}
	default:
		plus, minus, flip := t.plus[:len(s)], t.minus[:len(s)], flipped(t.not)
		for i := range s {
			s[i] |= of[i] & (plus[i]&^minus[i] ^ flip)
		}
	}
}

// joinSet adds to s what two sets share.
func (s set) joinSet(a, b set) {
	a, b = a[:len(s)], b[:len(s)]
	for i := range s {
		s[i] |= a[i] & b[i]
	}
}

func flipped(not bool) uint64 {
	if not {
		return ^uint64(0)
	}
	return 0
}
