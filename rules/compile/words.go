package compile

import (
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// wordIndex has the rows of each word that a tag has somewhere in the catalogue: a set for a common word, a stretch of
// one list for a rare one.
type wordIndex struct {
	ids    map[string]int32
	common []set   // by id; nil for a rare word
	rare   []int32 // rows of the rare words, word by word
	starts []int32 // of each id in rare; one more ends the last
}

// words finds or makes the index of a tag.
func (b *builder) words(ref *predicate.Ref) *wordIndex {
	if x, ok := b.tags[ref.Name]; ok {
		return x
	}
	x := b.before.wordIndex(ref.Name)
	if x == nil {
		x = newWordIndex(b.layout, ref.Slot)
	}
	b.tags[ref.Name] = x
	return x
}

func newWordIndex(l *layout, slot int) *wordIndex {
	ids := map[string]int32{}
	var rows [][]int32
	for at := range l.every.all() {
		for _, w := range l.rows[at].Words(slot) {
			id, ok := ids[w]
			if !ok {
				id = int32(len(rows))
				ids[w], rows = id, append(rows, nil)
			}
			rows[id] = append(rows[id], int32(at))
		}
	}
	x := packWords(l, rows)
	x.ids = ids
	return x
}

// packWords keeps the rows of each id: of many as a set, of few in the list.
func packWords(l *layout, rows [][]int32) *wordIndex {
	x := &wordIndex{common: make([]set, len(rows)), starts: make([]int32, len(rows)+1)}
	for id, list := range rows {
		if len(list) > l.words {
			x.common[id] = newSet(l.words)
			for _, at := range list {
				x.common[id].add(int(at))
			}
		} else {
			x.rare = append(x.rare, list...)
		}
		x.starts[id+1] = int32(len(x.rare))
	}
	return x
}

// addTo adds the rows of a word to a set.
func (x *wordIndex) addTo(s set, id int32) {
	if x.common[id] != nil {
		s.or(x.common[id])
	}
	for _, at := range x.rare[x.starts[id]:x.starts[id+1]] {
		s.add(int(at))
	}
}

// wordAtom asks of a drill's words whether some of them, or all, satisfy something that no drill changes.
type wordAtom struct {
	index *wordIndex
	every bool // all words; else some word
	// in is the list that the words are looked up in; denied: they must not be in it. Without in, body is evaluated
	// with # standing for each word.
	in     *predicate.Words
	denied bool
	body   *predicate.Node
	sided  bool
	node   *predicate.Node
}

// wordAtom isolates the drill's words; nil when the atom isn't of that form.
func (b *builder) wordAtom(n *predicate.Node, sided bool) *wordAtom {
	switch {
	case n.Op == predicate.Within && ofDrill(n.A) && n.A.Ref.Kind == client.Word && noDrill(n.B):
		return &wordAtom{index: b.words(n.A.Ref), in: n.B, sided: sided, node: n}
	case n.Op == predicate.Has && ofDrill(n.List) && n.Quant != "count" && !readsDrill(n.Body):
		a := &wordAtom{index: b.words(n.List.Ref), every: n.Quant == "all", body: n.Body, sided: sided, node: n}
		if in, denied := lookup(n.Body); in != nil && in.Literal == nil {
			a.in, a.denied, a.body = in, denied, nil
		}
		return a
	}
	return nil
}

// lookup recognises "# in list" and its denial.
func lookup(n *predicate.Node) (in *predicate.Words, denied bool) {
	for n.Op == predicate.Not {
		n, denied = n.Kids[0], !denied
	}
	if n.Op == predicate.Within && n.A.Element && !n.B.Element {
		return n.B, denied
	}
	return nil, false
}

func ofDrill(w *predicate.Words) bool { return w.Ref != nil && w.Ref.Root == predicate.OfDrill }
func noDrill(w *predicate.Words) bool { return !w.Element && !ofDrill(w) }

func readsDrill(n *predicate.Node) bool {
	return n.Reads(func(r *predicate.Ref) bool { return r.Root == predicate.OfDrill })
}

// term is the rows for which the atom can hold (upper) or must. Some word does: the union of the rows of those that
// do. All words do: all rows but those of the words that don't; a row without words is among them.
func (a *wordAtom) find(r *request, upper bool, t *term) (known bool) {
	side := r.side
	if !a.sided {
		side = 0
	}
	found := r.spare[0]
	clear(found)
	if a.in != nil && !a.denied && !a.every {
		list := r.readings[side].Words(a.in)
		for _, w := range end(list, upper) {
			if id, ok := a.index.ids[w]; ok {
				a.index.addTo(found, int32(id))
			}
		}
		*t = term{plus: found}
		return len(list.Sure) == len(list.Possible)
	}
	truths, known := a.truths(r, side)
	for id, can := range truths {
		if holds := can&2 != 0 && upper || can&4 != 0; holds != a.every {
			a.index.addTo(found, int32(id))
		}
	}
	*t = term{plus: found, not: a.every}
	return known
}

func end(s client.Set, upper bool) []string {
	if upper {
		return s.Possible
	}
	return s.Sure
}

// truths answers for each word of the tag: 2 when it can satisfy the atom, 4 when it must.
func (a *wordAtom) truths(r *request, side int) (truths []uint8, known bool) {
	reading := &r.readings[side]
	truths = r.forWords(len(a.index.common))
	if a.in == nil {
		known = true
		for w, id := range a.index.ids {
			t := reading.EvalOn(a.body, w)
			truths[id] = pair(t)
			known = known && t.Sure == t.Possible
		}
		return truths, known
	}
	list := reading.Words(a.in)
	a.mark(truths, list.Possible, 2)
	a.mark(truths, list.Sure, 4)
	if a.denied {
		for id, t := range truths {
			truths[id] = pair(client.Truth{Possible: t&4 == 0, Sure: t&2 == 0})
		}
	}
	return truths, len(list.Sure) == len(list.Possible)
}

func (a *wordAtom) mark(truths []uint8, words []string, bit uint8) {
	for _, w := range words {
		if id, ok := a.index.ids[w]; ok {
			truths[id] |= bit
		}
	}
}

func pair(t client.Truth) uint8 {
	b := uint8(0)
	if t.Possible {
		b |= 2
	}
	if t.Sure {
		b |= 4
	}
	return b
}
