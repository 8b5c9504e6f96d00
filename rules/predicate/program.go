package predicate

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/vm"

	"drillwright/rules/client"
)

// The reference: a rule is judged by ordinary expr programs, one for each question about the unknown:
//
//	possible  could it hold, for some value of what is unknown?
//	sure      does it hold, whatever the unknown values are?
//	firm      could it hold if every unsettled part that a test would settle were false? (bars only)
//
// An unknown number stands for its span, an unknown yes-or-no for both, a list for its sure and its possible
// members; so each program reads the lower or the upper end of each fact. "not" swaps the ends.

// Question is what a program answers.
type Question uint8

// The questions.
const (
	Possible Question = iota
	Sure
	Firm
)

// Ends are what the programs read: lower and upper ends of the facts of one side of the body, and the tags
// of one row of the drill and of the lift. It is a map because expr's machine finds a name in one quickest.
type Ends map[string]any

// names of what the programs read, each with its type. M is whether a path is measured, by its index in the table.
var names = Ends{
	"NL": []float64{}, "NH": []float64{}, "DN": []float64{}, "LN": []float64{},
	"BL": []bool{}, "BH": []bool{}, "DB": []bool{}, "LB": []bool{}, "M": []bool{},
	"SL": [][]string{}, "SH": [][]string{}, "DS": [][]string{}, "LS": [][]string{},
}

// writer writes the program of one question as expr source.
type writer struct {
	b        strings.Builder
	question Question
}

// Program writes and compiles the program of one question.
func Program(n *Node, q Question) (*vm.Program, error) {
	w := writer{question: q}
	w.node(n, false)
	p, err := expr.Compile(w.b.String(), expr.Env(map[string]any(names)), expr.AsBool(), expr.MaxNodes(0)) // the reader has bounded it
	if err != nil {
		return nil, fmt.Errorf("compile %q: %w", w.b.String(), err)
	}
	return p, nil
}

func (w *writer) put(parts ...string) {
	for _, p := range parts {
		w.b.WriteString(p)
	}
}

// node writes a predicate; under is true below an odd number of nots.
func (w *writer) node(n *Node, under bool) {
	switch n.Op {
	case And, Or:
		if len(n.Kids) == 0 {
			w.put(strconv.FormatBool(n.Op == And))
			return
		}
		w.put("(")
		for i, k := range n.Kids {
			if i > 0 {
				w.put(map[Op]string{And: " and ", Or: " or "}[n.Op])
			}
			w.node(k, under)
		}
		w.put(")")
	case Not:
		w.put("(not ")
		w.node(n.Kids[0], !under)
		w.put(")")
	default:
		hopeful := w.question == Possible || w.question == Firm && n.BarsWhenUnknown()
		w.atom(n, hopeful != under)
	}
}

// atom writes one atom: upper asks whether it can hold, not upper whether it must.
func (w *writer) atom(n *Node, upper bool) {
	switch n.Op {
	case Always:
		w.put("true")
	case Is:
		w.put(bools(n.Ref, upper))
	case Measured:
		w.put("M[", strconv.Itoa(n.Ref.Index), "]")
	case Compare:
		w.compare(n, upper)
	case Within:
		w.within(n, upper)
	case Has:
		w.has(n, upper)
	}
}

func (w *writer) compare(n *Node, upper bool) {
	lo, hi := func(m *Num) string { return w.number(m, false) }, func(m *Num) string { return w.number(m, true) }
	switch {
	case n.Cmp == "==" && upper:
		w.put("(", lo(n.L), " <= ", hi(n.R), " and ", lo(n.R), " <= ", hi(n.L), ")")
	case n.Cmp == "==":
		w.put("(", lo(n.L), " == ", hi(n.L), " and ", lo(n.R), " == ", hi(n.R), " and ", lo(n.L), " == ", lo(n.R), ")")
	case (n.Cmp == ">" || n.Cmp == ">=") == upper:
		w.put("(", hi(n.L), " ", n.Cmp, " ", lo(n.R), ")")
	default:
		w.put("(", lo(n.L), " ", n.Cmp, " ", hi(n.R), ")")
	}
}

