package predicate

// Unchosen is a comparison without choices between numbers, which means the same: x > (c ? a : b) holds where c does and
// x > a, where c doesn't and x > b, or where both do. So a choice on what isn't known is neither of its numbers nor a span of
// both: one of them may be unstated, and then no comparison with it holds.
func (n *Node) Unchosen() *Node {
	choice := n.L.choice()
	if choice == nil {
		choice = n.R.choice()
	}
	if choice == nil {
		return n
	}
	with := func(number *Num) *Node {
		c := *n
		c.L, c.R = n.L.with(choice, number), n.R.with(choice, number)
		return c.Unchosen()
	}
	a, b := with(choice.L), with(choice.R)
	return &Node{Op: Or, Kids: []*Node{
		{Op: And, Kids: []*Node{choice.Cond, a}},
		{Op: And, Kids: []*Node{{Op: Not, Kids: []*Node{choice.Cond}}, b}},
		{Op: And, Kids: []*Node{a, b}},
	}}
}

// Choices is how many choices between numbers a number holds.
func (m *Num) Choices() int {
	if m == nil {
		return 0
	}
	n := m.L.Choices() + m.R.Choices()
	if m.Op == Choose {
		n++
	}
	return n
}

// choice is the first choice of a number; nil when there is none.
func (m *Num) choice() *Num {
	switch {
	case m == nil || m.Op == Choose:
		return m
	}
	if c := m.L.choice(); c != nil {
		return c
	}
	return m.R.choice()
}

// with is a number with another in place of a part of it.
func (m *Num) with(part, instead *Num) *Num {
	switch {
	case m == nil:
		return nil
	case m == part:
		return instead
	}
	out := *m
	out.L, out.R = m.L.with(part, instead), m.R.with(part, instead)
	return &out
}
