package compile

import (
	"fmt"
	"strings"

	"drillwright/rules/predicate"
)

// Part is a part of a rule and what it became.
type Part struct {
	Text string // as its author wrote it; a part that was joined from several is spelled out
	// Key is what it asks, its denial left out: parts with the same key and form are answered as one.
	Key  string
	Form Form
	// Rows is, of a bitset, how many rows it holds; of an index, how many distinct values or words the tag has.
	Rows int
	// Sided is false when the answer is the same on both sides.
	Sided bool
}

// Form is what a part became.
type Form string

// Forms.
const (
	Bitset  Form = "bitset"  // answered when the book is compiled
	Scalar  Form = "scalar"  // answered once a request and side
	Indexed Form = "indexed" // looked up by the client's value
	Closure Form = "closure" // asked of each drill that is left
)

// How lists the parts of a rule in the order in which they run, each once.
func (p *Program) How(rule int) []Part {
	return p.rules[rule].body.parts(nil)
}

func (s *step) parts(out []Part) []Part {
	part := Part{}
	switch s.kind {
	case always:
		return out
	case and, or:
		for i := range s.kids {
			out = s.kids[i].parts(out)
		}
		return out
	case statics:
		part = Part{Form: Bitset, Rows: s.set().count()}
	case scalars:
		part = Part{Form: Scalar, Sided: s.scalar().sided}
	case number:
		a := s.what.(*numberAtom)
		part = Part{Form: Indexed, Rows: len(a.index.values), Sided: a.sided}
	case words:
		a := s.what.(*wordAtom)
		part = Part{Form: Indexed, Rows: len(a.index.common), Sided: a.sided}
	case list:
		a := s.what.(*listAtom)
		part = Part{Form: Indexed, Rows: len(a.index.common), Sided: a.sided}
	default:
		part = Part{Form: Closure, Sided: joint{atom: s.node()}.reach().sided}
	}
	n := s.node()
	part.Key, part.Text = n.Key(), text(n)
	if s.kind != statics && s.denied { // the denial of a set is worked into its node
		part.Text = denial(n)
	}
	return append(out, part)
}

// node is what a step stands for.
func (s *step) node() *predicate.Node {
	switch a := s.what.(type) {
	case *static:
		return a.node
	case *scalar:
		return a.node
	case *numberAtom:
		return a.node
	case *wordAtom:
		return a.node
	case *listAtom:
		return a.node
	}
	return s.what.(*closureAtom).node
}

// text spells a predicate as its author wrote the atoms. Parts that are written alike, as those of an unrolled any
// or all, are spelled once with their number.
func text(n *predicate.Node) string {
	switch n.Op {
	case predicate.Not:
		return denial(n.Kids[0])
	case predicate.And:
		return joined(n.Kids, " and ")
	case predicate.Or:
		return joined(n.Kids, " or ")
	}
	if n.Text != "" {
		return n.Text
	}
	return n.Key()
}

func denial(n *predicate.Node) string {
	if n.Op == predicate.Is || n.Op == predicate.Measured || n.Op == predicate.Has && n.Quant != "count" {
		return "not " + n.Text
	}
	return "not (" + text(n) + ")"
}

func joined(kids []*predicate.Node, between string) string {
	if len(kids) == 1 {
		return text(kids[0])
	}
	var texts []string
	count := map[string]int{}
	for _, k := range kids {
		t := text(k)
		if (k.Op == predicate.And || k.Op == predicate.Or) && len(k.Kids) > 1 {
			t = "(" + t + ")"
		}
		if count[t]++; count[t] == 1 {
			texts = append(texts, t)
		}
	}
	for i, t := range texts {
		if count[t] > 1 {
			texts[i] = fmt.Sprintf("%d × %s", count[t], t)
		}
	}
	return strings.Join(texts, between)
}
