package predicate

import (
	"drillwright/rules/client"
)

// Seal makes a number ready to be evaluated.
func (m *Num) Seal() *Num {
	if m.span != nil {
		return m
	}
	for _, part := range []*Num{m.L, m.R} {
		if part != nil {
			part.Seal()
		}
	}
	if m.Cond != nil {
		m.Cond.Seal()
	}
	m.span = m.closure()
	return m
}

func (m *Num) closure() spanFunc {
	switch m.Op {
	case Const:
		k := client.Span{Lo: m.K, Hi: m.K}
		return func(*Reading) client.Span { return k }
	case Value:
		return m.value()
	case Add:
		a, b := m.L.span, m.R.span
		return func(r *Reading) client.Span { x, y := a(r), b(r); return client.Span{Lo: x.Lo + y.Lo, Hi: x.Hi + y.Hi} }
	case Sub:
		a, b := m.L.span, m.R.span
		return func(r *Reading) client.Span { x, y := a(r), b(r); return client.Span{Lo: x.Lo - y.Hi, Hi: x.Hi - y.Lo} }
	case Neg:
		a := m.L.span
		return func(r *Reading) client.Span { x := a(r); return client.Span{Lo: -x.Hi, Hi: -x.Lo} }
	case Mul:
		return m.times()
	default:
		return m.choose()
	}
}

func (m *Num) value() spanFunc {
	slot, ref := m.Ref.Slot, m.Ref
	if ref.Root == OfFacts {
		return func(r *Reading) client.Span { return r.numbers[slot] }
	}
	return func(r *Reading) client.Span { return r.Number(ref) }
}

// times a constant: a negative one swaps the ends.
func (m *Num) times() spanFunc {
	a, k := m.L.span, m.K
	if k < 0 {
		return func(r *Reading) client.Span { x := a(r); return client.Span{Lo: x.Hi * k, Hi: x.Lo * k} }
	}
	return func(r *Reading) client.Span { x := a(r); return client.Span{Lo: x.Lo * k, Hi: x.Hi * k} }
}

// choose spans both numbers while the predicate is open.
func (m *Num) choose() spanFunc {
	a, b, condition := m.L.span, m.R.span, m.Cond.truth
	return func(r *Reading) client.Span {
		switch t := condition(r); {
		case t.Sure:
			return a(r)
		case !t.Possible:
			return b(r)
		}
		x, wide := a(r), b(r)
		if x.Lo < wide.Lo {
			wide.Lo = x.Lo
		}
		if x.Hi > wide.Hi {
			wide.Hi = x.Hi
		}
		return wide
	}
}