// number writes the lower or upper end of a number.
func (w *writer) number(m *Num, upper bool) string {
	switch m.Op {
	case Const:
		return "(" + strconv.FormatFloat(m.K, 'f', -1, 64) + ")"
	case Value:
		return numbers(m.Ref, upper)
	case Add:
		return "(" + w.number(m.L, upper) + " + " + w.number(m.R, upper) + ")"
	case Sub:
		return "(" + w.number(m.L, upper) + " - " + w.number(m.R, !upper) + ")"
	case Neg:
		return "(-" + w.number(m.L, !upper) + ")"
	default: // Mul: comparisons choose nothing, see Unchosen
		return "(" + w.number(m.L, upper == (m.K >= 0)) + " * (" + strconv.FormatFloat(m.K, 'g', -1, 64) + "))"
	}
}

func numbers(r *Ref, upper bool) string { return slot(r, "N", "DN", "LN", upper) }
func bools(r *Ref, upper bool) string   { return slot(r, "B", "DB", "LB", upper) }

func slot(r *Ref, facts, drill, lift string, upper bool) string {
	name := map[Root]string{OfFacts: facts, OfDrill: drill, OfLift: lift}[r.Root]
	if r.Root == OfFacts {
		name += map[bool]string{false: "L", true: "H"}[upper]
	}
	return name + "[" + strconv.Itoa(r.Slot) + "]"
}

func (w *writer) words(x *Words, upper bool) string {
	switch {
	case x.Element:
		return "[#]"
	case x.Ref != nil:
		return slot(x.Ref, "S", "DS", "LS", upper)
	}
	quotedWords := make([]string, len(x.Literal))
	for i, l := range x.Literal {
		quotedWords[i] = strconv.Quote(l)
	}
	return "[" + strings.Join(quotedWords, ", ") + "]"
}

// within: it can be, when some possible word is a possible member; it must be, when every possible word is a sure one.
func (w *writer) within(n *Node, upper bool) {
	a, b := w.words(n.A, true), w.words(n.B, upper)
	if len(n.A.Literal) == 1 && n.A.Ref == nil && !n.A.Element {
		w.put("(", strconv.Quote(n.A.Literal[0]), " in ", b, ")")
		return
	}
	if n.A.Element {
		w.put("(# in ", b, ")")
		return
	}
	if upper {
		w.put("any(", a, ", # in ", b, ")")
		return
	}
	w.put("(len(", a, ") > 0 and all(", a, ", # in ", b, "))")
}

// has: any and count can hold over the possible members and must over the sure ones; all the other way round.
func (w *writer) has(n *Node, upper bool) {
	inner := writer{question: map[bool]Question{true: Possible, false: Sure}[upper]}
	inner.node(n.Body, false)
	list := w.words(n.List, upper != (n.Quant == "all"))
	if n.Quant == "count" {
		w.put("(count(", list, ", ", inner.b.String(), ") >= ", strconv.Itoa(int(n.Least)), ")")
		return
	}
	w.put(n.Quant, "(", list, ", ", inner.b.String(), ")")
}

// EndsOf splits facts of one side into the lower and upper ends that the programs read.
func EndsOf(f *client.Facts, side int) Ends {
	var nl, nh []float64
	var bl, bh, measured []bool
	var sl, sh [][]string
	for _, s := range f.Num[side] {
		nl, nh = append(nl, s.Lo), append(nh, s.Hi)
	}
	for _, b := range f.Bool[side] {
		bl, bh = append(bl, b.Sure), append(bh, b.Possible)
	}
	for _, s := range f.Set[side] {
		sl, sh = append(sl, s.Sure), append(sh, s.Possible)
	}
	for _, s := range f.Status[side] {
		measured = append(measured, s == client.Measured)
	}
	return Ends{"NL": nl, "NH": nh, "BL": bl, "BH": bh, "SL": sl, "SH": sh, "M": measured}
}

// Spread is a row as the programs read it: numbers, yes-or-nos, words.
type Spread [3]any

// Spread spreads the row out.
func (r *Row) Spread() Spread {
	t := r.Tags()
	return Spread{t.Num, t.Bool, t.Set}
}

// Lift sets the row of the lift.
func (e Ends) Lift(s Spread) Ends {
	e["LN"], e["LB"], e["LS"] = s[0], s[1], s[2]
	return e
}

// Drill sets the row of the drill.
func (e Ends) Drill(s Spread) Ends {
	e["DN"], e["DB"], e["DS"] = s[0], s[1], s[2]
	return e
}

// Run runs a program on them. The error is a fault of ours: the dialect has nothing that can fault.
func (e Ends) Run(machine *vm.VM, program *vm.Program) (bool, error) {
	out, err := machine.Run(program, map[string]any(e))
	if err != nil {
		return false, fmt.Errorf("run %q: %w", program.Source().String(), err)
	}
	return out.(bool), nil
}
