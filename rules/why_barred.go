package rules

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// Clause is one atom of a barring rule, as it stands for a drill and side.
type Clause struct {
	Text  string
	Truth client.Truth
	// Flip says what would turn it, when training, kit or a measurement can; else it is empty.
	Flip string
}

// Why is one barring reason taken apart.
type Why struct {
	Reason  Reason
	Clauses []Clause
	// Opens are the flips that would each lift the bar alone. When there is none, Words says what decides.
	Opens []string
	Words string
}

// WhyBarred takes a bar rule apart on a drill and side, one Why for each reason.
func (j *Judgement) WhyBarred(r *Rule, d *catalog.Drill, side int) []Why {
	var out []Why
	e := j.Edition
	readings := j.single.of(r, d, side)
	for i := range readings {
		rd := &readings[i]
		for member := range r.Members(rd) {
			rd.Only = member
			out = append(out, e.takeApart(r, rd, d))
			rd.Only = -1
		}
	}
	return out
}

func (e *Edition) takeApart(r *Rule, rd *predicate.Reading, d *catalog.Drill) Why {
	why := Why{Reason: e.reason(r, rd, rd.Eval(r.When).Sure)}
	why.Reason.Facts = e.facts(r, rd)
	var visit func(n *predicate.Node, under bool)
	visit = func(n *predicate.Node, under bool) {
		switch {
		case n.Domain != "" && rd.Only >= 0 && n == r.Domain:
			visit(n.Kids[rd.Only], under)
		case n.Domain != "":
		case n.Op == predicate.And || n.Op == predicate.Or || n.Op == predicate.Not:
			for _, k := range n.Kids {
				visit(k, under != (n.Op == predicate.Not))
			}
		default:
			c := Clause{Text: n.Text, Truth: rd.Eval(n), Flip: e.flip(n, rd, d, under)}
			why.Clauses = append(why.Clauses, c)
			if c.Flip != "" && decides(r, rd, n, under) && !slices.Contains(why.Opens, c.Flip) {
				why.Opens = append(why.Opens, c.Flip)
			}
		}
	}
	visit(r.When, false)
	if len(why.Opens) == 0 {
		why.Words = r.WhoDecides
	}
	return why
}

// decides is whether turning one atom alone would make the rule false.
func decides(r *Rule, rd *predicate.Reading, n *predicate.Node, under bool) bool {
	if under {
		return true // the kit rule's form: not all(…); turning its only atom turns the rule
	}
	return !rd.Without(r.When, n).Possible
}

// flip says what would turn an atom: a number to reach, or kit to have. Pain, age, conditions and answers never.
func (e *Edition) flip(n *predicate.Node, rd *predicate.Reading, d *catalog.Drill, under bool) string {
	switch n.Op {
	case predicate.Compare:
		return e.flipNumber(n, rd)
	case predicate.Has:
		if n.List.Ref != nil && n.List.Ref.Name == "drill.kit" && n.Reads(func(r *predicate.Ref) bool { return r.Name == "client.kit" }) {
			return strings.Join(e.missingKit(rd, d), ", ") + " at hand"
		}
	}
	return ""
}

func (e *Edition) missingKit(rd *predicate.Reading, d *catalog.Drill) []string {
	have := rd.Facts.Words("client.kit", rd.Side).Sure
	var names []string
	for _, k := range d.Kit {
		if !slices.Contains(have, k) {
			names = append(names, e.Frame.Vocabulary.Name("kit", k))
		}
	}
	return names
}

// flipNumber solves a comparison for the one fact in it that training can change.
func (e *Edition) flipNumber(n *predicate.Node, rd *predicate.Reading) string {
	var fact *predicate.Ref
	one := true
	find := func(r *predicate.Ref) {
		if r.Path != nil && r.Path.CanChange {
			one = one && (fact == nil || fact.Name == r.Name)
			fact = r
		}
	}
	n.OwnRefs(find)
	if fact == nil || !one {
		return ""
	}
	trial := *rd
	trial.On(rd.Facts, rd.Side)
	at := func(v float64) (gap float64, known bool) {
		rd.Facts.Try(fact.Path, rd.Side, v, func() {
			l, r := trial.Value(n.L), trial.Value(n.R)
			gap, known = l.Lo-r.Lo, l.Known() && r.Known()
		})
		return gap, known
	}
	zero, ok0 := at(0)
	unit, ok1 := at(1)
	if slope := unit - zero; ok0 && ok1 && slope != 0 {
		need := -zero / slope
		side := ""
		if fact.Path.Sided {
			side = strings.ToLower(string(client.Sides[rd.Side])) + " "
		}
		less := (n.Cmp == ">" || n.Cmp == ">=") == (slope < 0)
		return fmt.Sprintf("%s%s of %s%s or %s, measured", side, fact.Path.Measure, Figure(need), unitSign(fact.Path.Unit),
			map[bool]string{true: "more", false: "less"}[less])
	}
	return ""
}

// WithUnit is a figure with its unit.
func WithUnit(figure, unit string) string { return figure + unitSign(unit) }

func unitSign(unit string) string {
	switch unit {
	case "deg":
		return "°"
	case "":
		return ""
	default:
		return " " + unit
	}
}

// whoDecides says what stands behind a bar that neither training nor kit opens.
func (r *Rule) whoDecides() string {
	reads := func(prefix ...string) bool {
		return r.When.Reads(func(ref *predicate.Ref) bool {
			return slices.ContainsFunc(prefix, func(p string) bool { return strings.HasPrefix(ref.Name, p) })
		})
	}
	switch {
	case reads("client.supervised"):
		return "someone there who supervises opens it"
	case reads("client.operation_weeks", "client.surgery_weeks"):
		return "it waits for the weeks since the operation, and for what the surgeon allows"
	case reads("client.condition_days") && reads("client.conditions"):
		return "it waits for its days, or for a clinician's clearance"
	case reads("client.condition_days"):
		return "it waits for its days, and for what the clinician allows"
	case reads("client.conditions", "client.past_conditions", "client.surgery", "client.limit", "client.pregnancy", "client.blood_pressure",
		"client.age",
		"client.medicines", "client.answers", "client.pain", "client.irritability", "client.painful"):
		return "only a clinician's clearance changes this"
	case reads("client.rung"):
		return "today's rung changes through a review, not here"
	case reads("request.kit_taken", "request.stations_taken"):
		return "it is free again when the kit or station is"
	case reads("request.allowed", "request.complaint"):
		return "it comes back when the complaint has settled"
	case reads("client.training"):
		return "it is for those who have trained longer"
	default:
		return "the rulebook decides this"
	}
}
