package compile

import (
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// Truth is how one rule came out for every drill, by side. Firm and Covered are of bars.
type Truth struct {
	layout                         *layout
	possible, sure, firm, covering [2]set
}

// Possible is whether the rule can hold for a drill on a side.
func (t *Truth) Possible(drill, side int) bool {
	return t.possible[side].has(int(t.layout.position[drill]))
}

// Sure is whether it must.
func (t *Truth) Sure(drill, side int) bool { return t.sure[side].has(int(t.layout.position[drill])) }

// Firm is whether it can whatever a test shows.
func (t *Truth) Firm(drill, side int) bool { return t.firm[side].has(int(t.layout.position[drill])) }

// Covered is whether it can only for a predicate that a clearance covers.
func (t *Truth) Covered(drill, side int) bool {
	return t.covering[side].has(int(t.layout.position[drill]))
}

// Truths is the room for the whole truth of a book.
type Truths struct {
	Truth
	*Verdicts
}

// NewTruths makes the room.
func (p *Program) NewTruths() *Truths {
	t := &Truths{Verdicts: p.NewVerdicts()}
	t.layout = p.layout
	for _, sets := range []*[2]set{&t.possible, &t.sure, &t.firm, &t.covering} {
		for side := range sets {
			sets[side] = newSet(p.layout.first)
		}
	}
	return t
}

// Each answers every rule for every drill, and shows them one by one; what is shown is written over by the next.
// No rule spares another its work, as it does in Judge.
func (t *Truths) Each(f, uncovered *client.Facts, lift *predicate.Row, show func(rule int, t *Truth)) {
	t.begin(f, uncovered, lift)
	for i := range t.program.rules {
		t.rule(&t.program.rules[i], uncovered != nil)
		show(i, &t.Truth)
	}
}

func (t *Truths) rule(r *rule, covers bool) {
	some := t.run(t.request, r, possible, &t.question)
	unsettled := t.request.unsettled
	t.fold(&t.possible, r)
	switch {
	case some && unsettled:
		t.run(t.request, r, sure, nil)
		t.fold(&t.sure, r)
	default:
		t.take(&t.sure, &t.possible)
	}
	if r.Effect != Bars {
		return
	}
	switch {
	case !some || !unsettled || r.firmIsPossible:
		t.take(&t.firm, &t.possible)
	case r.firmIsSure:
		t.take(&t.firm, &t.sure)
	default:
		t.run(t.request, r, firm, &t.question)
		t.fold(&t.firm, r)
	}
	for side := range 2 {
		clear(t.covering[side])
	}
	if some && covers && r.Coverable {
		t.run(t.uncovered, r, possible, &t.question)
		t.fold(&t.can, r)
		for side := range 2 {
			t.covering[side].rest(t.possible[side], t.can[side])
		}
	}
}

func (t *Truths) take(out, from *[2]set) {
	copy(out[0], from[0])
	copy(out[1], from[1])
}
