package rules

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// Satisfies is whether a condition holds for a drill on a side.
func (j *Judgement) Satisfies(n *Node, d *catalog.Drill, side int) client.Truth {
	return j.reading(d, side).eval(n)
}

func (j *Judgement) reading(d *catalog.Drill, side int) reading {
	return reading{facts: j.Facts, side: side, drill: j.Edition.rows[d.Index][0], lift: j.Edition.liftRow(j.Lift), only: -1}
}

// Sum is what a drill adds to the total of a plan's limit; seconds is what its dose takes.
func (j *Judgement) Sum(m *Num, d *catalog.Drill, seconds int) float64 {
	rd := j.reading(d, 0)
	rd.seconds = float64(seconds)
	return rd.number(m).Lo
}

// Bound is the value of a plan's bound, which reads the request only; nil when there is none.
func (j *Judgement) Bound(m *Num) *float64 {
	if m == nil {
		return nil
	}
	rd := reading{facts: j.Facts, drill: j.Edition.noLift, lift: j.Edition.noLift, only: -1}
	v := rd.number(m).Hi
	return &v
}

// Filter compiles a condition over drill alone, for looking things up in the catalogue. The error is catalog.Problems.
func (e *Edition) Filter(expression string) (func(*catalog.Drill) bool, error) {
	d := catalog.NewDecoder()
	src := &catalog.Source{Name: "filter", Lines: strings.Split(expression, "\n")}
	at := catalog.Pos{Source: src, Line: 1, Col: 1}
	reader := newBookReader(d, e.Frame, e.tags)
	n := reader.condition(catalog.Text{Value: expression, At: at, Inner: at, Quoted: true}, []string{"drill"})
	if err := d.Err(); err != nil {
		return nil, err
	}
	return func(d *catalog.Drill) bool {
		return slices.ContainsFunc(e.rows[d.Index], func(row *Row) bool {
			return reading{drill: row, lift: e.noLift, only: -1}.eval(n).Sure
		})
	}, nil
}

// Raised is a refer or advice rule that holds, or could, on one side.
type Raised struct {
	Rule   *Rule
	Side   int
	Reason Reason
	Sure   bool
	// Unsettled are the facts whose absence keeps it open: answers not given, measures not taken.
	Unsettled []string
}

// Raise holds refer or advice rules against a client. Rules that read no side are raised once.
func (e *Edition) Raise(list []*Rule, effect Effect, f *client.Facts) []Raised {
	var out []Raised
	for _, r := range list {
		if r.Effect != effect {
			continue
		}
		sided := r.When.reads(func(ref *Ref) bool { return ref.Path != nil && ref.Path.Sided })
		for side := range 2 {
			if side == 1 && !sided {
				break
			}
			rd := reading{facts: f, side: side, drill: e.noLift, lift: e.noLift, only: -1}
			for _, reason := range e.reasonsOn(r, rd) {
				if !sided {
					reason.Side = ""
				}
				if side == 1 && reason.Side == "" {
					continue // a midline fact reads the same on both sides
				}
				out = append(out, Raised{r, side, reason, reason.Standing == Holds, unsettled(reason)})
			}
		}
	}
	return out
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
		if (reading{drill: row, lift: e.noLift, only: -1}).eval(r.Class).Possible {
			return true
		}
	}
	return false
}

// CouldHold is whether a rule could hold for a drill on a side if the facts were these instead. It uses
// the closures, not the programs: the second look at what is about to be returned, and the trial of a measure.
func (j *Judgement) CouldHold(r *Rule, d *catalog.Drill, side int, f *client.Facts) bool {
	for _, row := range j.Edition.rowsOf(d, side) {
		rd := reading{facts: f, side: row.side, drill: row.tags, lift: j.Edition.liftRow(j.Lift), only: -1}
		if rd.eval(r.When).Possible {
			return true
		}
	}
	return false
}

// SecondLook judges one drill on its own through the closures and returns the first bar rule that could hold and
// that the judgement didn't report; nil when both agree that it isn't barred.
func (j *Judgement) SecondLook(d *catalog.Drill, side int) *Rule {
	for _, r := range j.Edition.Book.Rules {
		if r.Effect == Bar && j.Held(r, d, side)&Possible == 0 && j.CouldHold(r, d, side, j.Facts) {
			return r
		}
	}
	return nil
}

// ReadsKit is true for conditions about the kit at hand.
func (n *Node) ReadsKit() bool {
	return n.reads(func(r *Ref) bool { return r.Name == "client.kit" || r.Name == "request.kit_taken" })
}

// ReadsConditions is true for conditions about what a client was told to have.
func (n *Node) ReadsConditions() bool {
	return n.reads(func(r *Ref) bool { return strings.HasPrefix(r.Name, "client.conditions") })
}
