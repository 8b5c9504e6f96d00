package bench

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// truth of a rule for a drill on a side, in an order in which "or" is the greater of two.
type truth uint8

const (
	no truth = iota
	unknown
	yes
)

// book is the rules of an edition as CEL programs, and its drills as CEL values.
type book struct {
	edition  *rules.Edition
	vars     map[byte][]variable
	programs []program
	drills   [][][]ref.Val // by drill, row and variable
}

type program struct {
	rule    *rules.Rule
	whole   cel.Program
	partial cel.Program // with attributes that may match a pattern
	reads   []int       // facts
	allRows bool        // both rows of a one-side drill count
}

func newBook(e *rules.Edition) (*book, error) {
	t := newTranslator(e.Frame)
	b := &book{edition: e, vars: t.vars}
	var codes []string
	for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses) {
		if r.Effect == rules.Refer {
			continue
		}
		code, reads := t.condition(r.CodeText)
		codes = append(codes, code)
		b.programs = append(b.programs, program{rule: r, reads: reads, allRows: r.Effect == rules.Bar || r.Effect == rules.Caution ||
			r.Effect == rules.Adjust})
	}
	env, err := environment(t.vars)
	if err != nil {
		return nil, err
	}
	for i, code := range codes {
		if err := b.programs[i].compile(env, code); err != nil {
			return nil, fmt.Errorf("rule %q: %w", b.programs[i].rule.ID, err)
		}
	}
	for _, d := range e.Catalogue.Drills {
		var rows [][]ref.Val
		for i := range d.Rows {
			rows = append(rows, tags(t.vars['d'], e.Frame, d, &d.Rows[i]))
		}
		b.drills = append(b.drills, rows)
	}
	return b, nil
}

func environment(vars map[byte][]variable) (*cel.Env, error) {
	kinds := map[client.Kind]*cel.Type{client.Number: cel.DoubleType, client.Bool: cel.BoolType, client.Word: cel.StringType,
		client.List: cel.ListType(cel.StringType)}
	var options []cel.EnvOption
	for _, root := range []byte("dlfm") {
		for i, v := range vars[root] {
			options = append(options, cel.Variable(string(root)+strconv.Itoa(i), kinds[v.kind]))
		}
	}
	return cel.NewEnv(options...)
}

func (p *program) compile(env *cel.Env, code string) error {
	checked, issues := env.Compile(code)
	if err := issues.Err(); err != nil {
		return err
	}
	var err error
	if p.whole, err = env.Program(checked, cel.EvalOptions(cel.OptOptimize)); err != nil {
		return err
	}
	p.partial, err = env.Program(checked, cel.EvalOptions(cel.OptOptimize, cel.OptPartialEval))
	return err
}

// tags are the values of a row of a drill.
func tags(vars []variable, frame *client.Frame, d *catalog.Drill, row *catalog.Row) []ref.Val {
	out := make([]ref.Val, len(vars))
	for i, v := range vars {
		switch v.kind {
		case client.Bool:
			out[i] = types.Bool(drillTruths[v.path](d))
		case client.Word:
			out[i] = types.String(word(v.path, d, row))
		case client.List:
			out[i] = list(drillLists[v.path](d))
		default:
			out[i] = v.double(figure(v.path, frame, d, row))
		}
	}
	return out
}

// double turns a number that isn't stated into the infinity that its comparison asks for.
func (v variable) double(x float64) ref.Val {
	if math.IsNaN(x) {
		x = math.Inf(-1)
		if v.top {
			x = math.Inf(1)
		}
	}
	return types.Double(x)
}

func list(words []string) ref.Val {
	values := make([]ref.Val, len(words))
	for i, w := range words {
		values[i] = types.String(w)
	}
	return types.NewRefValList(types.DefaultTypeAdapter, values)
}

// fact is the value of a fact on a side, or CEL's unknown.
func fact(v variable, f *client.Facts, side int) ref.Val {
	p := f.Frame.Table.Path(v.path)
	switch v.kind {
	case client.Number:
		if n := f.Num[side][p.Slot]; n.Known() || math.IsNaN(n.Lo) {
			return v.double(n.Lo)
		}
	case client.Bool:
		if b := f.Bool[side][p.Slot]; b.Sure == b.Possible {
			return types.Bool(b.Sure)
		}
	case client.Word:
		if s := f.Set[side][p.Slot]; len(s.Sure) == 1 {
			return types.String(s.Sure[0])
		}
	default:
		if s := f.Set[side][p.Slot]; len(s.Sure) == len(s.Possible) {
			return list(s.Sure)
		}
	}
	return types.NewUnknown(1, types.NewAttributeTrail(v.path))
}

