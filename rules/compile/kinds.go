package compile

import (
	"slices"
	"strings"

	"drillwright/rules/predicate"
)

// closureAtom is an atom over drill and request that no index isolates. Its closure is asked of each row that is left;
// or, where fewer, once for each kind of row: rows of which it reads the same values are alike to it, so a row of each
// kind answers for all.
type closureAtom struct {
	node  *predicate.Node
	kinds *kinds // nil when nearly every row is of a kind of its own
}

// kinds are the rows of a catalogue by some of their tags.
type kinds struct {
	index *wordIndex // without words: ids are kinds
	one   []int32    // a row of each
}

func (b *builder) closureAtom(n *predicate.Node) *closureAtom {
	refs := drillRefs(n)
	var names []string
	for _, ref := range refs {
		names = append(names, ref.Name)
	}
	key := strings.Join(names, " ")
	k, ok := b.kindsBy[key]
	if !ok {
		if b.before != nil {
			k = b.before.kindsBy[key]
		}
		if k == nil {
			k = newKinds(b.layout, refs)
		}
		b.kindsBy[key] = k
	}
	return &closureAtom{node: n, kinds: k}
}

// drillRefs are the drill's paths that an atom reads, each once, by name.
func drillRefs(n *predicate.Node) []*predicate.Ref {
	var refs []*predicate.Ref
	n.Refs(func(r *predicate.Ref) {
		if r.Root == predicate.OfDrill && !slices.ContainsFunc(refs, func(had *predicate.Ref) bool { return had.Name == r.Name }) {
			refs = append(refs, r)
		}
	})
	slices.SortFunc(refs, func(a, b *predicate.Ref) int { return strings.Compare(a.Name, b.Name) })
	return refs
}

func newKinds(l *layout, refs []*predicate.Ref) *kinds {
	ids := map[string]int32{}
	var rows [][]int32
	var buf []byte
	for at := range l.every.all() {
		buf = buf[:0]
		for _, ref := range refs {
			buf = l.rows[at].AppendValue(buf, ref)
		}
		id, ok := ids[string(buf)]
		if !ok {
			id = int32(len(rows))
			ids[string(buf)], rows = id, append(rows, nil)
		}
		rows[id] = append(rows[id], int32(at))
	}
	if len(rows)*4 > l.every.count() {
		return nil
	}
	k := &kinds{index: packWords(l, rows), one: make([]int32, len(rows))}
	for id, list := range rows {
		k.one[id] = list[0]
	}
	return k
}

// ask keeps the rows for which a closure holds.
func (r *request) ask(s *step, rows set) bool {
	a := s.what.(*closureAtom)
	if a.kinds != nil && rows.count() > len(a.kinds.one) {
		return r.askKinds(s, a, rows)
	}
	return r.askRows(s, a.node, rows)
}

// askKinds asks once for each kind.
func (r *request) askKinds(s *step, a *closureAtom, rows set) bool {
	found := r.spare[0]
	clear(found)
	for id, at := range a.kinds.one {
		if r.holdsFor(s, a.node, int(at)) {
			a.kinds.index.addTo(found, int32(id))
		}
	}
	return rows.and(found)
}

// askRows asks for each row.
func (r *request) askRows(s *step, n *predicate.Node, rows set) bool {
	for at := range rows.all() {
		if !r.holdsFor(s, n, at) {
			rows[at>>6] &^= 1 << (at & 63)
		}
	}
	return !rows.empty()
}

func (r *request) holdsFor(s *step, n *predicate.Node, at int) bool {
	reading := &r.readings[r.side]
	reading.Drill = r.rows[at]
	t := reading.Eval(n)
	r.unsettled = r.unsettled || t.Sure != t.Possible
	return s.literal.holds(t, r.run)
}
