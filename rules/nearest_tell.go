package rules

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

func (k *knob) tell(fr *client.Frame, q *client.Request, v Value) {
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

func (t *teller) list(list *[]string, v Value) {
	*list = without(*list, func(w string) bool { return w == t.word })
	if v.Yes {
		*list = append(*list, t.word)
	}
}

// kit that counts as the piece goes with it.
func (t *teller) kit(v Value) {
	t.p.KitTold = true
	t.list(&t.p.Kit, v)
	if !v.Yes {
		t.p.Kit = without(t.p.Kit, func(id string) bool {
			at := t.frame.Vocabulary.Place("kit", id)
			return at >= 0 && slices.Contains(t.frame.Vocabulary.Kit[at].CountsAs, t.word)
		})
	}
}

func (t *teller) medicine(v Value) {
	t.p.MedicinesTold = true
	t.p.Medicines = without(t.p.Medicines, func(m client.Medicine) bool { return m.Class == t.word })
	if v.Yes {
		t.p.Medicines = append(t.p.Medicines, client.Medicine{Class: t.word})
	}
}

func (t *teller) condition(v Value) {
	t.p.ConditionsTold = true
	at := t.frame.Vocabulary.Place("condition", t.word)
	regions := t.frame.Vocabulary.Conditions[at].Regions
	sided := len(regions) == 0 || slices.ContainsFunc(regions, t.frame.Vocabulary.Sided)
	side := t.side
	if !sided {
		side = client.SideNone
	}
	list := split(t.p.Conditions, sided, func(c *client.Condition) *client.Side { return &c.Side })
	t.p.Conditions = without(list, func(c client.Condition) bool { return c.ID == t.word && c.Side == side })
	switch {
	case !v.Yes:
	case v.Word == "PAST":
		t.p.Conditions = append(t.p.Conditions, client.Condition{ID: t.word, Side: side, ToldBy: "CLIENT", Status: "PAST"})
	default:
		t.p.Conditions = append(t.p.Conditions, client.Condition{ID: t.word, Side: side, ToldBy: v.Word, Status: "NOW"})
	}
}

func (t *teller) measure(list *[]client.Measure, v Value) {
	by := "SAME_MEASURER"
	for _, m := range *list {
		if m.Of == t.id && m.Side.On(t.at) && m.By != "" {
			by = m.By
		}
	}
	*list = without(*list, func(m client.Measure) bool { return m.Of == t.id && m.Side == t.side })
	*list = append(*list, client.Measure{Of: t.id, Side: t.side, Value: v.Number, Day: t.q.AsOf, By: by})
}

func (t *teller) painful(v Value) {
	motion, p := t.of(), t.frame.Table.Path("client."+"painful."+t.id)
	arc := client.PainfulArc{Motion: motion, Side: t.side, From: p.Lo, To: p.Hi}
	t.p.PainfulArcs = without(t.p.PainfulArcs, func(a client.PainfulArc) bool {
		if a.Motion != motion || a.Side != t.side {
			return false
		}
		arc = a
		return true
	})
	if v.None {
		return
	}
	if t.part == "from" {
		arc.From = v.Number
	} else {
		arc.To = v.Number
	}
	t.p.PainfulArcs = append(t.p.PainfulArcs, arc)
}

func (t *teller) pregnancy(v Value) {
	p := client.Pregnancy{}
	if t.p.Pregnancy != nil {
		p = *t.p.Pregnancy
	}
	switch t.part {
	case "weeks":
		p.Weeks = intOf(v)
	case "postnatal_weeks":
		p.PostnatalWeeks = intOf(v)
	case "section":
		p.Section = v.Yes
	default:
		p.Agreed = &v.Yes
	}
	t.p.Pregnancy = &p
}

// pressure: the value that nobody told stays on its side of the other.
func (t *teller) pressure(v Value) {
	b := client.BloodPressure{Systolic: 120, Diastolic: 80}
	told := t.p.BloodPressure != nil && int(t.q.AsOf-t.p.BloodPressure.Day) <= t.frame.Measures.ValidDays.BloodPressure
	if told {
		b = *t.p.BloodPressure
	}
	b.Day = t.q.AsOf
	if t.part == "systolic" {
		b.Systolic = int(v.Number)
		if !told {
			b.Diastolic = min(b.Diastolic, b.Systolic-1)
		}
	} else {
		b.Diastolic = int(v.Number)
		if !told {
			b.Systolic = max(b.Systolic, b.Diastolic+1)
		}
	}
	t.p.BloodPressure = &b
}

func (t *teller) surgery(v Value) {
	t.p.SurgeriesTold = true
	list := split(t.p.Surgeries, t.side != client.SideNone, func(s *client.Surgery) *client.Side { return &s.Side })
	t.p.Surgeries = without(list, func(s client.Surgery) bool { return s.Region == t.id && s.Side.On(t.at) })
	if v.Yes {
		t.p.Surgeries = append(t.p.Surgeries, client.Surgery{ID: "operation", Region: t.id, Side: t.side})
	}
}

func (t *teller) pain(v Value) {
	p := client.Pain{Region: t.of(), Side: t.side, Day: t.q.AsOf}
	t.p.Pain = without(t.p.Pain, func(had client.Pain) bool {
		if had.Region != p.Region || had.Side != p.Side {
			return false
		}
		if int(t.q.AsOf-had.Day) <= t.frame.Measures.ValidDays.Pain {
			p = had
		}
		return true
	})
	switch t.part {
	case "rest":
		p.Rest = &v.Number
	case "worst":
		p.Worst = &v.Number
	case "next_day":
		p.NextDay = &v.Number
	case "settle_hours":
		p.SettleHours = &v.Number
	default:
		p.WakesAtNight = &v.Yes
	}
	t.p.Pain = append(t.p.Pain, p)
}

func (t *teller) rung(v Value) {
	ladder := t.frame.Ladder(t.id)
	t.p.Rungs = without(t.p.Rungs, func(s client.Standing) bool { return s.Region == t.id && s.Side == t.side })
	t.p.Rungs = append(t.p.Rungs, client.Standing{Region: t.id, Side: t.side, At: ladder.Rungs[int(v.Number)], Since: t.q.AsOf})
}

func (t *teller) best(v Value) {
	b := client.Best{Test: t.of(), Day: t.q.AsOf}
	t.p.Best = without(t.p.Best, func(had client.Best) bool {
		if had.Test != b.Test {
			return false
		}
		if int(t.q.AsOf-had.Day) <= t.frame.Measures.ValidDays.Best {
			b = had
		}
		return true
	})
	switch t.part {
	case "sets":
		b.Sets = intOf(v)
	case "reps":
		b.Reps = intOf(v)
	case "load_kg":
		b.LoadKg = &v.Number
	case "pain":
		b.Pain = &v.Number
	default:
		b.Form = v.Word
	}
	t.p.Best = append(t.p.Best, b)
}

func (t *teller) answer(v Value) {
	is := map[bool]string{true: "YES", false: "NO"}[v.Yes]
	others := without(t.p.Answers, func(a client.Answer) bool { return a.Question == t.id })
	t.p.Answers = append(others, client.Answer{Question: t.id, Is: is, Day: t.q.AsOf})
}

// familiar: a drill is known from the log.
func (t *teller) familiar(v Value) {
	t.p.Log = without(t.p.Log, func(s client.LoggedSet) bool { return s.Drill == t.word })
	if v.Yes {
		t.p.Log = append(t.p.Log, client.LoggedSet{Drill: t.word, Day: t.q.AsOf, Reps: 1})
	}
}

// weekSets: as many sets of the first drill of the pattern.
func (t *teller) weekSets(v Value) {
	drills := t.frame.Drills
	t.p.Log = without(t.p.Log, func(s client.LoggedSet) bool {
		d := drills.Drill(s.Drill)
		return d != nil && d.Pattern.ID == t.id && int(t.q.AsOf-s.Day) < t.frame.Measures.ValidDays.Week
	})
	for _, d := range drills.Drills {
		if d.Pattern.ID == t.id {
			for range int(v.Number) {
				t.p.Log = append(t.p.Log, client.LoggedSet{Drill: d.ID, Day: t.q.AsOf, Reps: 1})
			}
			return
		}
	}
}

// complaint: no intensity is no complaint. A kind, moment or onset more is a complaint more.
func (t *teller) complaint(v Value) {
	region := t.of()
	here := func(c client.Complaint) bool { return c.Region == region && c.Side.On(t.at) }
	list := split(t.q.Complaints, t.side != client.SideNone, func(c *client.Complaint) *client.Side { return &c.Side })
	c := client.Complaint{Region: region, Side: t.side, Intensity: 1, Moment: "ALWAYS", Onset: "GRADUAL", Days: 14}
	told := slices.IndexFunc(list, here)
	if told >= 0 {
		c = list[told]
	}
	word := map[string]func(*client.Complaint) *string{
		"kinds":   func(c *client.Complaint) *string { return &c.Kind },
		"moments": func(c *client.Complaint) *string { return &c.Moment },
		"onsets":  func(c *client.Complaint) *string { return &c.Onset },
	}[t.part]
	others := without(list, here)
	switch {
	case t.part == "intensity" && v.Number == 0:
		list = others
	case t.part == "intensity":
		c.Intensity = v.Number
		list = append(others, c)
	case t.part == "days":
		c.Days = int(v.Number)
		list = append(others, c)
	case v.Yes:
		*word(&c) = t.word
		list = append(list, c)
	default:
		for i := range list {
			if here(list[i]) && *word(&list[i]) == t.word {
				*word(&list[i]) = ""
			}
		}
	}
	t.q.Complaints = list
}

// limit and clearance: by a clinician, given today.
func (t *teller) limit(v Value) {
	part, id, _ := strings.Cut(t.id, ".")
	region := id
	if part == "range" {
		region = t.frame.Vocabulary.Motion(id).Region
	}
	list, here := t.clearances(region)
	if !v.None && (part != "no_overhead" || v.Yes) && !slices.ContainsFunc(list, here) {
		list = append(list, client.Clearance{By: "CLINICIAN", Region: region, Side: t.side, Given: t.q.AsOf})
	}
	for i := range list {
		c := &list[i]
		if !here(*c) {
			continue
		}
		switch part {
		case "range":
			c.RangeDeg = without(c.RangeDeg, func(l client.Limit) bool { return l.Motion == id })
			if !v.None {
				c.RangeDeg = append(c.RangeDeg, client.Limit{Motion: id, ToDeg: v.Number})
			}
		case "load_kg":
			c.LoadKg = nil
			if !v.None {
				c.LoadKg = &v.Number
			}
		default:
			c.NoOverhead = v.Yes
		}
	}
	t.p.Clearances = list
}

func (t *teller) clearance(v Value) {
	list, here := t.clearances(t.id)
	t.p.Clearances = without(list, here)
	if v.Yes {
		t.p.Clearances = append(t.p.Clearances, client.Clearance{By: "CLINICIAN", Region: t.id, Side: t.side, Given: t.q.AsOf})
	}
}

// clearances are those told, side by side, and which of them are of a region on this side.
func (t *teller) clearances(region string) ([]client.Clearance, func(client.Clearance) bool) {
	t.p.ClearancesTold = true
	list := split(t.p.Clearances, t.side != client.SideNone, func(c *client.Clearance) *client.Side { return &c.Side })
	return list, func(c client.Clearance) bool { return c.Region == region && c.Side.On(t.at) }
}
