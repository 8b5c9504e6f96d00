package compile

import (
	"math"
	"slices"

	"drillwright/rules/predicate"
)

// packer packs predicates as tests.
type packer struct {
	tests
	constants map[float64]uint32 // indexes
}

func newPacker() packer { return packer{constants: map[float64]uint32{}} }

// add packs a predicate, and says where it begins.
func (p *packer) add(j joint) int32 {
	at := int32(len(p.list))
	p.joint(j.packable(), holding, failing)
	return at
}

// follow packs a predicate of several that are walked one after the other: where it can't hold, it goes on after its end.
func (p *packer) follow(j joint) int32 {
	j = j.packable()
	at := int32(len(p.list))
	p.joint(j, holding, at+int32(j.literals()))
	return at
}

// packable is a joint in the order to ask it; as a closure when its jumps would be too far.
func (j joint) packable() joint {
	j = j.gathered().cheapFirst()
	if j.literals() < math.MaxInt16 {
		return j
	}
	n := j.node()
	return joint{op: n.Op, atom: n}
}

// joint appends the tests of a joint; yes and no are where to go on after it.
func (p *packer) joint(j joint, yes, no int32) {
	if j.atom != nil {
		p.literal(j, yes, no)
		return
	}
	for i, k := range j.kids {
		next := int32(len(p.list) + k.literals())
		switch {
		case i == len(j.kids)-1:
			p.joint(k, yes, no)
		case j.op == predicate.And:
			p.joint(k, next, no)
		default:
			p.joint(k, yes, next)
		}
	}
}

func (p *packer) literal(j joint, yes, no int32) {
	x, n := test{denied: j.denied, form: byClosure}, j.atom
	s := scalar{}
	s.shorten(n)
	words, list := j.someWord()
	switch {
	case s.form == factAgainst && s.cmp != equal:
		p.against(&x, &s, aboveConstant, belowConstant)
	case s.form == liftAgainst && s.cmp != equal:
		p.against(&x, &s, liftAbove, liftBelow)
	case s.form == yesNo:
		x.form, x.slot = aYesNo, uint32(s.slot)
	case n.Op == predicate.Is && n.Ref.Root == predicate.OfLift:
		x.form, x.slot = liftYes, uint32(n.Ref.Slot)
	case list != nil:
		x.form, x.slot = someWord, uint32(len(p.words))
		p.lookFor(words, list)
	case !j.denied && n.Op == predicate.Compare && n.R.Op == predicate.Const && (n.Cmp == "<" || n.Cmp == "<=") && twoFacts(n.L):
		x.form, x.slot = sumBelow, uint32(len(p.sums))
		p.sums = append(p.sums, sum{uint32(n.L.L.Ref.Slot), uint32(n.L.R.Ref.Slot), strict(comparisons[n.Cmp], n.R.K)})
	default:
		x.slot = uint32(len(p.nodes))
		p.nodes = append(p.nodes, n)
	}
	x.yes, x.no = p.jump(yes), p.jump(no)
	p.list = append(p.list, x)
}

// against is a number against one that is written out. What can hold hangs on the end that is nearer to it, what is denied on
// the other.
func (p *packer) against(x *test, s *scalar, up, down testForm) {
	x.slot, x.form = uint32(s.slot), up
	if s.cmp == below || s.cmp == atMost {
		x.form = down
	}
	x.low = (x.form == down) != x.denied
	k := strict(s.cmp, s.k)
	place, ok := p.constants[k]
	if !ok {
		place = uint32(len(p.tests.constants))
		p.tests.constants = append(p.tests.constants, k)
		p.constants[k] = place
	}
	x.constant = place
}

// strict is the number that what is at least, or at most, another is above, or below.
func strict(cmp comparison, k float64) float64 {
	switch cmp {
	case atLeast:
		return math.Nextafter(k, math.Inf(-1))
	case atMost:
		return math.Nextafter(k, math.Inf(1))
	}
	return k
}

// jump is how far on a test lies from the next one to be packed.
func (p *packer) jump(to int32) int16 {
	if to < 0 {
		return int16(to)
	}
	return int16(to - int32(len(p.list)))
}

