package predicate

import (
	"drillwright/rules/client"
)

// Reading is what a predicate is evaluated on: the facts of one side of the body, the tags of a row of the drill
// and of the lift. It is for one goroutine.
type Reading struct {
	Facts *client.Facts
	Side  int
	Drill *Row
	Lift  *Row
	// Only restricts an unrolled any to one of its members; -1 means all.
	Only    int
	Seconds float64 // of the dose

	numbers []client.Span
	truths  []client.Truth
	sets    []client.Set
	status  []client.Status
	members *Members  // of unrolled anys; nil: not remembered
	element [1]string // the member under any, all or count over a list
}

// Read makes a reading. The facts may be nil for predicates over a drill alone.
func Read(f *client.Facts, side int, drill, lift *Row) Reading {
	r := Reading{Drill: drill, Lift: lift, Only: -1}
	if f != nil {
		r.On(f, side)
	}
	return r
}

// Remember has the reading look up, and note, which members of an any the client leaves. The members are for these facts
// and this side alone.
func (r *Reading) Remember(m *Members) { r.members = m }

// Leave turns a reading away from its drill and dose.
func (r *Reading) Leave() { r.Drill, r.Seconds = nil, 0 }

// On turns a reading to other facts or another side.
func (r *Reading) On(f *client.Facts, side int) {
	r.members = nil
	r.Facts, r.Side = f, side
	r.numbers, r.truths, r.sets, r.status = f.Num[side], f.Bool[side], f.Set[side], f.Status[side]
}

// Number is the value of a path as a span.
func (r *Reading) Number(ref *Ref) client.Span {
	v := 0.0
	switch ref.Root {
	case OfFacts:
		return r.numbers[ref.Slot]
	case OfDrill:
		v = r.Drill.Number(ref.Slot)
	case OfLift:
		v = r.Lift.Number(ref.Slot)
	case OfDose:
		v = r.Seconds
	}
	return client.Span{Lo: v, Hi: v}
}

// Truth is a yes-or-no.
func (r *Reading) Truth(ref *Ref) client.Truth {
	t := false
	switch ref.Root {
	case OfFacts:
		return r.truths[ref.Slot]
	case OfDrill:
		t = r.Drill.Yes(ref.Slot)
	case OfLift:
		t = r.Lift.Yes(ref.Slot)
	}
	return client.Truth{Sure: t, Possible: t}
}

// Words is a list, or a word as a list of one.
func (r *Reading) Words(w *Words) client.Set {
	var known []string
	switch {
	case w.Element:
		known = r.element[:]
	case w.Ref == nil:
		known = w.Literal
	case w.Ref.Root == OfFacts:
		return r.sets[w.Ref.Slot]
	case w.Ref.Root == OfDrill:
		known = r.Drill.Words(w.Ref.Slot)
	default:
		known = r.Lift.Words(w.Ref.Slot)
	}
	return client.Set{Sure: known, Possible: known}
}

// Eval is whether a predicate must hold and whether it can.
func (r *Reading) Eval(n *Node) client.Truth { return n.truth(r) }

// EvalOn is whether a predicate holds where # stands for the given word.
func (r *Reading) EvalOn(n *Node, element string) client.Truth {
	r.element[0] = element
	return n.truth(r)
}

// EvalOnly is whether a predicate holds where an unrolled any is restricted to one of its members.
func (r *Reading) EvalOnly(n *Node, member int) client.Truth {
	had := r.Only
	r.Only = member
	t := n.truth(r)
	r.Only = had
	return t
}

// Value is a number as a span.
func (r *Reading) Value(m *Num) client.Span { return m.span(r) }

// Firm is whether a predicate still can hold when every unsettled atom that a test would settle is taken as
// speaking against it: what is left doesn't hang on a test.
func (r *Reading) Firm(n *Node) bool {
	return r.with(n, false, func(atom *Node, under bool) client.Truth {
		t := atom.truth(r)
		if t.Sure != t.Possible && !atom.barsUnknown {
			return client.Truth{Sure: under, Possible: under}
		}
		return t
	}).Possible
}

// Without is a predicate with one atom taken as false.
func (r *Reading) Without(n, denied *Node) client.Truth {
	return r.with(n, false, func(atom *Node, _ bool) client.Truth {
		if atom == denied {
			return client.No
		}
		return atom.truth(r)
	})
}

// Denying is a predicate with some of its atoms speaking against it: false, or true below an odd number of nots.
func (r *Reading) Denying(n *Node, denied func(atom *Node, under bool) bool) client.Truth {
	return r.with(n, false, func(atom *Node, under bool) client.Truth {
		if denied(atom, under) {
			return client.Truth{Sure: under, Possible: under}
		}
		return atom.truth(r)
	})
}

// with joins what another judge says of the atoms; under is true below an odd number of nots.
func (r *Reading) with(n *Node, under bool, atom func(n *Node, under bool) client.Truth) client.Truth {
	switch {
	case n.Op == Or && n.Domain != "" && r.Only >= 0:
		return r.with(n.Kids[r.Only], under, atom)
	case n.Op == And:
		t := client.Yes
		for _, k := range n.Kids {
			t = both(t, r.with(k, under, atom))
		}
		return t
	case n.Op == Or:
		t := client.No
		for _, k := range n.Kids {
			t = either(t, r.with(k, under, atom))
		}
		return t
	case n.Op == Not:
		return opposite(r.with(n.Kids[0], !under, atom))
	}
	return atom(n, under)
}

// Kleene's strong connectives.
func both(a, b client.Truth) client.Truth {
	return client.Truth{Sure: a.Sure && b.Sure, Possible: a.Possible && b.Possible}
}

func either(a, b client.Truth) client.Truth {
	return client.Truth{Sure: a.Sure || b.Sure, Possible: a.Possible || b.Possible}
}

func opposite(t client.Truth) client.Truth {
	return client.Truth{Sure: !t.Possible, Possible: !t.Sure}
}
