package analysis

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// constraint is a part of what is demanded, its negations pushed to the atoms: all of the kids, one of them, or an atom that
// must surely hold, or can't.
type constraint struct {
	op    predicate.Op // And, Or; else the atom's
	parts []*constraint

	atom    *predicate.Node
	reading int      // that the atom is asked of
	never   bool     // the atom must not be possible
	loose   bool     // it need only be possible or, with never, not be sure
	levers  leverSet // that bear on the atom
	opaque  bool     // something else bears on it too, which no request tells
}

// leverSet are levers, by their indexes, in order: at least one of them must be moved.
type leverSet []int

func (s leverSet) has(lever int) bool {
	_, ok := slices.BinarySearch(s, lever)
	return ok
}

// constraintOf makes the parts of a demand. A condition must hold on one of its rows, or can't hold on any.
func (n *nearest) constraintOf(d Demand, f *client.Facts) *constraint {
	rows, lift := []*predicate.Row{n.e.LiftRow(nil)}, n.e.LiftRow(n.lift)
	if d.drill != nil {
		if rows = n.e.Rows(d.drill); !d.bothRows && d.row == 0 {
			rows = rows[:1]
		}
	}
	all := &constraint{op: predicate.Or}
	if d.never {
		all.op = predicate.And
	}
	for i, row := range rows {
		if d.row == 0 || d.row == i+1 {
			all.parts = append(all.parts, n.constrain(d.when, n.reading(predicate.Read(f, d.side^i, row, lift)), d.never, d.loose))
		}
	}
	return all.short()
}

// reading is the index of a reading of a row on a side.
func (n *nearest) reading(rd predicate.Reading) int {
	same := func(had predicate.Reading) bool { return had.Side == rd.Side && had.Drill == rd.Drill }
	if index := slices.IndexFunc(n.readings, same); index >= 0 {
		return index
	}
	n.readings = append(n.readings, rd)
	return len(n.readings) - 1
}

func (n *nearest) constrain(c *predicate.Node, reading int, never, loose bool) *constraint {
	switch c.Op {
	case predicate.Not:
		return n.constrain(c.Kids[0], reading, !never, loose)
	case predicate.And, predicate.Or:
		w := &constraint{op: c.Op}
		if never {
			w.op = map[predicate.Op]predicate.Op{predicate.And: predicate.Or, predicate.Or: predicate.And}[c.Op]
		}
		for _, k := range c.Kids {
			w.parts = append(w.parts, n.constrain(k, reading, never, loose))
		}
		return w.short()
	}
	w := &constraint{op: c.Op, atom: c, reading: reading, never: never, loose: loose}
	if n.constant(c, reading) {
		if n.met(w) {
			return &constraint{op: predicate.And} // met whatever is told
		}
		return &constraint{op: predicate.Or} // nothing meets it
	}
	if n.step(1) {
		n.attach(w)
		n.step(attachingSteps * (1 + len(w.levers)))
	}
	return w
}

// constant is true of an atom that comes out alike for every client: it reads a drill or lift alone, or compares a number
// that the drill doesn't state.
func (n *nearest) constant(c *predicate.Node, reading int) bool {
	rd := &n.readings[reading]
	facts, unstated := false, false
	c.OwnRefs(func(r *predicate.Ref) {
		if r.Root == predicate.OfFacts {
			facts = facts || r.Name != "side"
		} else if r.Kind == client.Number {
			v := rd.Number(r).Lo
			unstated = unstated || math.IsNaN(v)
		}
	})
	return !facts || c.Op == predicate.Compare && unstated
}

// short drops kids that are met or can't be met whatever is told.
func (w *constraint) short() *constraint {
	var kids []*constraint
	for _, k := range w.parts {
		if k.atom == nil && len(k.parts) == 0 {
			if k.op == w.op {
				continue
			}
			return k // one met kid meets an or; one that can't be met spoils an and
		}
		kids = append(kids, k)
	}
	if len(kids) == 1 {
		return kids[0]
	}
	return &constraint{op: w.op, parts: kids}
}

