package compile

import (
	"slices"

	"drillwright/rules/predicate"
)

// Effect is what the judge does with a rule that holds.
type Effect uint8

// Effects. Others are compiled, and answered by Truths; Judge leaves them to whoever asks for one drill.
const (
	Bars Effect = iota + 1
	Favours
	Others
)

// Rule is what the judge needs of a rule.
type Rule struct {
	When   *predicate.Node // sealed
	Effect Effect
	Points int // of Favours
	// BothRows: a drill's second row counts too, on the other side of the body.
	BothRows bool
	// Coverable: a clinician's clearance may cover the conditions it reads.
	Coverable bool
}

// Program is a book compiled for a catalogue. It is immutable and safe for use by many goroutines.
type Program struct {
	layout  *layout
	rules   []rule
	bars    []int32 // indexes in rules
	favours []int32

	statics map[digest]set
	numbers map[string]*numberIndex
	tags    map[string]*wordIndex
	kindsBy map[string]*kinds // by the paths read
	scalars int               // how many
	ahead   tests             // of the kids of the or's
}

// builder compiles one book.
type builder struct {
	layout  *layout
	before  *Program // on the same catalogue; nil when there is none
	statics map[digest]set
	numbers map[string]*numberIndex
	tags    map[string]*wordIndex
	kindsBy map[string]*kinds
	scalars map[string]*scalar
	ahead   packer

	scalarSlab slab[scalar]
	numberSlab slab[numberAtom]
	staticSlab slab[static]
}

// New compiles rules for a catalogue, given as the rows of each drill. before, if there is one, was compiled for the
// same rows under the same numbering: what it worked out of drills alone is used again.
func New(rows [][]*predicate.Row, list []Rule, before *Program) *Program {
	b := &builder{before: before, statics: map[digest]set{}, numbers: map[string]*numberIndex{}, tags: map[string]*wordIndex{},
		scalars: map[string]*scalar{}, kindsBy: map[string]*kinds{}, ahead: newPacker()}
	if before != nil {
		b.layout = before.layout
	} else {
		b.layout = newLayout(rows)
	}
	p := &Program{layout: b.layout, rules: make([]rule, len(list))}
	for i, r := range list {
		p.rules[i] = b.rule(r)
		switch r.Effect {
		case Bars:
			p.bars = append(p.bars, int32(i))
		case Favours:
			p.favours = append(p.favours, int32(i))
		}
	}
	for i := range p.rules {
		p.rules[i].body.sharedFirst()
	}
	p.statics, p.numbers, p.tags, p.kindsBy, p.scalars = b.statics, b.numbers, b.tags, b.kindsBy, len(b.scalars)
	p.ahead = b.ahead.done()
	return p
}

func (p *Program) numberIndex(key string) *numberIndex {
	if p == nil {
		return nil
	}
	return p.numbers[key]
}

func (p *Program) wordIndex(name string) *wordIndex {
	if p == nil {
		return nil
	}
	return p.tags[name]
}

// rule compiles one rule.
func (b *builder) rule(r Rule) rule {
	j := positive(r.When, false)
	bars, uniform := j.uniform()
	out := rule{Rule: r, sided: j.reach().sided, firmIsPossible: uniform && bars, firmIsSure: uniform && !bars}
	out.body = b.step(j)
	return out
}

// step turns a joint into a step: whole parts over drill alone, or over the request alone, are answered as one.
func (b *builder) step(j joint) step {
	r := j.reach()
	bars, uniform := j.uniform()
	switch {
	case j.op == predicate.Always:
		return step{kind: always, literal: j.literal}
	case !r.request:
		n := j.node()
		return step{kind: statics, what: add(&b.staticSlab, static{b.static(n), n})}
	case !r.drill && uniform && j.atom != nil:
		return step{kind: scalars, what: b.scalar(j.atom, r.sided), literal: j.literal}
	case !r.drill && uniform:
		n := j.node()
		return step{kind: scalars, what: b.scalar(n, r.sided), literal: literal{bars: bars}}
	case j.atom != nil:
		return b.mixed(j, r)
	}
	return b.joined(j)
}

