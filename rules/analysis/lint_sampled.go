package analysis

import (
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/predicate"
)

// seen is what the clients show who were looked at so far. It only ever refutes: what is left must be proved.
type seen struct {
	truths *rules.Truths
	at     map[*rules.Rule]*shown
	claims []*claim // that nobody has refuted
	open   []bool   // by drill: someone gets it
	barred [2][]bool
}

// shown is how a rule came out for the client at hand, by drill and side, and what was ever seen of it.
type shown struct {
	possible, sure []uint64
	fired          bool // surely, for someone
	spared         bool // for someone it can't hold, on something
}

// claim is a guess that wherever a rule surely holds one of some others could: nobody has been seen for whom the first
// holds and none of the others can.
type claim struct {
	kind    FindingKind
	rule    *rules.Rule
	others  []*rules.Rule
	refuted bool
}

func newSeen(e *rules.Edition) seen {
	words := (2*len(e.Catalogue.Drills) + 63) / 64
	s := seen{truths: e.NewTruths(), at: map[*rules.Rule]*shown{}, open: make([]bool, len(e.Catalogue.Drills))}
	for _, r := range e.AllRules() {
		s.at[r] = &shown{possible: make([]uint64, words), sure: make([]uint64, words)}
	}
	for side := range 2 {
		s.barred[side] = make([]bool, len(e.Catalogue.Drills))
	}
	return s
}

// lookedAtOnce is how many verdicts on a drill cost a step.
const lookedAtOnce = 4

// look takes in a client.
func (l *linter) look(q *client.Request) {
	if l.free.Abandoned() || client.Check(l.e.Frame, q) != nil {
		return
	}
	l.steps -= len(l.seen.at)*len(l.e.Catalogue.Drills)/lookedAtOnce + len(l.seen.claims)
	f := client.Derive(l.e.Frame, q)
	defer f.Done()
	lift := l.e.Catalogue.Drill(q.Lift)
	l.lookAtClient(f)
	l.lookAtDrills(f, lift)
	s := &l.seen
	s.claims = slices.DeleteFunc(s.claims, func(c *claim) bool {
		c.refuted = s.refutes(c)
		return c.refuted
	})
}

func (l *linter) lookAtClient(f *client.Facts) {
	for _, r := range slices.Concat(l.e.Book.Of(rules.Refer), l.e.Book.Advices) {
		at := l.seen.at[r]
		clear(at.possible)
		for side := range 2 {
			rd := predicate.Read(f, side, l.e.NoLift, l.e.NoLift)
			t := rd.Eval(r.When)
			at.fired, at.spared = at.fired || t.Sure, at.spared || !t.Possible
			for w := range at.possible {
				if t.Possible {
					at.possible[w] = ^uint64(0)
				}
			}
		}
	}
}

func (l *linter) lookAtDrills(f *client.Facts, lift *catalog.Drill) {
	s, drills := &l.seen, l.e.Catalogue.Drills
	for side := range 2 {
		clear(s.barred[side])
	}
	s.truths.Each(f, lift, func(r *rules.Rule, t *compile.Truth) {
		at := s.at[r]
		clear(at.possible)
		clear(at.sure)
		for i, d := range drills {
			if !l.e.AppliesTo(r, d) {
				at.spared = true
				continue
			}
			for side := range 2 {
				bit := 2*i + side
				if !t.Possible(i, side) {
					at.spared = true
					continue
				}
				at.possible[bit>>6] |= 1 << (bit & 63)
				s.barred[side][i] = s.barred[side][i] || r.Effect == rules.Bar
				if t.Sure(i, side) {
					at.sure[bit>>6] |= 1 << (bit & 63)
					at.fired = true
				}
			}
		}
	})
	for i, d := range drills {
		left, right := !s.barred[0][i], !s.barred[1][i]
		s.open[i] = s.open[i] || left && right || d.Sides == catalog.OneSide && (left || right)
	}
}

// refutes is whether the client at hand shows that a claim is wrong.
func (s *seen) refutes(c *claim) bool {
	for w, sure := range s.at[c.rule].sure {
		for _, o := range c.others {
			sure &^= s.at[o].possible[w]
		}
		if sure != 0 {
			return true
		}
	}
	return false
}
