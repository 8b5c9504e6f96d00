package compile

import (
	"crypto/sha256"

	"drillwright/rules/predicate"
)

// digest stands for the key of a predicate: a book has thousands, and they are long.
type digest [16]byte

// static is a predicate over drill alone with the rows for which it holds, its denials worked in.
type static struct {
	set  set
	node *predicate.Node
}

// static answers a predicate over drill alone for every row, once.
func (b *builder) static(n *predicate.Node) set {
	sum := sha256.Sum256([]byte(n.Key()))
	key := digest(sum[:16])
	if s, ok := b.kept(key); ok {
		return s
	}
	s := newSet(b.layout.words)
	r := predicate.Read(nil, 0, nil, nil)
	for at := range b.layout.every.all() {
		r.Drill = b.layout.rows[at]
		if r.Eval(n).Sure {
			s.add(at)
		}
	}
	b.statics[key] = s
	return s
}

// kept finds a set that was made for this book or, from the same catalogue, for the one before it.
func (b *builder) kept(key digest) (set, bool) {
	if s, ok := b.statics[key]; ok {
		return s, true
	}
	if b.before != nil {
		if s, ok := b.before.statics[key]; ok {
			b.statics[key] = s
			return s, true
		}
	}
	return nil, false
}