// joined makes an and or an or: parts over drill alone become one set, the cheap ones go first.
func (b *builder) joined(j joint) step {
	out := step{kind: and}
	if j.op == predicate.Or {
		out.kind = or
	}
	var kids []joint
	drillAlone := joint{op: j.op}
	for _, k := range j.kids {
		if k.reach().request {
			kids = append(kids, k)
		} else {
			drillAlone.kids = append(drillAlone.kids, k)
		}
	}
	if len(drillAlone.kids) > 0 {
		kids = append(kids, drillAlone)
	}
	type kid struct {
		step
		joint
	}
	made := make([]kid, len(kids))
	for i, k := range kids {
		made[i] = kid{b.step(k), k}
	}
	slices.SortStableFunc(made, func(x, y kid) int { return int(x.step.kind) - int(y.step.kind) })
	out.kids = make([]step, len(made))
	for i, k := range made {
		out.kids[i], kids[i] = k.step, k.joint
	}
	if out.kind == or && len(kids) >= manyKids {
		out.what = b.aheadOf(kids)
	}
	for out.kind == and && int(out.preconditions) < len(out.kids) && out.kids[out.preconditions].kind <= scalars {
		out.preconditions++
	}
	return out
}

// sharedFirst orders what is asked before any row: what most rules ask is most likely answered already.
func (s *step) sharedFirst() {
	slices.SortStableFunc(s.precondition(), func(x, y step) int { return int(y.uses() - x.uses()) })
	for i := range s.kids {
		s.kids[i].sharedFirst()
	}
}

func (s *step) uses() int32 {
	if s.kind != scalars {
		return 0
	}
	return s.scalar().uses
}

// mixed turns an atom over drill and request into an index where the drill can be isolated.
func (b *builder) mixed(j joint, r reach) step {
	s := step{literal: j.literal}
	if j.atom.Op == predicate.Compare {
		if a := b.numberAtom(j.atom); a != nil {
			s.kind, s.what = number, a
			return s
		}
	}
	if a := b.wordAtom(j.atom, r.sided); a != nil {
		s.kind, s.what = words, a
		return s
	}
	if a := b.listAtom(j.atom, r.sided); a != nil {
		s.kind, s.what = list, a
		return s
	}
	s.kind, s.what = closure, b.closureAtom(j.atom)
	return s
}

// manyKids is from how many kids on an or asks them ahead.
const manyKids = 4

// aheadOf packs what each kid asks of the client alone; nil when few ask anything.
func (b *builder) aheadOf(kids []joint) ahead {
	asks, some := make([]joint, len(kids)), 0
	for i, k := range kids {
		if asks[i] = b.ofClient(k); asks[i].op != predicate.Always {
			some++
		}
	}
	if some < manyKids {
		return nil
	}
	first := make(ahead, 0, len(kids)+1)
	for _, j := range asks {
		first = append(first, b.ahead.follow(j))
	}
	return append(first, int32(len(b.ahead.list)))
}

// asksNothing always holds.
var asksNothing = joint{op: predicate.Always, atom: (&predicate.Node{Op: predicate.Always}).Seal()}

// ofClient is what a joint asks of the client alone: without it the joint can't hold.
func (b *builder) ofClient(j joint) joint {
	r := j.reach()
	switch {
	case !r.request:
		return asksNothing
	case !r.drill:
		return j
	case j.atom != nil:
		return b.reached(j)
	}
	of := joint{op: j.op}
	for _, k := range j.kids {
		part := b.ofClient(k)
		switch {
		case part.op != predicate.Always:
			of.kids = append(of.kids, part)
		case j.op == predicate.Or:
			return asksNothing
		}
	}
	if len(of.kids) == 0 {
		return asksNothing
	}
	return of
}

// reached is whether the number that a drill's is compared with leaves any drill: most clients reach beyond all of them.
func (b *builder) reached(j joint) joint {
	if j.atom.Op != predicate.Compare || j.denied {
		return asksNothing
	}
	drill, cmp, other := isolated(j.atom)
	under, ok := map[comparison]string{above: "<", atLeast: "<="}[cmp]
	if drill == nil || !ok {
		return asksNothing
	}
	top := (&predicate.Num{Op: predicate.Const, K: b.number(drill).top()}).Seal()
	n := (&predicate.Node{Op: predicate.Compare, Cmp: under, L: other, R: top}).Seal()
	return joint{op: n.Op, atom: n}
}
