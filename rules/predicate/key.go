package predicate

import (
	"strconv"
	"strings"
)

// Key is a predicate in one canonical spelling, by names and never by slots: two predicates with the same key mean
// the same, whoever wrote them and whatever the numbering of the paths.
func (n *Node) Key() string {
	var k keyWriter
	k.node(n)
	return k.b.String()
}

// Key is a number in one canonical spelling.
func (m *Num) Key() string {
	var k keyWriter
	k.num(m)
	return k.b.String()
}

type keyWriter struct{ b strings.Builder }

func (k *keyWriter) put(parts ...string) {
	for _, p := range parts {
		k.b.WriteString(p)
	}
}

func (k *keyWriter) node(n *Node) {
	switch n.Op {
	case And, Or:
		if len(n.Kids) == 0 { // over a domain without members
			k.put(strconv.FormatBool(n.Op == And))
			return
		}
		k.put("(")
		for i, kid := range n.Kids {
			if i > 0 {
				k.put([...]string{And: " and ", Or: " or "}[n.Op])
			}
			k.node(kid)
		}
		k.put(")")
	case Not:
		k.put("not ")
		k.node(n.Kids[0])
	case Compare:
		k.compare(n)
	case Within:
		k.words(n.A)
		k.put(" in ")
		k.words(n.B)
	case Is:
		k.put(n.Ref.Name)
	case Measured:
		k.put("measured(", n.Ref.Name, ")")
	case Has:
		k.put(n.Quant, "(")
		k.words(n.List)
		k.put(", ")
		k.node(n.Body)
		k.put(") >= ", strconv.Itoa(int(n.Least)))
	default:
		k.put("true")
	}
}

// compare turns < and <= round, so that both spellings of a comparison share a key.
func (k *keyWriter) compare(n *Node) {
	left, right, cmp := n.L, n.R, n.Cmp
	if cmp == "<" || cmp == "<=" {
		left, right, cmp = right, left, strings.Replace(cmp, "<", ">", 1)
	}
	k.num(left)
	k.put(" ", cmp, " ")
	k.num(right)
}

func (k *keyWriter) num(m *Num) {
	switch m.Op {
	case Const:
		k.put(strconv.FormatFloat(m.K, 'g', -1, 64))
	case Value:
		k.put(m.Ref.Name)
	case Neg:
		k.put("-(")
		k.num(m.L)
		k.put(")")
	case Add, Sub:
		k.put("(")
		k.num(m.L)
		k.put([...]string{Add: " + ", Sub: " - "}[m.Op])
		k.num(m.R)
		k.put(")")
	default: // Mul: comparisons choose nothing, see Unchosen
		k.put("(")
		k.num(m.L)
		k.put(" * ", strconv.FormatFloat(m.K, 'g', -1, 64), ")")
	}
}

func (k *keyWriter) words(w *Words) {
	switch {
	case w.Element:
		k.put("#")
	case w.Ref != nil:
		k.put(w.Ref.Name)
	default:
		k.put("[")
		for i, l := range w.Literal {
			if i > 0 {
				k.put(", ")
			}
			k.put(strconv.Quote(l))
		}
		k.put("]")
	}
}
