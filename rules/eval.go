package rules

import (
	"slices"

	"drillwright/rules/client"
)

// reading is what a condition is evaluated on: the facts of one side, the tags of a row of the drill and of
// the lift. It gives both ends of the truth at once, and serves reasons and the second look at what is returned.
type reading struct {
	facts *client.Facts
	side  int
	drill *Row
	lift  *Row
	// only restricts an unrolled any to one of its members; -1 means all.
	only    int
	seconds float64 // of the dose
	element string
	// deny is an atom taken as false, to see whether it alone decides.
	deny *Node
}

// eval is whether a condition must hold and whether it can.
func (r reading) eval(n *Node) client.Truth {
	if n == r.deny {
		return client.No
	}
	switch n.Op {
	case And:
		t := client.Yes
		for _, k := range n.Kids {
			kt := r.eval(k)
			t = client.Truth{Sure: t.Sure && kt.Sure, Possible: t.Possible && kt.Possible}
			if !t.Possible {
				break
			}
		}
		return t
	case Or:
		return r.either(n)
	case Not:
		t := r.eval(n.Kids[0])
		return client.Truth{Sure: !t.Possible, Possible: !t.Sure}
	case Compare:
		return compare(n.Cmp, r.number(n.L), r.number(n.R))
	case Within:
		a, b := r.words(n.A), r.words(n.B)
		return client.Truth{
			Sure:     len(a.Possible) > 0 && !slices.ContainsFunc(a.Possible, func(w string) bool { return !slices.Contains(b.Sure, w) }),
			Possible: slices.ContainsFunc(a.Possible, func(w string) bool { return slices.Contains(b.Possible, w) }),
		}
	case Is:
		return r.truth(n.Ref)
	case Has:
		return r.has(n)
	case Measured:
		known := r.facts.Status[r.side][n.Ref.Index] == client.Measured
		return client.Truth{Sure: known, Possible: known}
	default:
		return client.Yes
	}
}

func (r reading) either(n *Node) client.Truth {
	if n.Domain != "" && r.only >= 0 {
		return r.eval(n.Kids[r.only])
	}
	t := client.No
	for _, k := range n.Kids {
		kt := r.eval(k)
		t = client.Truth{Sure: t.Sure || kt.Sure, Possible: t.Possible || kt.Possible}
		if t.Sure {
			break
		}
	}
	return t
}

func compare(cmp string, l, r client.Span) client.Truth {
	switch cmp {
	case ">":
		return client.Truth{Sure: l.Lo > r.Hi, Possible: l.Hi > r.Lo}
	case ">=":
		return client.Truth{Sure: l.Lo >= r.Hi, Possible: l.Hi >= r.Lo}
	case "<":
		return client.Truth{Sure: l.Hi < r.Lo, Possible: l.Lo < r.Hi}
	case "<=":
		return client.Truth{Sure: l.Hi <= r.Lo, Possible: l.Lo <= r.Hi}
	default:
		return client.Truth{Sure: l.Known() && r.Known() && l.Lo == r.Lo, Possible: l.Lo <= r.Hi && r.Lo <= l.Hi}
	}
}

func (r reading) number(m *Num) client.Span {
	switch m.Op {
	case Const:
		return client.Span{Lo: m.K, Hi: m.K}
	case Value:
		return r.value(m.Ref)
	case Add:
		a, b := r.number(m.L), r.number(m.R)
		return client.Span{Lo: a.Lo + b.Lo, Hi: a.Hi + b.Hi}
	case Sub:
		a, b := r.number(m.L), r.number(m.R)
		return client.Span{Lo: a.Lo - b.Hi, Hi: a.Hi - b.Lo}
	case Neg:
		a := r.number(m.L)
		return client.Span{Lo: -a.Hi, Hi: -a.Lo}
	case Mul:
		a := r.number(m.L)
		if m.K < 0 {
			a.Lo, a.Hi = a.Hi, a.Lo
		}
		return client.Span{Lo: a.Lo * m.K, Hi: a.Hi * m.K}
	default:
		a, b, c := r.number(m.L), r.number(m.R), r.eval(m.Cond)
		switch {
		case c.Sure:
			return a
		case !c.Possible:
			return b
		}
		wide := b
		if a.Lo < b.Lo {
			wide.Lo = a.Lo
		}
		if a.Hi > b.Hi {
			wide.Hi = a.Hi
		}
		return wide
	}
}

func (r reading) value(ref *Ref) client.Span {
	v := 0.0
	switch ref.Root {
	case OfFacts:
		return r.facts.Num[r.side][ref.Slot]
	case OfDrill:
		v = r.drill.Num[ref.Slot]
	case OfLift:
		v = r.lift.Num[ref.Slot]
	case OfDose:
		v = r.seconds
	}
	return client.Span{Lo: v, Hi: v}
}

func (r reading) truth(ref *Ref) client.Truth {
	t := false
	switch ref.Root {
	case OfFacts:
		return r.facts.Bool[r.side][ref.Slot]
	case OfDrill:
		t = r.drill.Bool[ref.Slot]
	case OfLift:
		t = r.lift.Bool[ref.Slot]
	}
	return client.Truth{Sure: t, Possible: t}
}

func (r reading) words(w *Words) client.Set {
	switch {
	case w.Element:
		one := []string{r.element}
		return client.Set{Sure: one, Possible: one}
	case w.Ref == nil:
		return client.Set{Sure: w.Literal, Possible: w.Literal}
	case w.Ref.Root == OfFacts:
		return r.facts.Set[r.side][w.Ref.Slot]
	case w.Ref.Root == OfDrill:
		return client.Set{Sure: r.drill.Set[w.Ref.Slot], Possible: r.drill.Set[w.Ref.Slot]}
	default:
		return client.Set{Sure: r.lift.Set[w.Ref.Slot], Possible: r.lift.Set[w.Ref.Slot]}
	}
}

func (r reading) has(n *Node) client.Truth {
	list := r.words(n.List)
	must := func(members []string) (held int, all bool) { return r.members(n, members, true) }
	can := func(members []string) (held int, all bool) { return r.members(n, members, false) }
	if n.Quant == "all" {
		_, sure := must(list.Possible)
		_, possible := can(list.Sure)
		return client.Truth{Sure: sure, Possible: possible}
	}
	sure, _ := must(list.Sure)
	possible, _ := can(list.Possible)
	return client.Truth{Sure: sure >= n.Least, Possible: possible >= n.Least}
}

func (r reading) members(n *Node, members []string, sure bool) (held int, all bool) {
	all = true
	for _, m := range members {
		r.element = m
		t := r.eval(n.Body)
		if sure && t.Sure || !sure && t.Possible {
			held++
		} else {
			all = false
		}
	}
	return held, all
}
