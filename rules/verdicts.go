package rules

import (
	"cmp"
	"iter"
	"slices"

	"drillwright/catalog"
	"drillwright/rules/compile"
)

// DrillResult is how a drill came out, by its index in the catalogue and by side.
type DrillResult = compile.DrillResult

// Drills is a set of drills of the catalogue.
type Drills = compile.Drills

// verdicts is what the whole book makes of drills for one request. The methods of Judgement of the same names say what each is.
type verdicts interface {
	verdict(d *catalog.Drill, side int) Verdict
	decider(d *catalog.Drill, side int) *Rule
	favours(d *catalog.Drill, side int) int
	resultOf(drill int) DrillResult
	left(of Drills) iter.Seq[DrillResult]
	countLeft(of Drills) int
	untested() []UntestedSide
	forget()
}

// indexed are the verdicts of the compiled program: all drills were judged at once.
type indexed struct {
	*compile.Verdicts
	edition *Edition
}

func (v *indexed) verdict(d *catalog.Drill, side int) Verdict {
	switch {
	case v.Barred(d.Index, side):
		return NotToday
	case v.Untested(d.Index, side):
		return TestFirst
	}
	return Open
}

func (v *indexed) decider(d *catalog.Drill, side int) *Rule {
	if !v.Barred(d.Index, side) {
		return nil
	}
	return v.edition.judged[v.Decider(d.Index, side)]
}

func (v *indexed) favours(d *catalog.Drill, side int) int { return v.Points(d.Index, side) }

func (v *indexed) resultOf(drill int) DrillResult { return v.Of(drill) }

func (v *indexed) left(of Drills) iter.Seq[DrillResult] { return v.Left(of) }

func (v *indexed) countLeft(of Drills) int { return v.CountLeft(of, v.edition.groups.oneSide) }

func (v *indexed) untested() []UntestedSide {
	list := slices.SortedStableFunc(v.AllUntested, func(x, y compile.UntestedSide) int {
		return cmp.Or(cmp.Compare(x.Drill, y.Drill), cmp.Compare(x.Side, y.Side))
	})
	var out []UntestedSide
	for i, w := range list {
		if i == 0 || list[i-1].Drill != w.Drill || list[i-1].Side != w.Side {
			out = append(out, UntestedSide{Drill: v.edition.Catalogue.Drills[w.Drill], Side: w.Side})
		}
		last := &out[len(out)-1]
		last.Bars = append(last.Bars, v.edition.judged[w.Rule])
	}
	return out
}

func (v *indexed) forget() { v.Forget() }

// oneByOne asks the rules about each drill when it is asked about, through the closures or, on a plain edition, on expr's machine.
type oneByOne struct{ *Judgement }

func (v oneByOne) verdict(d *catalog.Drill, side int) Verdict {
	worst := Open
	for r := range v.Applicable(Bar, d) {
		switch v.Barred(r, d, side) {
		case NotToday:
			return NotToday
		case TestFirst:
			worst = TestFirst
		}
	}
	return worst
}

func (v oneByOne) decider(d *catalog.Drill, side int) *Rule {
	for r := range v.Applicable(Bar, d) {
		if v.Barred(r, d, side) == NotToday {
			return r
		}
	}
	return nil
}

func (v oneByOne) favours(d *catalog.Drill, side int) int {
	total := 0
	for r := range v.Applicable(Favour, d) {
		if v.Favoured(r, d, side) {
			total += r.Points
		}
	}
	return total
}

func (v oneByOne) resultOf(drill int) DrillResult {
	s, d := DrillResult{Drill: drill}, v.Edition.Catalogue.Drills[drill]
	for side := range 2 {
		verdict := v.verdict(d, side)
		if s.Barred[side], s.Untested[side] = verdict == NotToday, verdict == TestFirst; verdict != NotToday {
			s.Points[side] = v.favours(d, side)
		}
	}
	return s
}

func (v oneByOne) left(of Drills) iter.Seq[DrillResult] {
	return func(yield func(DrillResult) bool) {
		for i := range v.Edition.Catalogue.Drills {
			if !of.Has(i) {
				continue
			}
			if s := v.resultOf(i); !(s.Barred[0] && s.Barred[1]) && !yield(s) {
				return
			}
		}
	}
}

func (v oneByOne) countLeft(of Drills) int {
	n := 0
	for s := range v.left(of) {
		if v.Edition.groups.oneSide.Has(s.Drill) || !s.Barred[0] && !s.Barred[1] {
			n++
		}
	}
	return n
}

func (v oneByOne) untested() []UntestedSide {
	var out []UntestedSide
	for _, d := range v.Edition.Catalogue.Drills {
		out = append(out, v.UntestedOf(d)...)
	}
	return out
}

func (oneByOne) forget() {}
