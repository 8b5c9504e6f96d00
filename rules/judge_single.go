package rules

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/predicate"
)

// single judges one drill at a time through the closures. It remembers what serves the next question of the same
// request: the readings of the drill looked at last, how rules that read no side came out for it, which preconditions hold.
type single struct {
	edition   *Edition
	facts     *client.Facts
	uncovered *client.Facts // the facts without the conditions that a clearance covers; nil when none does
	lift      *predicate.Row

	sides [2]looked

	client     [2]predicate.Reading  // no drill, of each side of the body
	members    [2]*predicate.Members // of each side of the body
	before     compile.Asked         // the preconditions
	opened     compile.Satisfied     // see open
	asked      bool                  // opened is of this client
	bySideless []lastResult          // by rule that reads no side
	round      uint32                // of requests
}

// looked is a drill on a side: a reading of its first row there, and of its second on the other side of the body.
type looked struct {
	drill    *catalog.Drill
	readings []predicate.Reading
}

// lastResult is how a rule came out.
type lastResult struct {
	drill *catalog.Drill
	round uint32
	held  Held
}

func (a *single) begin(e *Edition, f *client.Facts, lift *catalog.Drill) {
	a.edition, a.facts, a.uncovered, a.lift = e, f, uncovered(f), e.LiftRow(lift)
	if a.bySideless == nil {
		a.bySideless = make([]lastResult, len(e.judged))
		a.members = [2]*predicate.Members{{}, {}}
	}
	a.round++
	a.asked = false
	for side := range a.client {
		a.members[side].Begin()
		a.client[side], a.sides[side].drill = predicate.Read(f, side, nil, a.lift), nil
		a.client[side].Remember(a.members[side])
	}
}

// forget lets go of the client.
func (a *single) forget() {
	a.facts, a.uncovered, a.client = nil, nil, [2]predicate.Reading{}
	a.before.Forget()
	for side := range a.sides {
		clear(a.sides[side].readings)
	}
}

// on reads a drill on a side.
func (a *single) on(d *catalog.Drill, side int) []predicate.Reading {
	s := &a.sides[side]
	if s.drill == d {
		return s.readings
	}
	s.drill, s.readings = d, s.readings[:0]
	for i, row := range a.edition.rows[d.Index] {
		rd := predicate.Read(a.facts, side^i, row, a.lift)
		rd.Remember(a.members[rd.Side])
		s.readings = append(s.readings, rd)
	}
	return s.readings
}

// of are the readings that a rule looks at.
func (a *single) of(r *Rule, d *catalog.Drill, side int) []predicate.Reading {
	all := a.on(d, side)
	if r.BothRows() {
		return all
	}
	return all[:1]
}

// open are the rules whose preconditions hold: what a rule asks of the client alone can hold on a side of the body. One
// that is shut holds for no drill. Bars are asked without: the second look is to share nothing with the first.
func (a *single) open() *compile.Satisfied {
	if !a.asked {
		a.before.Begin(&a.client)
		a.edition.preconditions.Ask(&a.before, &a.opened)
		a.asked = true
	}
	return &a.opened
}

func (a *single) held(r *Rule, d *catalog.Drill, side int) Held {
	if r.Sided {
		return a.judge(r, d, side)
	}
	had := &a.bySideless[r.index]
	if had.drill != d || had.round != a.round {
		*had = lastResult{d, a.round, a.judge(r, d, side)}
	}
	return had.held
}

func (a *single) judge(r *Rule, d *catalog.Drill, side int) Held {
	h, bar := Held(0), r.Effect == Bar
	readings := a.of(r, d, side)
	for i := range readings {
		rd := &readings[i]
		if !bar && !a.open().On[rd.Side].Has(r.index) {
			continue
		}
		t := rd.Eval(r.When)
		if !t.Possible {
			continue
		}
		h |= Possible
		switch {
		case t.Sure:
			h |= Sure | Firm
		case bar && rd.Firm(r.When):
			h |= Firm
		}
	}
	if !bar {
		return h &^ Firm
	}
	if h != 0 && a.uncovered != nil && r.ReadsConditions && !a.couldHold(r, d, side, a.uncovered) {
		h |= Covered
	}
	return h
}

// couldHold asks with other facts.
func (a *single) couldHold(r *Rule, d *catalog.Drill, side int, f *client.Facts) bool {
	for _, rd := range a.of(r, d, side) {
		rd.On(f, rd.Side)
		if rd.Eval(r.When).Possible {
			return true
		}
	}
	return false
}

// uncovered takes the conditions that a clearance covers out of the lists of conditions; nil when none does.
func uncovered(f *client.Facts) *client.Facts {
	if len(f.Covered[0])+len(f.Covered[1]) == 0 {
		return nil
	}
	out := *f
	for side := range 2 {
		drop := func(id string) bool { return slices.Contains(f.Covered[side], id) }
		out.Set[side] = slices.Clone(f.Set[side])
		for _, path := range f.Frame.Table.Paths {
			if strings.HasPrefix(path.Name, "client.conditions") {
				set := &out.Set[side][path.Slot]
				set.Sure, set.Possible = slices.DeleteFunc(slices.Clone(set.Sure), drop), slices.DeleteFunc(slices.Clone(set.Possible), drop)
			}
		}
	}
	return &out
}
