// Package predicate is what stands under "when": a tree of and, or and not over atoms, every path resolved. A
// predicate is three-valued, and the package says what that means twice: as closures over numbered facts
// (closure.go), which answer for one drill at a time, and as ordinary expr programs (program.go), which are the
// reference that every other way of judging is held against.
package predicate

import (
	"drillwright/rules/client"
)

// Op is what a node of a compiled predicate does.
type Op uint8

// The operators: three that join, and the atoms.
const (
	And Op = iota
	Or
	Not
	Compare  // two numbers
	Within   // a word is in a list, or is a word
	Is       // a yes-or-no
	Has      // any, all or count over a list
	Measured // a valid measurement is there
	Always
)

// Node is a predicate after reading: a tree of and, or and not over atoms, every path resolved.
type Node struct {
	Op          Op
	barsUnknown bool  // set by Seal
	Least       int32 // of Has
	Kids        []*Node
	// Domain and Witnesses label an unrolled any or all: the member behind each kid.
	Domain    string
	Witnesses []string

	// Text is the atom as its author wrote it.
	Text string
	Cmp  string // of Compare
	L, R *Num
	A, B *Words // of Within: A is in B
	Ref  *Ref   // of Is and Measured
	// Of Has: the quantifier, the list, and what holds of so many (Least) of its members.
	Quant string // any, all, count
	List  *Words
	Body  *Node

	truth   truthFunc // set by Seal
	members *members  // of an unrolled any; see member.go
}

// Root says whose facts a path reads.
type Root uint8

// Roots of resolved paths: numbered facts of a client or request, and the tags of a drill, of the lift, or of a dose.
const (
	OfFacts Root = iota
	OfDrill
	OfLift
	OfDose
)

// Ref is a resolved path.
type Ref struct {
	Root  Root
	Name  string
	Kind  client.Kind
	Slot  int
	Path  *client.Path // of facts; nil otherwise
	Index int          // of facts: index in the table
	// Region is the region of a rung path.
	Region string
	Vocab  string // kind of vocabulary that a word of a drill belongs to
}

// NumOp builds numbers.
type NumOp uint8

// Numbers are linear: a product or a quotient has a constant on one side.
const (
	Const NumOp = iota
	Value
	Add
	Sub
	Mul
	Neg
	Choose
)

// Num is a number of the predicate.
type Num struct {
	Op   NumOp
	K    float64 // of Const, and the constant of Mul
	Ref  *Ref
	L, R *Num
	Cond *Node

	span spanFunc // set by Seal
}

// Words is a list, a word, or a list written out. Element is the member under any, all or count.
type Words struct {
	Literal []string
	Ref     *Ref
	Element bool
}

// predicates visits those that choose between numbers: of a sum, for comparisons choose nothing (see Unchosen).
func (m *Num) conditions(visit func(*Node)) {
	if m == nil {
		return
	}
	if m.Cond != nil {
		visit(m.Cond)
	}
	m.L.conditions(visit)
	m.R.conditions(visit)
}

// refs visits every path of a number.
func (m *Num) refs(visit func(*Ref)) {
	if m == nil {
		return
	}
	if m.Ref != nil {
		visit(m.Ref)
	}
	m.L.refs(visit)
	m.R.refs(visit)
}

// Refs visits every path of a number, those of its predicates included.
func (m *Num) Refs(visit func(*Ref)) {
	m.refs(visit)
	m.conditions(func(c *Node) { c.Refs(visit) })
}

// OwnRefs visits the paths of one atom.
func (n *Node) OwnRefs(visit func(*Ref)) {
	if n.Ref != nil {
		visit(n.Ref)
	}
	for _, side := range []*Num{n.L, n.R} {
		side.refs(visit)
	}
	for _, w := range []*Words{n.A, n.B, n.List} {
		if w != nil && w.Ref != nil {
			visit(w.Ref)
		}
	}
	if n.Body != nil {
		n.Body.Refs(visit)
	}
}

// Refs visits every path below a node.
func (n *Node) Refs(visit func(*Ref)) {
	n.OwnRefs(visit)
	for _, k := range n.Kids {
		k.Refs(visit)
	}
}

// Reads is true when a path below the node has the property.
func (n *Node) Reads(which func(*Ref) bool) bool {
	found := false
	n.Refs(func(r *Ref) { found = found || which(r) })
	return found
}

// BarsWhenUnknown is true for atoms that read a fact whose absence bars rather than asks for a test.
func (n *Node) BarsWhenUnknown() bool {
	return n.Reads(func(r *Ref) bool { return r.Path != nil && !r.Path.TestFirst })
}

// DomainNode finds the one un-negated unrolled any of a predicate; nil when there is none.
func (n *Node) DomainNode() *Node {
	switch {
	case n.Op == Or && n.Domain != "":
		return n
	case n.Op == And || n.Op == Or:
		for _, k := range n.Kids {
			if found := k.DomainNode(); found != nil {
				return found
			}
		}
	}
	return nil
}
