package rules

import (
	"iter"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// Verdict on a drill and a side.
type Verdict string

// The verdicts, from best to worst.
const (
	Open      Verdict = "OPEN"
	TestFirst Verdict = "TEST_FIRST"
	NotToday  Verdict = "NOT_TODAY"
)

// Held is how a rule came out for a drill on a side.
type Held uint8

// Bits of Held. Firm belongs to bars: possible even with every testable unknown taken as false. Covered: a bar
// that a clinician's clearance turns into a caution.
const (
	Possible Held = 1 << iota
	Sure
	Firm
	Covered
)

// bars is what a bar rule makes of a drill.
func (h Held) bars() Verdict {
	switch {
	case h&Possible == 0 || h&Covered != 0:
		return Open
	case h&(Sure|Firm) != 0:
		return NotToday
	default:
		return TestFirst
	}
}

// judge answers how one rule came out for one drill on a side.
type judge interface {
	held(r *Rule, d *catalog.Drill, side int) Held
}

// Judgement is the book held against the catalogue for one request. The verdicts and points of all drills come from
// the compiled program; how a single rule came out for one drill is answered by closures when it is asked. It is
// for one goroutine.
type Judgement struct {
	Edition *Edition
	Facts   *client.Facts
	// Lift is the drill that the request is about; nil when it is about none.
	Lift *catalog.Drill

	judge    judge
	verdicts verdicts // indexed; one by one when only single drills are looked at, and on a plain edition

	single  single  // the closures
	indexed indexed // its scratch memory is kept from one request to the next
	said    said
}

// Judge holds the book against every drill.
func (e *Edition) Judge(f *client.Facts, lift *catalog.Drill) *Judgement {
	j := e.JudgeOne(f, lift)
	if e.reference != nil {
		return j
	}
	if j.indexed.Verdicts == nil {
		j.indexed = indexed{e.program.NewVerdicts(), e}
	}
	j.indexed.Judge(f, j.single.uncovered, e.LiftRow(lift), j.single.open().Either)
	j.verdicts = &j.indexed
	return j
}

// JudgeOne is a judgement for looking at a drill or two: nothing is worked out before it is asked.
func (e *Edition) JudgeOne(f *client.Facts, lift *catalog.Drill) *Judgement {
	j, ok := e.judgements.Get().(*Judgement)
	if !ok {
		j = &Judgement{Edition: e}
	}
	j.Facts, j.Lift, j.verdicts, j.said = f, lift, oneByOne{j}, j.said[:0]
	j.single.begin(e, f, lift)
	j.judge = &j.single
	if e.reference != nil {
		j.judge = e.reference.begin(f, j.single.uncovered, lift)
	}
	return j
}

// Done gives a judgement back to the edition; nothing of it may be used afterwards. It keeps room, and nothing of the
// client.
func (j *Judgement) Done() {
	j.verdicts.forget()
	j.Facts, j.Lift, j.judge, j.verdicts = nil, nil, nil, nil
	j.single.forget()
	clear(j.said)
	j.Edition.judgements.Put(j)
}

// Held is how a rule came out.
func (j *Judgement) Held(r *Rule, d *catalog.Drill, side int) Held { return j.judge.held(r, d, side) }

// Barred says whether a bar rule bars, and whether a test could settle it.
func (j *Judgement) Barred(r *Rule, d *catalog.Drill, side int) Verdict {
	if r.Effect != Bar {
		return Open
	}
	return j.Held(r, d, side).bars()
}

// SecondLook judges a side of a drill once more on its own, through the closures, without the index and the preconditions, and
// says whether it comes out no worse: a fault of theirs can hide a drill, never open one.
func (j *Judgement) SecondLook(d *catalog.Drill, side int) bool {
	if first := j.Verdict(d, side); Together(first, oneByOne{j}.verdict(d, side)) == first {
		return true
	}
	j.Edition.Withhold()
	return false
}

// Verdict is the worst of all bar rules on a drill and a side.
func (j *Judgement) Verdict(d *catalog.Drill, side int) Verdict { return j.verdicts.verdict(d, side) }

// Decider is the first rule that bars a drill on a side; nil when none does.
func (j *Judgement) Decider(d *catalog.Drill, side int) *Rule { return j.verdicts.decider(d, side) }

// Favours adds up the points of a drill on a side: what speaks for it only when sure, against it when possible. Of a
// drill that is barred nobody asks.
func (j *Judgement) Favours(d *catalog.Drill, side int) int { return j.verdicts.favours(d, side) }

// ResultOf is how one drill came out.
func (j *Judgement) ResultOf(drill int) DrillResult { return j.verdicts.resultOf(drill) }

// Left yields those of some drills that aren't barred on both sides, in no order that means anything.
func (j *Judgement) Left(of Drills) iter.Seq[DrillResult] { return j.verdicts.left(of) }

// CountLeft counts those of some drills that aren't barred: on both sides where they work one side at a time, on either
// where they work both.
func (j *Judgement) CountLeft(of Drills) int { return j.verdicts.countLeft(of) }

// Untested lists what waits for a test, in the order of the catalogue.
func (j *Judgement) Untested() []UntestedSide { return j.verdicts.untested() }

// Together is the verdict on a drill that works both sides: barred if either is, test first if either is.
func Together(a, b Verdict) Verdict {
	if a == NotToday || b == NotToday {
		return NotToday
	}
	if a == TestFirst || b == TestFirst {
		return TestFirst
	}
	return Open
}

// Favoured is whether a favour rule counts.
func (j *Judgement) Favoured(r *Rule, d *catalog.Drill, side int) bool {
	h := j.Held(r, d, side)
	return r.Points > 0 && h&Sure != 0 || r.Points < 0 && h&Possible != 0
}

// BothRows is true for effects that look at both rows of a one-side drill; points and doses look at the working side.
func (r *Rule) BothRows() bool { return !r.oneRow }

// Rows are the rows of a drill: its working side, and of a one-side drill the other too.
func (e *Edition) Rows(d *catalog.Drill) []*predicate.Row { return e.rows[d.Index] }

// RowsReadBy are the rows of a drill that a rule looks at.
func (e *Edition) RowsReadBy(r *Rule, d *catalog.Drill) []*predicate.Row {
	rows := e.rows[d.Index]
	if r.oneRow {
		return rows[:1]
	}
	return rows
}

// liftRow is the working row of the lift, or the row of no lift.
func (e *Edition) LiftRow(lift *catalog.Drill) *predicate.Row {
	if lift == nil {
		return e.NoLift
	}
	return e.rows[lift.Index][0]
}

// Withheld is how many sides of drills the second look held back, over all requests on this edition, and on the copies of it that
// ByReference and Planted make: a side came out worse than in the index, or a dose passed a limit. It is 0 as long as neither
// has a fault.
func (e *Edition) Withheld() uint64 { return e.withheld.Load() }

// Withhold counts a side of a drill that the second look holds back.
func (e *Edition) Withhold() { e.withheld.Add(1) }