// activation resolves variables by their numbers.
type activation struct{ drill, lift, facts, measured []ref.Val }

func (a *activation) Parent() cel.Activation { return nil }

func (a *activation) ResolveName(name string) (any, bool) {
	if len(name) == 1 {
		return nil, false // the member under a macro stands in a scope of its own
	}
	i := 0
	for _, c := range []byte(name[1:]) {
		i = 10*i + int(c-'0')
	}
	switch name[0] {
	case 'd':
		return a.drill[i], true
	case 'l':
		return a.lift[i], true
	case 'f':
		return a.facts[i], true
	case 'm':
		return a.measured[i], true
	}
	return nil, false
}

// way is how CEL is told what is unknown. The answers are the same.
type way uint8

const (
	// byValue: the activation answers with CEL's unknown. That is what partial evaluation makes of a match, without the
	// matching, and the fastest that was found.
	byValue way = iota
	// byPattern: cel.PartialVars, with patterns for the unknown facts that the rule reads and no others.
	byPattern
)

// asked is one request, ready to run.
type asked struct {
	*book
	sides [2]*activation
	runs  [][2]run // by program and side
	out   [][]truth
}

type run struct {
	program cel.Program
	vars    any
}

// ask turns facts into CEL values. The lift must be there.
func (b *book) ask(f *client.Facts, lift *catalog.Drill, how way) (*asked, error) {
	q := &asked{book: b, runs: make([][2]run, len(b.programs)), out: make([][]truth, len(b.programs))}
	for side := range 2 {
		q.sides[side] = b.told(f, lift, side)
		for i, p := range b.programs {
			q.runs[i][side] = run{p.whole, q.sides[side]}
			if open := p.open(q.sides[side]); how == byPattern && len(open) > 0 {
				vars, err := cel.PartialVars(q.sides[side], open...)
				if err != nil {
					return nil, err
				}
				q.runs[i][side] = run{p.partial, vars}
			}
		}
	}
	for i := range q.out {
		q.out[i] = make([]truth, 2*len(b.drills))
	}
	return q, nil
}

// told are the values of one side.
func (b *book) told(f *client.Facts, lift *catalog.Drill, side int) *activation {
	a := &activation{lift: tags(b.vars['l'], f.Frame, lift, &lift.Rows[0])}
	for _, v := range b.vars['f'] {
		a.facts = append(a.facts, fact(v, f, side))
	}
	for _, v := range b.vars['m'] {
		known := f.Status[side][f.Frame.Table.Index(f.Frame.Table.Path(v.path))] == client.Measured
		a.measured = append(a.measured, types.Bool(known))
	}
	return a
}

// open are patterns for the facts that the program reads and nobody knows.
func (p program) open(a *activation) []*cel.AttributePatternType {
	var patterns []*cel.AttributePatternType
	for _, i := range p.reads {
		if types.IsUnknown(a.facts[i]) {
			patterns = append(patterns, cel.AttributePattern("f"+strconv.Itoa(i)))
		}
	}
	return patterns
}

// judge holds every rule against every drill on both sides. The result is by rule, then by drill*2+side.
func (q *asked) judge() ([][]truth, error) {
	for i, p := range q.programs {
		for d, rows := range q.drills {
			for side := range 2 {
				held, err := q.holds(i, p, rows, side)
				if err != nil {
					return nil, fmt.Errorf("rule %q, drill %d: %w", p.rule.ID, d, err)
				}
				q.out[i][2*d+side] = held
			}
		}
	}
	return q.out, nil
}

// holds is the greatest truth over the rows: the first is the working side's, the second the other's.
func (q *asked) holds(i int, p program, rows [][]ref.Val, side int) (truth, error) {
	held := no
	for r, row := range rows {
		if r > 0 && (!p.allRows || held == yes) {
			break
		}
		on := side ^ r
		q.sides[on].drill = row
		out, _, err := q.runs[i][on].program.Eval(q.runs[i][on].vars)
		switch {
		case err != nil:
			return no, err
		case out == types.True:
			held = yes
		case types.IsUnknown(out):
			held = max(held, unknown)
		}
	}
	return held, nil
}
