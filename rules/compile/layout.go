package compile

import (
	"slices"

	"drillwright/rules/predicate"
)

// layout gives every row of every drill a place in a set. First rows come first, those of drills with two rows
// foremost; second rows follow from the next whole word on, each at its first row's place in the layer. So a second
// row is folded onto its drill word by word.
type layout struct {
	rows     []*predicate.Row // by index; nil where a layer ends before its last word does
	position []int32          // by drill
	drill    []int32          // by index in the first layer
	first    int              // words of the first layer
	words    int              // of both
	every    set              // all rows that there are
}

func newLayout(rows [][]*predicate.Row) *layout {
	l := &layout{position: make([]int32, len(rows)), first: (len(rows) + 63) / 64}
	for _, two := range []bool{true, false} {
		for d, r := range rows {
			if len(r) > 1 == two {
				l.position[d] = int32(len(l.drill))
				l.drill = append(l.drill, int32(d))
			}
		}
		if two {
			l.words = l.first + (len(l.drill)+63)/64
		}
	}
	l.rows, l.every = make([]*predicate.Row, l.words*64), newSet(l.words)
	for d, r := range rows {
		for layer, row := range r {
			at := layer*l.first*64 + int(l.position[d])
			l.rows[at] = row
			l.every.add(at)
		}
	}
	return l
}

// Drills is a set of the drills of a program.
type Drills struct {
	layout *layout
	first  set
}

// Drills are those of which something is true, given their indexes in the catalogue.
func (p *Program) Drills(are func(drill int) bool) Drills {
	d := Drills{p.layout, newSet(p.layout.first)}
	for at, drill := range p.layout.drill {
		if are(int(drill)) {
			d.first.add(at)
		}
	}
	return d
}

// Empty is true of a set without drills; the zero set is one.
func (d Drills) Empty() bool { return d.first.empty() }

// Has is whether a drill is among them.
func (d Drills) Has(drill int) bool {
	return d.layout != nil && d.first.has(int(d.layout.position[drill]))
}

// With are those and one more.
func (d Drills) With(drill int) Drills {
	more := Drills{d.layout, slices.Clone(d.first)}
	more.first.add(int(d.layout.position[drill]))
	return more
}

// Without are those that another set lacks.
func (d Drills) Without(o Drills) Drills {
	rest := Drills{d.layout, newSet(len(d.first))}
	rest.first.rest(d.first, o.first)
	return rest
}

// fold joins what holds of the first rows with what holds of the second ones: of drills on one side, where second
// rows load the other side of the body.
func (l *layout) fold(out, first, second set) {
	copy(out, first[:l.first])
	for i, w := range second[l.first:] {
		out[i] |= w
	}
}
