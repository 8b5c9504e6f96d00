package analysis

import (
	"slices"
	"strings"

	"drillwright/rules/client"
)

// reporting is how one kind of fact is reported in a request.
type reporting struct {
	prefix string
	report func(t *reporter, v Value)
	// isolated: telling it changes nothing that is worked out, but for what keysFor names.
	isolated bool
	whole    bool // counted, not measured
	// canNone: it can be reported that there is none.
	canNone bool
}

// reportings, by the prefix of the paths: those of facts that are reported as they are, and those that take more. Paths that aren't here
// follow from others.
var reportings = append(ofFields(), []reporting{
	{prefix: "client.pregnancy.", report: (*reporter).pregnancy, whole: true, canNone: true},
	{prefix: "client.blood_pressure.", report: (*reporter).pressure, whole: true},
	{prefix: "client.conditions", report: (*reporter).condition},
	{prefix: "client.condition_days.", report: (*reporter).conditionDays, whole: true, canNone: true},
	{prefix: "client.medicines", report: (*reporter).medicine, isolated: true},
	{prefix: "client.kit", report: (*reporter).kit},
	{prefix: "client.familiar", report: (*reporter).familiar},
	{prefix: "client.week_sets.", report: (*reporter).weekSets, whole: true},
	{prefix: "client.painful.", report: (*reporter).painful, canNone: true},
	{prefix: "client.limit.", report: (*reporter).limit, canNone: true},
	{prefix: "client.cleared.", report: (*reporter).clearance},
	{prefix: "client.surgery.", report: (*reporter).surgery},
	{prefix: "client.surgery_cleared.", report: (*reporter).clearance},
	{prefix: "client.surgery_weeks.", report: (*reporter).surgeryWeeks, whole: true, canNone: true},
	{prefix: "client.trained_since_surgery.", report: (*reporter).trainedSince},
	{prefix: "client.operations", report: (*reporter).procedure},
	{prefix: "client.operation_weeks.", report: (*reporter).operationWeeks, whole: true, canNone: true},
	{prefix: "client.healing_bone.", report: (*reporter).bone},
	{prefix: "client.pain.", report: (*reporter).pain},
	{prefix: "client.rung.", report: (*reporter).rung, whole: true},
	{prefix: "client.best.", report: (*reporter).best, isolated: true},
	{prefix: "client.answers.", report: (*reporter).answer},
	{prefix: "request.complaint.", report: (*reporter).complaint},
}...)

// ofFields are the facts that are reported as they are, or as a measure.
func ofFields() []reporting {
	list := make([]reporting, len(client.Reports))
	for i := range list {
		r := &client.Reports[i]
		list[i] = reporting{prefix: strings.TrimSuffix(r.Path, "{}"), isolated: !r.Feeds, whole: r.Whole, canNone: r.None,
			report: func(t *reporter, v Value) { t.report(r, v) }}
	}
	return list
}

func (t *reporter) report(r *client.Report, v Value) {
	switch {
	case r.Number != nil:
		r.Number(t.q, v.Number)
	case r.Truth != nil:
		r.Truth(t.q, v.Yes)
	case r.Word != nil:
		r.Word(t.q, v.Word)
	case r.List != nil:
		t.list(r.List(t.q), v)
	default:
		t.measure(r.Measures(t.q), v)
	}
}

// reportingOf finds how a path is reported, and what follows the prefix; nil where it follows from other facts.
func reportingOf(path string) (*reporting, string) {
	for i := range reportings {
		t := &reportings[i]
		if id, ok := strings.CutPrefix(path, t.prefix); ok && (id == "" || strings.HasSuffix(t.prefix, ".")) {
			return t, id
		}
	}
	return nil, ""
}

// reporter tells one fact in a request of its own, whose lists are still those of another.
type reporter struct {
	frame *client.Frame
	q     *client.Request
	p     *client.Profile
	id    string      // what follows the prefix
	part  string      // the last part of it
	side  client.Side // SideNone of what has no sides
	at    int
	word  string
}

func (k *lever) report(fr *client.Frame, q *client.Request, v Value) {
	t := &reporter{frame: fr, q: q, p: q.Profile, id: k.id, at: k.side, word: k.word}
	t.part = k.id[strings.LastIndexByte(k.id, '.')+1:]
	if k.of.Sided {
		t.side = client.Sides[k.side]
	}
	k.how.report(t, v)
}

// of is the id without its last part.
func (t *reporter) of() string { return strings.TrimSuffix(t.id, "."+t.part) }

func intOf(v Value) *int {
	if v.None {
		return nil
	}
	n := int(v.Number)
	return &n
}

// without is a list without some of its members, for itself.
func without[T any](list []T, drop func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(list), drop)
}

// split is a list in which what was told of both sides of the body is told of each.
func split[T any](list []T, sided bool, side func(*T) *client.Side) []T {
	var out []T
	for _, x := range list {
		if s := *side(&x); !sided || s == client.SideLeft || s == client.SideRight {
			out = append(out, x)
			continue
		}
		for _, s := range client.Sides {
			*side(&x) = s
			out = append(out, x)
		}
	}
	return out
}
