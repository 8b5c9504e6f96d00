package rules

import (
	"iter"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
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
	verdicts *compile.Verdicts // nil when only single drills are looked at, and on a plain edition

	alone alone // the closures
	said  said
	room  *compile.Verdicts // for verdicts, from one request to the next
}

// Judge holds the book against every drill.
func (e *Edition) Judge(f *client.Facts, lift *catalog.Drill) *Judgement {
	j := e.JudgeOne(f, lift)
	if e.plain != nil {
		return j
	}
	if j.room == nil {
		j.room = e.program.NewVerdicts()
	}
	j.verdicts = j.room
	j.verdicts.Judge(f, j.alone.uncovered, e.LiftRow(lift), j.alone.open().Either)
	return j
}

// JudgeOne is a judgement for looking at a drill or two: nothing is worked out before it is asked.
func (e *Edition) JudgeOne(f *client.Facts, lift *catalog.Drill) *Judgement {
	j, ok := e.judgements.Get().(*Judgement)
	if !ok {
		j = &Judgement{Edition: e}
	}
	j.Facts, j.Lift, j.verdicts, j.said = f, lift, nil, j.said[:0]
	j.alone.begin(e, f, lift)
	j.judge = &j.alone
	if e.plain != nil {
		j.judge = e.plain.begin(f, j.alone.uncovered, lift)
	}
	return j
}

// Done gives a judgement back to the edition; nothing of it may be used afterwards. It keeps room, and nothing of the
// client.
func (j *Judgement) Done() {
	j.Facts, j.Lift, j.judge = nil, nil, nil
	j.alone.forget()
	clear(j.said)
	if j.verdicts != nil {
		j.verdicts.Forget()
	}
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

// Verdict is the worst of all bar rules on a drill and a side.
func (j *Judgement) Verdict(d *catalog.Drill, side int) Verdict {
	switch {
	case j.verdicts == nil:
		return j.oneByOne(d, side)
	case j.verdicts.Barred(d.Index, side):
		return NotToday
	case j.verdicts.Untested(d.Index, side):
		return TestFirst
	}
	return Open
}

// oneByOne is the verdict without the index.
func (j *Judgement) oneByOne(d *catalog.Drill, side int) Verdict {
	worst := Open
	for r := range j.Relevant(Bar, d) {
		switch j.Barred(r, d, side) {
		case NotToday:
			return NotToday
		case TestFirst:
			worst = TestFirst
		}
	}
	return worst
}

// SecondLook judges a side of a drill once more on its own, through the closures, without the index and the gates, and
// says whether it comes out no worse: a fault of theirs can hide a drill, never open one.
func (j *Judgement) SecondLook(d *catalog.Drill, side int) bool {
	if first := j.Verdict(d, side); Together(first, j.oneByOne(d, side)) == first {
		return true
	}
	j.Edition.Withhold()
	return false
}

// Standing is how a drill came out, by its place in the catalogue and by side.
type Standing = compile.Standing

// StandingOf is how one drill came out.
func (j *Judgement) StandingOf(drill int) Standing {
	if j.verdicts != nil {
		return j.verdicts.Of(drill)
	}
	s, d := Standing{Drill: drill}, j.Edition.Catalogue.Drills[drill]
	for side := range 2 {
		v := j.Verdict(d, side)
		if s.Barred[side], s.Untested[side] = v == NotToday, v == TestFirst; v != NotToday {
			s.Points[side] = j.Favours(d, side)
		}
	}
	return s
}

// Drills is a set of drills of the catalogue.
type Drills = compile.Drills

// Left yields those of some drills that aren't barred on both sides, in no order that means anything.
func (j *Judgement) Left(of Drills) iter.Seq[Standing] {
	if j.verdicts != nil {
		return j.verdicts.Left(of)
	}
	return func(yield func(Standing) bool) {
		for i := range j.Edition.Catalogue.Drills {
			if !of.Has(i) {
				continue
			}
			if s := j.StandingOf(i); !(s.Barred[0] && s.Barred[1]) && !yield(s) {
				return
			}
		}
	}
}

// CountLeft counts those of some drills that aren't barred: on both sides where they work one side at a time, on either
// where they work both.
func (j *Judgement) CountLeft(of Drills) int {
	oneSide := j.Edition.groups.oneSide
	if j.verdicts != nil {
		return j.verdicts.CountLeft(of, oneSide)
	}
	n := 0
	for s := range j.Left(of) {
		if oneSide.Has(s.Drill) || !s.Barred[0] && !s.Barred[1] {
			n++
		}
	}
	return n
}

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

// Favours adds up the points of a drill on a side: what speaks for it only when sure, against it when possible. Of a
// drill that is barred nobody asks.
func (j *Judgement) Favours(d *catalog.Drill, side int) int {
	if j.verdicts != nil {
		return j.verdicts.Points(d.Index, side)
	}
	total := 0
	for r := range j.Relevant(Favour, d) {
		if j.Favoured(r, d, side) {
			total += r.Points
		}
	}
	return total
}

// Favoured is whether a favour rule counts.
func (j *Judgement) Favoured(r *Rule, d *catalog.Drill, side int) bool {
	h := j.Held(r, d, side)
	return r.Points > 0 && h&Sure != 0 || r.Points < 0 && h&Possible != 0
}

// Decider is the first rule that bars a drill on a side; nil when none does.
func (j *Judgement) Decider(d *catalog.Drill, side int) *Rule {
	if j.verdicts != nil {
		if !j.verdicts.Barred(d.Index, side) {
			return nil
		}
		return j.Edition.judged[j.verdicts.Decider(d.Index, side)]
	}
	for r := range j.Relevant(Bar, d) {
		if j.Barred(r, d, side) == NotToday {
			return r
		}
	}
	return nil
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
