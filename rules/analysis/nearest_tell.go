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

// tellings, by the prefix of the paths. Paths that aren't here follow from others.
var tellings = []telling{
	{prefix: "client.age_years", tell: counted(func(p *client.Profile) **int { return &p.AgeYears }), whole: true},
	{prefix: "client.beighton", tell: counted(func(p *client.Profile) **int { return &p.Beighton }), whole: true},
	{prefix: "client.confidence", tell: counted(func(p *client.Profile) **int { return &p.Confidence }), whole: true, plain: true},
	{prefix: "client.programme_week", tell: counted(func(p *client.Profile) **int { return &p.ProgrammeWeek }), whole: true, plain: true},
	{prefix: "client.body_mass_kg", tell: func(t *teller, v Value) { t.p.BodyMassKg = &v.Number }, plain: true},
	{prefix: "client.painkiller_today", tell: func(t *teller, v Value) { t.p.PainkillerToday = &v.Yes }, plain: true},
	{prefix: "client.supervised", tell: func(t *teller, v Value) { t.p.Supervised = &v.Yes }, plain: true},
	{prefix: "client.guardian_present", tell: func(t *teller, v Value) { t.p.GuardianPresent = &v.Yes }, plain: true},
	{prefix: "client.sex", tell: func(t *teller, v Value) { t.p.Sex = v.Word }},
	{prefix: "client.training", tell: func(t *teller, v Value) { t.p.Training = v.Word }, plain: true},
	{prefix: "client.dominant_side", tell: func(t *teller, v Value) { t.p.DominantSide = client.Side(v.Word) }, plain: true},
	{prefix: "client.pregnancy.", tell: (*teller).pregnancy, whole: true, canNone: true},
	{prefix: "client.blood_pressure.", tell: (*teller).pressure, whole: true},
	{prefix: "client.conditions", tell: (*teller).condition},
	{prefix: "client.condition_days.", tell: (*teller).conditionDays, whole: true, canNone: true},
	{prefix: "client.medicines", tell: (*teller).medicine, plain: true},
	{prefix: "client.kit", tell: (*teller).kit},
	{prefix: "client.disliked", tell: func(t *teller, v Value) { t.list(&t.p.Disliked, v) }, plain: true},
	{prefix: "client.goal_lifts", tell: func(t *teller, v Value) { t.list(&t.p.GoalLifts, v) }, plain: true},
	{prefix: "client.familiar", tell: (*teller).familiar},
	{prefix: "client.week_sets.", tell: (*teller).weekSets, whole: true},
	{prefix: "client.strength.", tell: func(t *teller, v Value) { t.measure(&t.p.StrengthN, v) }, plain: true},
	{prefix: "client.hold.", tell: func(t *teller, v Value) { t.measure(&t.p.HoldSeconds, v) }, plain: true},
	{prefix: "client.range.", tell: func(t *teller, v Value) { t.measure(&t.p.RangeDeg, v) }, plain: true},
	{prefix: "client.passive.", tell: func(t *teller, v Value) { t.measure(&t.p.PassiveDeg, v) }, plain: true},
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
	{prefix: "request.kit_taken", tell: func(t *teller, v Value) { t.list(&t.q.KitTaken, v) }, plain: true},
	{prefix: "request.stations_taken", tell: func(t *teller, v Value) { t.list(&t.q.StationsTaken, v) }, plain: true},
	{prefix: "request.minutes", tell: func(t *teller, v Value) { t.q.Minutes = int(v.Number) }, whole: true, canNone: true},
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

func counted(field func(*client.Profile) **int) func(*teller, Value) {
	return func(t *teller, v Value) { *field(t.p) = intOf(v) }
}

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
