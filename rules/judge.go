package rules

import (
	"drillwright/catalog"
	"drillwright/rules/client"
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

// Judgement is every rule held against every drill on both sides for one request.
type Judgement struct {
	Edition *Edition
	Facts   *client.Facts
	// Lift is the drill that the request is about; nil when it is about none.
	Lift *catalog.Drill

	// Drills are those that were judged.
	Drills []*catalog.Drill

	held map[*Rule][]Held // by drill*2+side
}

// Judge holds every bar, caution, favour, adjust and dose rule of the book against every drill. It is the one
// way in: whichever way judging is done, this is what its callers see.
func (e *Edition) Judge(f *client.Facts, lift *catalog.Drill) *Judgement {
	return e.plain.judge(f, lift, e.Catalogue.Drills)
}

// JudgeOne does the same for one drill.
func (e *Edition) JudgeOne(f *client.Facts, lift, d *catalog.Drill) *Judgement {
	return e.plain.judge(f, lift, []*catalog.Drill{d})
}

// Held is how a rule came out.
func (j *Judgement) Held(r *Rule, d *catalog.Drill, side int) Held { return j.held[r][d.Index*2+side] }

// Barred says whether a bar rule bars, and whether a test could settle it.
func (j *Judgement) Barred(r *Rule, d *catalog.Drill, side int) Verdict {
	if r.Effect != Bar {
		return Open
	}
	switch h := j.Held(r, d, side); {
	case h&Possible == 0 || h&Covered != 0:
		return Open
	case h&Sure != 0 || h&Firm != 0:
		return NotToday
	default:
		return TestFirst
	}
}

// Verdict is the worst of all bar rules on a drill and a side.
func (j *Judgement) Verdict(d *catalog.Drill, side int) Verdict {
	worst := Open
	for _, r := range j.Edition.Book.Rules {
		if r.Effect != Bar {
			continue
		}
		switch j.Barred(r, d, side) {
		case NotToday:
			return NotToday
		case TestFirst:
			worst = TestFirst
		}
	}
	return worst
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

// Favours adds up the points of a drill on a side: what speaks for it only when sure, against it when possible.
func (j *Judgement) Favours(d *catalog.Drill, side int) int {
	total := 0
	for _, r := range j.Edition.Book.Rules {
		if r.Effect == Favour && j.Favoured(r, d, side) {
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

// row is one row of a drill on the side of the body that it falls on.
type row struct {
	tags *Row
	side int
}

// rowsOf lists what a drill on a side asks: its first row of that side, its second of the other.
func (e *Edition) rowsOf(d *catalog.Drill, side int) []row {
	rows := []row{{e.rows[d.Index][0], side}}
	if len(d.Rows) > 1 {
		rows = append(rows, row{e.rows[d.Index][1], 1 - side})
	}
	return rows
}

// allRows is true for effects that look at both rows of a one-side drill; points and doses look at the working side.
func (r *Rule) allRows() bool { return r.Effect == Bar || r.Effect == Caution || r.Effect == Adjust }

// liftRow is the working row of the lift, or the row of no lift.
func (e *Edition) liftRow(lift *catalog.Drill) *Row {
	if lift == nil {
		return e.noLift
	}
	return e.rows[lift.Index][0]
}
