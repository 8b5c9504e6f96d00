package compile

import (
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// literal is an atom, or its denial, and what the unknown does to it.
type literal struct {
	denied bool
	// bars: in the third run, where what a test would settle speaks against the rule, this one still counts as possible.
	bars bool
}

// run is one of the two-valued runs.
type runOf uint8

const (
	possible runOf = iota // every unknown literal is true
	sure                  // every unknown literal is false
	firm                  // unknown literals are true if their absence bars, else false
)

// holds is the literal's value in a run, given the truth of its atom.
func (l literal) holds(t client.Truth, run runOf) bool {
	if l.denied {
		t = client.Truth{Sure: !t.Possible, Possible: !t.Sure}
	}
	if l.hopeful(run) {
		return t.Possible
	}
	return t.Sure
}

// hopeful is whether an unknown literal is true in a run.
func (l literal) hopeful(run runOf) bool { return run == possible || run == firm && l.bars }

// upper is the same for the atom below the denial: whether the atom's possible end is asked for.
func (l literal) upper(run runOf) bool { return l.hopeful(run) != l.denied }

// joint is a predicate with its negations pushed to the atoms: and, or, or a literal.
type joint struct {
	op   predicate.Op // And, Or; anything else is a literal over atom
	kids []joint
	atom *predicate.Node
	literal
}

// positive pushes the negations down. and and or within their own kind are flattened.
func positive(n *predicate.Node, denied bool) joint {
	switch n.Op {
	case predicate.Not:
		return positive(n.Kids[0], !denied)
	case predicate.And, predicate.Or:
		j := joint{op: n.Op}
		if denied {
			j.op = predicate.And + predicate.Or - n.Op
		}
		for _, k := range n.Kids {
			if kid := positive(k, denied); kid.op == j.op && (kid.atom == nil) {
				j.kids = append(j.kids, kid.kids...)
			} else {
				j.kids = append(j.kids, kid)
			}
		}
		return j
	}
	return joint{op: n.Op, atom: n, literal: literal{denied: denied, bars: n.BarsWhenUnknown()}}
}

// node is the joint as a predicate again, to be evaluated as one.
func (j joint) node() *predicate.Node {
	switch {
	case j.atom != nil && j.denied:
		return (&predicate.Node{Op: predicate.Not, Kids: []*predicate.Node{j.atom}}).Seal()
	case j.atom != nil:
		return j.atom
	}
	n := &predicate.Node{Op: j.op}
	for _, k := range j.kids {
		n.Kids = append(n.Kids, k.node())
	}
	return n.Seal()
}

// reach says whose values a joint reads.
type reach struct{ drill, request, sided bool }

func (j joint) reach() reach {
	var r reach
	visit := func(ref *predicate.Ref) {
		if ref.Root == predicate.OfDrill {
			r.drill = true
		} else {
			r.request = true
			r.sided = r.sided || ref.Path != nil && ref.Path.Sided
		}
	}
	j.visit(func(atom *predicate.Node) { atom.Refs(visit) })
	return r
}

func (j joint) visit(atom func(*predicate.Node)) {
	if j.atom != nil {
		atom(j.atom)
		return
	}
	for _, k := range j.kids {
		k.visit(atom)
	}
}

// uniform is whether all atoms agree on what the unknown does in the third run; then they can be evaluated as one.
func (j joint) uniform() (bars, ok bool) {
	if j.atom != nil {
		return j.bars, true
	}
	for i, k := range j.kids {
		b, same := k.uniform()
		if !same || i > 0 && b != bars {
			return false, false
		}
		bars = b
	}
	return bars, true
}
