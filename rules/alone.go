package rules

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// alone judges one drill at a time through the closures. It keeps the readings of the drill that it looked at last.
type alone struct {
	edition   *Edition
	facts     *client.Facts
	uncovered *client.Facts // the facts without the conditions that a clearance covers; nil when none does
	lift      *condition.Row

	drill    *catalog.Drill
	side     int
	readings []condition.Reading // one a row

	client  [2]condition.Reading // no drill, of each side of the body
	members [2]condition.Members // of each side of the body
	gates   []uint8              // by rule and side of the body: 0 not asked, 1 shut, 2 open
}

func (a *alone) begin(e *Edition, f *client.Facts, lift *catalog.Drill) {
	*a = alone{edition: e, facts: f, uncovered: uncovered(f), lift: e.liftRow(lift), readings: a.readings[:0], gates: a.gates, members: a.members}
	if a.gates == nil {
		a.gates, a.members = make([]uint8, 2*len(e.judged)), [2]condition.Members{{}, {}}
	}
	clear(a.gates)
	for side := range a.client {
		clear(a.members[side])
		a.client[side] = condition.Read(f, side, nil, a.lift)
	}
}

// forget lets go of the client.
func (a *alone) forget() {
	clear(a.readings)
	*a = alone{edition: a.edition, readings: a.readings[:0], gates: a.gates, members: a.members}
}

// on reads a drill on a side: its first row there, its second on the other side of the body.
func (a *alone) on(d *catalog.Drill, side int) []condition.Reading {
	if a.drill == d && a.side == side {
		return a.readings
	}
	a.drill, a.side, a.readings = d, side, a.readings[:0]
	for i, row := range a.edition.rows[d.Index] {
		rd := condition.Read(a.facts, side^i, row, a.lift)
		rd.Remember(a.members[rd.Side])
		a.readings = append(a.readings, rd)
	}
	return a.readings
}

// of are the readings that a rule looks at.
func (a *alone) of(r *Rule, d *catalog.Drill, side int) []condition.Reading {
	if all := a.on(d, side); r.allRows() {
		return all
	}
	return a.readings[:1]
}

// shut is whether what a rule asks of the client alone can't hold on a side of the body: then it holds for no drill.
func (a *alone) shut(r *Rule, side int) bool {
	if r.gate == nil {
		return false
	}
	if !r.sided {
		side = 0
	}
	gate := &a.gates[2*r.place+side]
	if *gate == 0 {
		*gate = 1
		if a.client[side].Eval(r.gate).Possible {
			*gate = 2
		}
	}
	return *gate == 1
}

func (a *alone) held(r *Rule, d *catalog.Drill, side int) Held {
	h, bar := Held(0), r.Effect == Bar
	for i := range a.of(r, d, side) {
		rd := &a.readings[i]
		if a.shut(r, rd.Side) {
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
	if h != 0 && a.uncovered != nil && r.conditions && !a.couldHold(r, a.uncovered) {
		h |= Covered
	}
	return h
}

// couldHold asks the drill looked at last with other facts.
func (a *alone) couldHold(r *Rule, f *client.Facts) bool {
	for _, rd := range a.of(r, a.drill, a.side) {
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
