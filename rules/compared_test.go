package rules

import (
	"fmt"
	"slices"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
)

// compared holds the programs on expr's machine, the closures and the compiled sets against each other: every truth of
// every rule on some drills, then verdict, decider and points. It counts the (rule, drill, side) that the
// machine judged, and the error is the first difference.
func compared(e, reference *Edition, truths *compile.Truths, f *client.Facts, lift *catalog.Drill, few []*catalog.Drill) (
	judged int, err error,
) {
	plain, alone, compiled := reference.Judge(f, lift), e.JudgeOne(f, lift), e.Judge(f, lift)
	defer alone.Done()
	defer compiled.Done()
	truths.Each(f, uncovered(f), e.LiftRow(lift), func(i int, truth *compile.Truth) {
		r := e.judged[i]
		for _, d := range few {
			for side := range 2 {
				want, closures, sets := plain.Held(r, d, side), alone.Held(r, d, side), heldBy(truth, r, d, side)
				if err == nil && (want != closures || want != sets) {
					err = fmt.Errorf("rule %s, drill %s, side %d: the machine says %s, closures %s, sets %s\n%s", r.ID, d.ID, side, bitsOf(want),
						bitsOf(closures), bitsOf(sets), r.CodeText)
				}
				if err == nil && want != 0 && !slices.Contains(slices.Collect(compiled.Applicable(r.Effect, d)), r) {
					err = fmt.Errorf("rule %s holds for drill %s, side %d, and isn't among those that can", r.ID, d.ID, side)
				}
				judged++
			}
		}
	})
	for _, d := range few {
		for side := range 2 {
			if err == nil {
				err = summed(plain, alone, d, side, "closures")
			}
			if err == nil {
				err = summed(plain, compiled, d, side, "sets")
			}
		}
	}
	return judged, err
}

// summed compares what the rules come to on one side of a drill.
func summed(want, got *Judgement, d *catalog.Drill, side int, way string) error {
	a, b := want.Verdict(d, side), got.Verdict(d, side)
	if a != b {
		return fmt.Errorf("drill %s, side %d: the machine says %s, %s %s", d.ID, side, a, way, b)
	}
	if x, y := want.Decider(d, side), got.Decider(d, side); x != y {
		return fmt.Errorf("drill %s, side %d is decided by %s, with %s by %s", d.ID, side, idOf(x), way, idOf(y))
	}
	if a == NotToday {
		return nil // nobody asks for the points of what is barred
	}
	if x, y := want.Favours(d, side), got.Favours(d, side); x != y {
		return fmt.Errorf("drill %s, side %d has %d points, with %s %d", d.ID, side, x, way, y)
	}
	return nil
}

func idOf(r *Rule) string {
	if r == nil {
		return "no rule"
	}
	return r.ID
}

// waiting compares what waits for a test in the whole catalogue.
func waiting(want, got *Judgement) error {
	a, b := want.Untested(), got.Untested()
	same := func(x, y UntestedSide) bool {
		return x.Drill == y.Drill && x.Side == y.Side && slices.Equal(x.Bars, y.Bars)
	}
	if !slices.EqualFunc(a, b, same) {
		return fmt.Errorf("%d sides of drills wait for a test, or wait otherwise than %d", len(a), len(b))
	}
	return nil
}

func heldBy(truth *compile.Truth, r *Rule, d *catalog.Drill, side int) Held {
	h := Held(0)
	set := func(bit Held, holds bool) {
		if holds {
			h |= bit
		}
	}
	set(Possible, truth.Possible(d.Index, side))
	set(Sure, truth.Sure(d.Index, side))
	if r.Effect == Bar {
		set(Firm, truth.Firm(d.Index, side))
		set(Covered, truth.Covered(d.Index, side))
	}
	return h
}

func bitsOf(h Held) string {
	out := ""
	for bit, name := range []string{"possible ", "sure ", "firm ", "covered "} {
		if h&(1<<bit) != 0 {
			out += name
		}
	}
	if out == "" {
		return "no"
	}
	return out[:len(out)-1]
}
