package rules

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/expr-lang/expr/vm"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// plainJudge runs every rule on every drill, side and row as ordinary expr programs. It is the meaning of the
// rule language: any other way of judging must agree with it.
type plainJudge struct {
	edition  *Edition
	programs []rulePrograms
	machines sync.Pool
}

type rulePrograms struct {
	rule                 *Rule
	possible, sure, firm *vm.Program // firm only for bars
}

func newPlainJudge(e *Edition) (*plainJudge, error) {
	j := &plainJudge{edition: e, machines: sync.Pool{New: func() any { return &vm.VM{} }}}
	for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses) {
		if r.Effect == Refer {
			continue
		}
		p := rulePrograms{rule: r}
		var err error
		for _, one := range []struct {
			q    question
			into **vm.Program
		}{{possible, &p.possible}, {sure, &p.sure}, {firm, &p.firm}} {
			if one.q == firm && r.Effect != Bar {
				continue
			}
			if *one.into, err = program(r.When, one.q); err != nil {
				return nil, fmt.Errorf("rule %q: %w", r.ID, err)
			}
		}
		j.programs = append(j.programs, p)
	}
	return j, nil
}

func (p *plainJudge) judge(f *client.Facts, lift *catalog.Drill, drills []*catalog.Drill) *Judgement {
	e := p.edition
	j := &Judgement{Edition: e, Facts: f, Lift: lift, Drills: drills, held: map[*Rule][]Held{}}
	machine := p.machines.Get().(*vm.VM)
	defer p.machines.Put(machine)
	told := [2]*twinEnv{ends(f, 0), ends(f, 1)}
	uncovered := [2]*twinEnv{p.without(told[0], f, 0), p.without(told[1], f, 1)}
	liftRow := e.liftRow(lift)
	for side := range 2 {
		told[side].LN, told[side].LB, told[side].LS = liftRow.Num, liftRow.Bool, liftRow.Set
		uncovered[side].LN, uncovered[side].LB, uncovered[side].LS = liftRow.Num, liftRow.Bool, liftRow.Set
	}
	for _, r := range p.programs {
		held := make([]Held, 2*len(e.Catalogue.Drills))
		coverable := r.rule.Effect == Bar && r.rule.conditions && len(f.Covered[0])+len(f.Covered[1]) > 0
		for _, d := range drills {
			for side := range 2 {
				h := p.holds(machine, r, d, side, &told)
				if coverable && h&Possible != 0 && p.holds(machine, r, d, side, &uncovered)&Possible == 0 {
					h |= Covered
				}
				held[d.Index*2+side] = h
			}
		}
		j.held[r.rule] = held
	}
	return j
}

// holds runs a rule's programs on the rows of a drill on a side; one row is enough.
func (p *plainJudge) holds(machine *vm.VM, r rulePrograms, d *catalog.Drill, side int, env *[2]*twinEnv) Held {
	h := Held(0)
	for i, row := range p.edition.rowsOf(d, side) {
		if i > 0 && !r.rule.allRows() {
			break
		}
		e := env[row.side]
		e.DN, e.DB, e.DS = row.tags.Num, row.tags.Bool, row.tags.Set
		if !run(machine, r.possible, e) {
			continue
		}
		h |= Possible
		if run(machine, r.sure, e) {
			h |= Sure
		}
		if r.firm != nil && run(machine, r.firm, e) {
			h |= Firm
		}
	}
	return h
}

// run runs one program. The dialect has nothing that can fault; should one fault all the same, that is a fault
// of ours and is not hidden behind a verdict.
func run(machine *vm.VM, program *vm.Program, e *twinEnv) bool {
	out, err := machine.Run(program, e)
	if err != nil {
		panic(fmt.Sprintf("run %s: %v", program.Source().String(), err))
	}
	return out.(bool)
}

// without takes the conditions that a clearance covers out of the lists of conditions.
func (p *plainJudge) without(told *twinEnv, f *client.Facts, side int) *twinEnv {
	e := *told
	e.SL, e.SH = slices.Clone(e.SL), slices.Clone(e.SH)
	for _, path := range f.Frame.Table.Paths {
		if !strings.HasPrefix(path.Name, "client.conditions") {
			continue
		}
		drop := func(id string) bool { return slices.Contains(f.Covered[side], id) }
		e.SL[path.Slot] = slices.DeleteFunc(slices.Clone(e.SL[path.Slot]), drop)
		e.SH[path.Slot] = slices.DeleteFunc(slices.Clone(e.SH[path.Slot]), drop)
	}
	return &e
}
