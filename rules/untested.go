package rules

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// UntestedSide is a side of a drill that would be open but for bars that a test may lift.
type UntestedSide struct {
	Drill *catalog.Drill
	Side  int
	Bars  []*Rule
}

// Measure is a range on a side of the body.
type Measure struct {
	Path *client.Path
	Side int
}

// UntestedOf lists the sides of one drill that wait for a test.
func (j *Judgement) UntestedOf(d *catalog.Drill) []UntestedSide {
	var out []UntestedSide
	for side := range 2 {
		if j.Verdict(d, side) != TestFirst {
			continue
		}
		w := UntestedSide{Drill: d, Side: side}
		for r := range j.Applicable(Bar, d) {
			if j.Barred(r, d, side) == TestFirst {
				w.Bars = append(w.Bars, r)
			}
		}
		out = append(out, w)
	}
	return out
}

// Missing lists the ranges that the bars read and that nobody measured, each once.
func (j *Judgement) Missing(w UntestedSide) []Measure {
	var out []Measure
	for _, r := range w.Bars {
		readings := j.single.of(r, w.Drill, w.Side)
		for i := range readings {
			rd := &readings[i]
			for member := range r.Members(rd) {
				r.refs(member, func(ref *predicate.Ref) {
					if !strings.HasPrefix(ref.Name, "client.range.") || rd.Facts.Status[rd.Side][ref.Index] == client.Measured {
						return
					}
					m := Measure{Path: ref.Path}
					if ref.Path.Sided {
						m.Side = rd.Side
					}
					if !slices.Contains(out, m) {
						out = append(out, m)
					}
				})
			}
		}
	}
	return out
}