// done are the tests, no longer than needed.
func (p *packer) done() tests {
	t := p.tests
	return tests{slices.Clone(t.list), slices.Clone(t.constants), slices.Clone(t.sums), slices.Clone(t.words), slices.Clone(t.spelt),
		slices.Clone(t.nodes)}
}

func (p *packer) lookFor(words []string, list *predicate.Ref) {
	w, m := lookFor{words, list.Path.Words}, marked{list: uint32(list.Slot)}
	for _, id := range words {
		m.marks |= markOf(id)
	}
	m.among = w.someIn(w.all, m.marks)
	p.words, p.spelt = append(p.words, m), append(p.spelt, w)
}

// gathered joins the literals of an or that look for words in the same list: one of all the words is looked for. What is
// joined of nothing, as over a domain without members, becomes a literal.
func (j joint) gathered() joint {
	if j.atom == nil && len(j.kids) == 0 {
		return joint{op: j.op, atom: j.node()}
	}
	var kids []joint
	at := map[string]int{} // index in kids, by list
	for _, k := range j.kids {
		k = k.gathered()
		if words, list := k.someWord(); list != nil && j.op == predicate.Or {
			if i, ok := at[list.Name]; ok {
				had, _ := kids[i].someWord()
				k.atom = someOf(list, slices.Concat(had, words))
				kids[i] = k
				continue
			}
			at[list.Name] = len(kids)
		}
		kids = append(kids, k)
	}
	j.kids = kids
	return j
}

// someOf is that some word of a list is one of those.
func someOf(list *predicate.Ref, words []string) *predicate.Node {
	among := &predicate.Node{Op: predicate.Within, A: &predicate.Words{Element: true}, B: &predicate.Words{Literal: words}}
	return &predicate.Node{Op: predicate.Has, Quant: "any", Least: 1, List: &predicate.Words{Ref: list}, Body: among}
}

// cheapFirst orders what is joined by what it costs to ask.
func (j joint) cheapFirst() joint {
	j.kids = slices.Clone(j.kids)
	for i, k := range j.kids {
		j.kids[i] = k.cheapFirst()
	}
	slices.SortStableFunc(j.kids, func(a, b joint) int { return a.cost() - b.cost() })
	return j
}

// cost is how costly a joint is to ask: a fact where it stands, words in a list, a tag of the lift, a closure, several of
// them.
func (j joint) cost() int {
	if j.atom == nil {
		return 4
	}
	s := scalar{}
	s.shorten(j.atom)
	_, list := j.someWord()
	switch {
	case s.form == factAgainst || s.form == yesNo:
		return 0
	case list != nil:
		return 1
	case s.form == liftAgainst || j.atom.Op == predicate.Is:
		return 2
	}
	return 3
}

// someWord is what a literal looks for, if that can be looked up.
func (j joint) someWord() ([]string, *predicate.Ref) {
	if j.atom == nil || j.denied {
		return nil, nil
	}
	return someWordOf(j.atom)
}

// literals is how many a joint has.
func (j joint) literals() int {
	if j.atom != nil {
		return 1
	}
	n := 0
	for _, k := range j.kids {
		n += k.literals()
	}
	return n
}

// someWordOf recognises predicates that can hold when one of some words can be in a list of the client's: a word in it,
// its own word in a list written out, some word of it in one.
func someWordOf(n *predicate.Node) (words []string, list *predicate.Ref) {
	ofClient := func(w *predicate.Words) bool { return w.Ref != nil && w.Ref.Root == predicate.OfFacts }
	writtenOut := func(w *predicate.Words) bool { return w.Ref == nil && !w.Element }
	switch {
	case n.Op == predicate.Within && len(n.A.Literal) == 1 && ofClient(n.B):
		return n.A.Literal, n.B.Ref
	case n.Op == predicate.Within && ofClient(n.A) && writtenOut(n.B):
		return n.B.Literal, n.A.Ref
	case n.Op == predicate.Has && n.Quant == "any" && n.Least == 1 && ofClient(n.List) && n.Body.Op == predicate.Within && n.Body.A.Element &&
		writtenOut(n.Body.B):
		return n.Body.B.Literal, n.List.Ref
	}
	return nil, nil
}