// flat is a want as the list of what must all be met.
func (w *constraint) flat() []*constraint {
	if w.op != predicate.And || w.atom != nil {
		return []*constraint{w}
	}
	var all []*constraint
	for _, k := range w.parts {
		all = append(all, k.flat()...)
	}
	return all
}

func (n *nearest) met(w *constraint) bool {
	unmet := func(k *constraint) bool { return !n.met(k) }
	switch {
	case w.atom != nil:
		n.step(1)
		t := n.readings[w.reading].Eval(w.atom)
		if w.loose {
			return t.Possible && !w.never || !t.Sure && w.never
		}
		return t.Sure && !w.never || !t.Possible && w.never
	case w.op == predicate.And:
		return !slices.ContainsFunc(w.parts, unmet)
	}
	return slices.ContainsFunc(w.parts, n.met)
}

// wayOuts are the levers that bear on an unmet constraint: of an and, those of the unmet kid that has fewest.
func (n *nearest) wayOuts(w *constraint) leverSet {
	if w.atom != nil {
		var free leverSet
		for _, k := range w.levers {
			if !n.levers[k].frozen && n.levers[k].free {
				free = append(free, k)
			}
		}
		n.inexact = n.inexact || w.opaque
		return free
	}
	var best leverSet
	found := false
	for _, k := range w.parts {
		if w.op == predicate.And && n.met(k) {
			continue
		}
		o := n.wayOuts(k)
		if w.op == predicate.Or {
			best = append(best, o...)
		} else if !found || len(o) < len(best) {
			best, found = o, true
		}
	}
	if w.op == predicate.Or {
		slices.Sort(best)
		return slices.Compact(best)
	}
	return best
}

// refuted is true of parts that contradict each other by their form: an atom that must hold, and something that it must
// not hold for.
func (n *nearest) refuted() bool {
	atoms := map[readAtom][]*constraint{}
	for _, p := range n.constraints {
		if p.atom != nil {
			atoms[p.readAtom()] = append(atoms[p.readAtom()], p)
		}
	}
	return slices.ContainsFunc(n.constraints, func(w *constraint) bool { return w.against(atoms) })
}

// readAtom is an atom as one reading is asked it.
type readAtom struct {
	atom    *predicate.Node
	reading int
}

func (w *constraint) readAtom() readAtom { return readAtom{w.atom, w.reading} }

// against is whether a want can't be met beside some atoms.
func (w *constraint) against(atoms map[readAtom][]*constraint) bool {
	beside := func(k *constraint) bool { return k.against(atoms) }
	switch {
	case w.atom != nil:
		return slices.ContainsFunc(atoms[w.readAtom()], func(p *constraint) bool { return p.never != w.never && !(p.loose && w.loose) })
	case w.op == predicate.And:
		return slices.ContainsFunc(w.parts, beside)
	}
	return !slices.ContainsFunc(w.parts, func(k *constraint) bool { return !beside(k) })
}

// shape tells the parts of one search from those of another over the same atoms: two of one shape end alike.
func (n *nearest) shape() string {
	var b strings.Builder
	var write func(w *constraint)
	write = func(w *constraint) {
		fmt.Fprintf(&b, "(%d", w.op)
		if w.atom != nil {
			rd := &n.readings[w.reading]
			fmt.Fprintf(&b, " %p %d %t %t", w.atom, rd.Side, w.never, w.loose)
			if w.atom.Reads(func(r *predicate.Ref) bool { return r.Root != predicate.OfFacts }) {
				fmt.Fprintf(&b, " %p %p", rd.Drill, rd.Lift)
			}
		}
		for _, k := range w.parts {
			write(k)
		}
		b.WriteString(")")
	}
	for _, p := range n.constraints {
		write(p)
	}
	return b.String()
}
