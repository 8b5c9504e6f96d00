package predicate

// WithoutDrill is what a predicate asks of client, request and lift alone: a predicate that no drill changes, and that
// can hold wherever the whole can. It is nil when that is nothing. What it denies, no drill need be asked.
func (n *Node) WithoutDrill() *Node {
	relaxed := n.relax()
	if relaxed == nil {
		return nil
	}
	return relaxed.Seal()
}

func (n *Node) relax() *Node {
	if !readsDrill(n) {
		return n
	}
	switch {
	case n.Op != And && n.Op != Or:
		return nil
	}
	out := &Node{Op: n.Op}
	for _, k := range n.Kids {
		relaxed := k.relax()
		switch {
		case relaxed != nil:
			out.Kids = append(out.Kids, relaxed)
		case n.Op == Or:
			return nil // this kid may hold for any client
		}
	}
	if len(out.Kids) == 0 {
		return nil
	}
	return out
}

func readsDrill(n *Node) bool { return n.Reads(func(r *Ref) bool { return r.Root == OfDrill }) }
