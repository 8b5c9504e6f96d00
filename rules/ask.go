package rules

import (
	"iter"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/language"
	"drillwright/rules/predicate"
)

// Satisfies is whether a condition holds for a drill on a side.
func (j *Judgement) Satisfies(n *predicate.Node, d *catalog.Drill, side int) client.Truth {
	rd := j.reading(d, side)
	defer rd.Leave()
	return rd.Eval(n)
}

// reading is that of the client on a side, turned to a drill until it is left.
func (j *Judgement) reading(d *catalog.Drill, side int) *predicate.Reading {
	rd := &j.single.client[side]
	rd.Drill = j.Edition.rows[d.Index][0]
	return rd
}

// Sum is what a drill adds to the total of a plan's limit; seconds is what its dose takes.
func (j *Judgement) Sum(m *predicate.Num, d *catalog.Drill, seconds int) float64 {
	rd := j.reading(d, 0)
	defer rd.Leave()
	rd.Seconds = float64(seconds)
	return rd.Value(m).Lo
}

// Bound is the value of a plan's bound, which reads the request only; nil when there is none.
func (j *Judgement) Bound(m *predicate.Num) *float64 {
	if m == nil {
		return nil
	}
	rd := predicate.Read(j.Facts, 0, j.Edition.NoLift, j.Edition.NoLift)
	v := rd.Value(m).Hi
	return &v
}

// Filter compiles a condition over drill alone, for looking things up in the catalogue. The error is authored.Problems.
func (e *Edition) Filter(expression string) (func(*catalog.Drill) bool, error) {
	d := authored.NewDecoder()
	n := language.NewReader(d.Report, e.Frame, e.tags, language.Texts{}).Predicate(authored.NewText("filter", expression), []string{"drill"})
	if err := d.Err(); err != nil {
		return nil, err
	}
	return func(d *catalog.Drill) bool {
		return slices.ContainsFunc(e.rows[d.Index], func(row *predicate.Row) bool {
			rd := predicate.Read(nil, 0, row, e.NoLift)
			return rd.Eval(n).Sure
		})
	}, nil
}

// Advisory is a refer or advice rule that holds, or could, on one side.
type Advisory struct {
	Rule   *Rule
	Reason Reason
	Sure   bool
	// Unsettled are the facts whose absence keeps it open: answers not given, measures not taken.
	Unsettled []string
}

// Advisories holds the book's refer or advice rules against a client and yields what holds, or could, in the order of the book. Rules
// that read no side are raised once.
func (e *Edition) Advisories(list []*Rule, f *client.Facts) iter.Seq[Advisory] {
	return func(yield func(Advisory) bool) {
		scratch := e.advisoryScratches.Get().(*advisoryScratch)
		defer scratch.done(e)
		readings := &scratch.readings
		*readings = [2]predicate.Reading{predicate.Read(f, 0, e.NoLift, e.NoLift), predicate.Read(f, 1, e.NoLift, e.NoLift)}
		scratch.before.Begin(readings)
		for i, r := range list {
			if r.constant != nil {
				if !yield(Advisory{Rule: r, Reason: *r.constant, Sure: true}) {
					return
				}
				continue
			}
			left, right := e.advisoryPreconditions.Holds(list[0].index+i, &scratch.before)
			for side, open := range [2]bool{left, right} {
				if !open || side == 1 && !r.Sided {
					continue
				}
				scratch.reasons = e.reasonsOn(scratch.reasons[:0], r, &readings[side], nil)
				for _, reason := range scratch.reasons {
					if !r.Sided {
						reason.Side = ""
					}
					if side == 1 && reason.Side == "" {
						continue // a midline fact reads the same on both sides
					}
					if !yield(Advisory{r, reason, reason.Standing == Holds, unsettled(reason)}) {
						return
					}
				}
			}
		}
	}
}

// advisoryScratch is the room for it, used again.
type advisoryScratch struct {
	readings [2]predicate.Reading
	before   compile.Asked
	reasons  []Reason
}

func (r *advisoryScratch) done(e *Edition) {
	r.readings = [2]predicate.Reading{}
	r.before.Forget()
	clear(r.reasons[:cap(r.reasons)])
	e.advisoryScratches.Put(r)
}

func unsettled(r Reason) []string {
	var paths []string
	for _, f := range r.Facts {
		if f.Status == "UNKNOWN" {
			paths = append(paths, f.Path)
		}
	}
	return paths
}

// ClassHolds is whether a drill belongs to the class that a referral names.
func (e *Edition) ClassHolds(r *Rule, d *catalog.Drill) bool {
	for _, row := range e.rows[d.Index] {
		if rd := predicate.Read(nil, 0, row, e.NoLift); rd.Eval(r.class).Possible {
			return true
		}
	}
	return false
}

// CouldHold is whether a rule could hold for a drill on a side if the facts were these, as they are now.
func (j *Judgement) CouldHold(r *Rule, d *catalog.Drill, side int, f *client.Facts) bool {
	return j.single.couldHold(r, d, side, f)
}

// ReadsKit is true for rules about the kit at hand.
func (r *Rule) ReadsKit() bool { return r.kit }

func readsKit(n *predicate.Node) bool {
	return n.Reads(func(r *predicate.Ref) bool { return r.Name == "client.kit" || r.Name == "request.kit_taken" })
}

func readsConditions(n *predicate.Node) bool {
	return n.Reads(func(r *predicate.Ref) bool { return strings.HasPrefix(r.Name, "client.conditions") })
}
