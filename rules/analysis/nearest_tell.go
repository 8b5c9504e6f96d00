package analysis

import (
	"slices"
	"strings"

	"drillwright/rules/client"
)

// telling is how one kind of fact is told in a request.
type telling struct {
	prefix string
	tell   func(t *teller, v Value)
	// plain: telling it changes nothing that is worked out, but for what bearers names.
	plain bool
	whole bool // counted, not measured
	// canNone: it can be told that there is none.
	canNone bool
}

// tellings, by the prefix of the paths: those of facts that are reported as they are, and those that take more. Paths that aren't here
// follow from others.
var tellings = append(reportings(), []telling{
	{prefix: "client.pregnancy.", tell: (*teller).pregnancy, whole: true, canNone: true},
	{prefix: "client.blood_pressure.", tell: (*teller).pressure, whole: true},
	{prefix: "client.conditions", tell: (*teller).condition},
	{prefix: "client.condition_days.", tell: (*teller).conditionDays, whole: true, canNone: true},
	{prefix: "client.medicines", tell: (*teller).medicine, plain: true},
	{prefix: "client.kit", tell: (*teller).kit},
	{prefix: "client.familiar", tell: (*teller).familiar},
	{prefix: "client.week_sets.", tell: (*teller).weekSets, whole: true},
	{prefix: "client.painful.", tell: (*teller).painful, canNone: true},
	{prefix: "client.limit.", tell: (*teller).limit, canNone: true},
	{prefix: "client.cleared.", tell: (*teller).clearance},
	{prefix: "client.surgery.", tell: (*teller).surgery},
	{prefix: "client.surgery_cleared.", tell: (*teller).clearance},
	{prefix: "client.surgery_weeks.", tell: (*teller).surgeryWeeks, whole: true, canNone: true},
	{prefix: "client.trained_since_surgery.", tell: (*teller).trainedSince},
	{prefix: "client.operations", tell: (*teller).procedure},
	{prefix: "client.operation_weeks.", tell: (*teller).operationWeeks, whole: true, canNone: true},
	{prefix: "client.healing_bone.", tell: (*teller).bone},
	{prefix: "client.pain.", tell: (*teller).pain},
	{prefix: "client.rung.", tell: (*teller).rung, whole: true},
	{prefix: "client.best.", tell: (*teller).best, plain: true},
	{prefix: "client.answers.", tell: (*teller).answer},
	{prefix: "request.complaint.", tell: (*teller).complaint},
}...)

// reportings are the facts that are reported as they are, or as a measure.
func reportings() []telling {
	list := make([]telling, len(client.Reports))
	for i := range list {
		r := &client.Reports[i]
		list[i] = telling{prefix: strings.TrimSuffix(r.Path, "{}"), plain: !r.Feeds, whole: r.Whole, canNone: r.None,
			tell: func(t *teller, v Value) { t.report(r, v) }}
	}
	return list
}

func (t *teller) report(r *client.Report, v Value) {
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

// tellingOf finds how a path is told, and what follows the prefix; nil where it follows from other facts.
func tellingOf(path string) (*telling, string) {
	for i := range tellings {
		t := &tellings[i]
		if id, ok := strings.CutPrefix(path, t.prefix); ok && (id == "" || strings.HasSuffix(t.prefix, ".")) {
			return t, id
		}
	}
	return nil, ""
}

// teller tells one fact in a request of its own, whose lists are still those of another.
type teller struct {
	frame *client.Frame
	q     *client.Request
	p     *client.Profile
	id    string      // what follows the prefix
	part  string      // the last part of it
	side  client.Side // SideNone of what has no sides
	at    int
	word  string
}

func (k *lever) tell(fr *client.Frame, q *client.Request, v Value) {
	t := &teller{frame: fr, q: q, p: q.Profile, id: k.id, at: k.side, word: k.word}
	t.part = k.id[strings.LastIndexByte(k.id, '.')+1:]
	if k.of.Sided {
		t.side = client.Sides[k.side]
	}
	k.how.tell(t, v)
}

// of is the id without its last part.
func (t *teller) of() string { return strings.TrimSuffix(t.id, "."+t.part) }

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
