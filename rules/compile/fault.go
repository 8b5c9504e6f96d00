package compile

import (
	"math"
	"slices"
)

// Plant is a copy of the program with a fault, for tests of the nets that are there to catch one: in one number index,
// one that bars look into, every lookup lands one value too high. The drills with the value that was asked for are
// taken for their neighbours below, so that bars let some of them through. The index is that of a tag, or of "" the
// coarsest. It panics when no bar looks such a number up.
func (p *Program) Plant(tag string) *Program {
	victim := p.coarsest(tag)
	faulty := *victim
	faulty.values = append([]float64{math.Inf(-1)}, victim.values[:len(victim.values)-1]...)
	out := *p
	out.rules = slices.Clone(p.rules)
	for i := range out.rules {
		out.rules[i].body = out.rules[i].body.reading(victim, &faulty)
	}
	return &out
}

// coarsest is the number index of bars that has the most rows a value, where one value makes the most difference. With a
// tag only its index counts.
func (p *Program) coarsest(tag string) *numberIndex {
	read := map[*numberIndex]bool{}
	for _, i := range p.bars {
		p.rules[i].body.indexes(func(x *numberIndex) { read[x] = true })
	}
	best, name, most := (*numberIndex)(nil), "", 0
	for key, x := range p.numbers {
		if !read[x] || tag != "" && key != tag {
			continue
		}
		if n := len(x.rows) / len(x.values); n > most || n == most && key < name {
			best, name, most = x, key, n
		}
	}
	if best == nil {
		panic("no bar looks a number up: there is nothing to plant a fault in")
	}
	return best
}

// indexes visits the number index of each literal that has one with rows.
func (s *step) indexes(visit func(*numberIndex)) {
	if a, ok := s.what.(*numberAtom); ok && len(a.index.values) > 0 {
		visit(a.index)
	}
	for i := range s.kids {
		s.kids[i].indexes(visit)
	}
}

// reading is a step that looks into another index.
func (s step) reading(index, instead *numberIndex) step {
	if a, ok := s.what.(*numberAtom); ok && a.index == index {
		atom := *a
		atom.lookInto(instead)
		s.what = &atom
	}
	s.kids = slices.Clone(s.kids)
	for i := range s.kids {
		s.kids[i] = s.kids[i].reading(index, instead)
	}
	return s
}
