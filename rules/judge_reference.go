package rules

import (
	"fmt"
	"slices"
	"sync"

	"github.com/expr-lang/expr/vm"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/predicate"
)

// referenceJudge runs rules on expr's machine, a drill, side and row at a time. It is the meaning of the rule language:
// every other way of judging must agree with it. Nothing in service waits for it.
type referenceJudge struct {
	edition  *Edition
	programs map[*Rule]*rulePrograms
}

// rulePrograms are written when a rule is first asked.
type rulePrograms struct {
	once                 sync.Once
	possible, sure, firm *vm.Program // firm only for bars
}

// ByReference is the same edition judged by the reference programs: the same answers, thousands of times slower.
func (e *Edition) ByReference() *Edition {
	plain := *e
	plain.judgements = &sync.Pool{}
	plain.reference = &referenceJudge{edition: e, programs: map[*Rule]*rulePrograms{}}
	for _, r := range e.judged {
		plain.reference.programs[r] = &rulePrograms{}
	}
	return &plain
}

// write compiles the programs. A sealed condition always has them: an expression of ours that expr refuses is a
// fault of ours, and is not hidden behind a verdict.
func (p *rulePrograms) write(r *Rule) {
	must := func(q predicate.Question) *vm.Program {
		program, err := predicate.Program(r.When, q)
		if err != nil {
			panic(fmt.Sprintf("rule %q: %v", r.ID, err))
		}
		return program
	}
	p.possible, p.sure = must(predicate.Possible), must(predicate.Sure)
	if r.Effect == Bar {
		p.firm = must(predicate.Firm)
	}
}

// referenceRun is one request on its way. It remembers what it was asked.
type referenceRun struct {
	*referenceJudge
	machine         vm.VM
	told, uncovered [2]predicate.Ends // uncovered: nil when no clearance covers anything
	had             map[*Rule][]Held  // by drill*2+side
	spread          map[*predicate.Row]predicate.Spread
}

// asked marks what had holds already.
const asked Held = 1 << 7

func (p *referenceJudge) begin(f, uncovered *client.Facts, lift *catalog.Drill) *referenceRun {
	run := &referenceRun{referenceJudge: p, had: map[*Rule][]Held{}, spread: map[*predicate.Row]predicate.Spread{}}
	row := p.edition.LiftRow(lift).Spread()
	for side := range 2 {
		run.told[side] = predicate.EndsOf(f, side).Lift(row)
		if uncovered != nil {
			run.uncovered[side] = predicate.EndsOf(uncovered, side).Lift(row)
		}
	}
	return run
}

func (p *referenceRun) held(r *Rule, d *catalog.Drill, side int) Held {
	had, ok := p.had[r]
	if !ok {
		had = make([]Held, 2*len(p.edition.Catalogue.Drills))
		p.had[r] = had
	}
	h := &had[d.Index*2+side]
	if *h&asked == 0 {
		*h = p.holds(r, d, side) | asked
	}
	return *h &^ asked
}

func (p *referenceRun) holds(r *Rule, d *catalog.Drill, side int) Held {
	programs := p.programs[r]
	programs.once.Do(func() { programs.write(r) })
	h := Held(0)
	for i, row := range p.rowsOf(r, d) {
		ends := p.told[side^i].Drill(p.read(row))
		if !p.run(programs.possible, ends) {
			continue
		}
		h |= Possible
		if p.run(programs.sure, ends) {
			h |= Sure
		}
		if programs.firm != nil && p.run(programs.firm, ends) {
			h |= Firm
		}
	}
	if h != 0 && r.Effect == Bar && r.ReadsConditions && p.uncovered[0] != nil && !p.holdsUncovered(programs, r, d, side) {
		h |= Covered
	}
	return h
}

func (p *referenceRun) holdsUncovered(programs *rulePrograms, r *Rule, d *catalog.Drill, side int) bool {
	for i, row := range p.rowsOf(r, d) {
		if p.run(programs.possible, p.uncovered[side^i].Drill(p.read(row))) {
			return true
		}
	}
	return false
}

func (p *referenceRun) rowsOf(r *Rule, d *catalog.Drill) []*predicate.Row {
	if rows := p.edition.rows[d.Index]; r.BothRows() {
		return rows
	}
	return p.edition.rows[d.Index][:1]
}

// read is a row as the programs read it.
func (p *referenceRun) read(row *predicate.Row) predicate.Spread {
	s, ok := p.spread[row]
	if !ok {
		s = row.Spread()
		p.spread[row] = s
	}
	return s
}

// run runs one program. The dialect has nothing that can fault; should one fault all the same, that is a fault of
// ours and is not hidden behind a verdict.
func (p *referenceRun) run(program *vm.Program, ends predicate.Ends) bool {
	holds, err := ends.Run(&p.machine, program)
	if err != nil {
		panic(err)
	}
	return holds
}

// judgedRules are those that are judged against drills, in the order of the book.
func (b *Book) judgedRules() []*Rule {
	return slices.DeleteFunc(slices.Concat(b.Rules, b.Doses), func(r *Rule) bool { return !r.AboutDrills() })
}

// Disagreement holds the compiled book against the reference (see Plainly) for one client, on the verdict and the points of
// every drill and side. It is nil when they agree; any other answer is a fault of the program's.
func (e *Edition) Disagreement(plain *Edition, f *client.Facts) error {
	fast, slow := e.Judge(f, nil), plain.Judge(f, nil)
	defer fast.Done()
	defer slow.Done()
	for _, d := range e.Catalogue.Drills {
		for side := range 2 {
			is, want := fast.Verdict(d, side), slow.Verdict(d, side)
			if is != want {
				return fmt.Errorf("%s on the %s: judged %s, by the reference %s", d.ID, client.Sides[side], is, want)
			}
			if points, wanted := fast.Favours(d, side), slow.Favours(d, side); want != NotToday && points != wanted {
				return fmt.Errorf("%s on the %s: %d points, by the reference %d", d.ID, client.Sides[side], points, wanted)
			}
		}
	}
	return nil
}

// Truths is the scratch memory to work out every truth of every rule on every drill, for measurements and tests: no rule spares
// another its work, as it does in Judge. It is used again from one client to the next, and is for one goroutine.
type Truths struct {
	edition *Edition
	scratch *compile.Truths
}

// NewTruths makes it.
func (e *Edition) NewTruths() *Truths { return &Truths{e, e.program.NewTruths()} }

// Each shows how each rule came out, those of doses last; what is shown is written over by the next. The lift may be nil.
func (t *Truths) Each(f *client.Facts, lift *catalog.Drill, show func(r *Rule, truth *compile.Truth)) {
	t.scratch.Each(f, uncovered(f), t.edition.LiftRow(lift), func(i int, truth *compile.Truth) { show(t.edition.judged[i], truth) })
}
