package compile

import (
	"drillwright/rules/condition"
)

// Part is a part of a rule and what it became.
type Part struct {
	Text string // as its author wrote it; a part that was joined from several is spelled out
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
	switch s.kind {
	case and, or:
		for i := range s.kids {
			out = s.kids[i].parts(out)
		}
		return out
	case always:
		return out
	case statics:
		return append(out, Part{Text: text(s.node), Form: Bitset, Rows: s.set.count()})
	case scalars:
		return append(out, Part{Text: text(s.node), Form: Scalar, Sided: s.scalar.sided})
	case number:
		return append(out, Part{Text: text(s.node), Form: Indexed, Rows: len(s.number.index.values), Sided: s.number.sided})
	case words:
		return append(out, Part{Text: text(s.node), Form: Indexed, Rows: len(s.words.index.rows), Sided: s.words.sided})
	case list:
		return append(out, Part{Text: text(s.node), Form: Indexed, Rows: len(s.list.index.rows), Sided: s.list.sided})
	}
	return append(out, Part{Text: text(s.node), Form: Closure, Sided: joint{atom: s.node}.reach().sided})
}

func text(n *condition.Node) string {
	if n.Text != "" {
		return n.Text
	}
	return n.Key()
}
